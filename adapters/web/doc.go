// Package web is the shop in a browser: the board, a job's page, the technician's talk
// on his phone, the knowledge, and the sign-in before them.
//
// Pages are made here and work without a script; a script only keeps them live and a
// message unsent for want of signal. What a person may see and do the service decides;
// which role may ask for which address stands in one table, in routes.go.
package web
