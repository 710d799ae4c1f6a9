// Package smstest is a gateway of our own for tests: it speaks the signed JSON of
// deploy/sms/generic.yaml, takes what is sent, and delivers what phones say. It can
// refuse, lose answers, deliver twice and out of order, and send receipts.
//
// Like a good gateway it knows a text sent again by its reference, and shows it once.
package smstest
