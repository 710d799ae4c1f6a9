// Package dialog is the talk about one job: language in, the turn, language out.
//
// An Agent holds what never changes: knowledge, the reader of messages, compiled
// models. A Job is the state of one talk. Turn takes a job and a message and gives
// the next job and the reply; it changes neither argument, reads no clock and
// draws no random number, so a job is a fold over its messages and any reply can
// be computed again from them.
//
//	agent, err := dialog.New(base, "split-cooling")
//	job := agent.Open()
//	job, reply := agent.Turn(job, dialog.Message{From: dialog.Tech, Text: "no cooling, blower runs, outside dead"})
package dialog
