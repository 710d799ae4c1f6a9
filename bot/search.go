package bot

import (
	"context"
	"strings"
	"time"
	"unicode"
)

// What is looked for is the beginnings of words, so many of them and so long; what is
// found is looked through this far, and shown so far.
const (
	mostTerms   = 8
	longestTerm = 40
	foundMost   = 500
	foundShown  = 50
)

// Found is a job that was looked for, open or closed.
type Found struct {
	Job, Title         string
	Technician         Member
	Status, StatusText string
	Opened, Closed     time.Time
	// Cause is the plain name of the call it ended with, or stands at; empty without
	// one. Proven: it was closed, and that was the cause.
	Cause  string
	Part   string
	Proven bool
}

// Search finds jobs a person may see by what is known of them, all of what he asks for:
// their number, what was said and by whom, and the cause and the part they were closed
// with; the newest first. What has no letter and no digit finds nothing. CodeForbidden.
func (s *Service) Search(ctx context.Context, viewer, text string) ([]Found, error) {
	p, err := s.viewer(viewer)
	if err != nil {
		return nil, err
	}
	ids, err := s.store.Find(ctx, terms(text), foundMost)
	if err != nil {
		return nil, err
	}
	words := s.agent.Words(s.reads(p, ""))
	var out []Found
	for _, id := range ids {
		j, err := s.jobOf(ctx, id)
		if err != nil {
			return nil, err
		}
		if j == nil || !maySee(p, j) {
			continue
		}
		f := Found{
			Job: j.ID, Title: j.Title, Technician: s.member(j.Technician), Status: j.Status, StatusText: words.Phrases.Say("status-" + j.Status),
			Opened: j.Opened, Closed: j.ClosedAt, Proven: j.Proven,
		}
		cause := j.Cause
		if j.Called {
			cause = j.Fault
		}
		if cause != "" {
			f.Cause, f.Part = words.FaultName(cause), partFor(words, cause)
		}
		if out = append(out, f); len(out) == foundShown {
			break
		}
	}
	return out, nil
}

// terms are the words of a text, as far as they are looked for.
func terms(text string) []string {
	var out []string
	for _, t := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) }) {
		if r := []rune(t); len(r) > longestTerm {
			t = string(r[:longestTerm])
		}
		if out = append(out, t); len(out) == mostTerms {
			break
		}
	}
	return out
}

// findable is what the job is found by from now on: what was said and by whom, and how
// it ended, in every language.
func (w *work) findable() string {
	var found []string
	for i := range w.events {
		switch e := &w.events[i]; e.Kind {
		case EventOpened:
			found = append(found, e.Stream, w.people.name(e.Person))
		case EventSaid, EventEdited:
			found = append(found, e.Name, e.Text)
		case EventClosed:
			for _, language := range w.Languages() {
				words := w.agent.Words(language)
				if e.Fault != "" {
					found = append(found, words.FaultName(e.Fault), partFor(words, e.Fault))
				}
			}
		default:
		}
	}
	return strings.TrimSpace(strings.Join(found, " "))
}
