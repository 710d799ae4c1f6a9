// Package slack carries messages between a Slack workspace and the service: what is
// said, edited, deleted, pressed or commanded comes in, replies go out in blocks
// with a plain-text fallback.
//
// It hears by Socket Mode (an app token), by signed HTTP events (a signing secret),
// or both at once: a message has the same id whichever way and however often it
// comes, its channel and timestamp, so that the record takes it once. Threads are
// named the same way; the thread an unthreaded message opens has that message's id.
//
// Its one law: nothing is acknowledged before the service has it in the record.
// What could not be stored is left unacknowledged, and Slack delivers it again;
// where Slack would not, the person who pressed or commanded is told.
//
// Text is data. What people wrote reaches Slack only as literal text elements of a
// block and, in the fallback, escaped: it can form no mention, link or format.
package slack
