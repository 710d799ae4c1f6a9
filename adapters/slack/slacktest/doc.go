// Package slacktest is a Slack workspace to test against: a real HTTP and websocket
// server that keeps conversations, delivers what people do in them by Socket Mode or
// by signed HTTP events, and takes the app's messages.
//
// A test says what people do (Say, Edit, Delete, Press, Command, OpenHome) and gets an
// Event, which it may deliver once, again, late, or in another order: the server
// itself never repeats anything, so that a test decides. Timestamps are unique. Calls
// of the app can be refused in the ways the platform refuses them.
//
// Shapes and limits are those of the platform's documentation, written here a second
// time and not taken from the library the adapter uses. Its one law: what the
// platform would refuse, it refuses.
package slacktest
