package bot

import (
	"context"
	"fmt"
	"strings"

	"proveout/dialog"
)

// route finds what an event is about and gives what to do with it. A job it belongs
// to is locked and read.
func (w *work) route(ctx context.Context) (func(context.Context) error, error) {
	switch w.in.Kind {
	case Pressed:
		return w.routePressed(ctx)
	case Edited, Deleted:
		return w.routeAmended(ctx)
	case Consent:
		return w.consent, nil
	}
	if w.in.Channel == Web {
		return w.routeWeb(ctx)
	}
	return w.routeSaid(ctx, w.commands.parse(w.in.Text))
}

// routeSaid finds what a message that may hold a command is about.
func (w *work) routeSaid(ctx context.Context, c command) (func(context.Context) error, error) {
	if c.job != "" || c.place != 0 {
		if len(w.desks.of(w.person.ID).held) > 0 {
			return w.routePlaced(ctx, c)
		}
	}
	if c.job != "" {
		if ok, err := w.mayTake(ctx, c.job); err != nil || ok {
			w.in.Text = c.rest
			return w.said, err
		}
	}
	if here := (Place{w.in.Channel, w.in.Conversation, w.in.Thread}); here.threaded() {
		id, err := w.jobAt(ctx, here)
		if err != nil {
			return nil, err
		}
		if id != "" {
			_, err := w.take(ctx, id)
			return w.said, err
		}
	}
	switch {
	case c.whole && w.in.Thread == "" && w.in.Starts == "":
		return w.rest, nil
	case c.board && w.person.Role != TechnicianRole:
		return w.board, nil
	case c.fresh && (w.person.Role == TechnicianRole || w.person.Role == SeniorRole):
		w.in.Text = c.rest
		return w.open, nil
	case w.person.Role == TechnicianRole:
		return w.unthreaded(ctx)
	case w.in.Starts == "" && w.in.Thread == "": // nobody else is there to be meant
		return w.whichJob, nil
	}
	return ignore, nil
}

// unthreaded is a technician's message that names no job: his only open one, else he
// is asked, else one is opened. What comes late is only about a job that was open when
// it was sent.
func (w *work) unthreaded(ctx context.Context) (func(context.Context) error, error) {
	if w.in.Thread != "" {
		return w.open, nil // a thread of its own is a job of its own
	}
	jobs := w.table.of(w.person.ID)
	switch then := w.openThen(jobs); {
	case len(then) == 1:
		_, err := w.take(ctx, then[0].ID)
		return w.said, err
	case len(jobs) == 0 && !w.late() && len(w.desks.of(w.person.ID).held) == 0:
		return w.open, nil
	}
	return func(context.Context) error { return w.hold(jobs) }, nil
}

// whichJob asks somebody who has no jobs of his own to name one.
func (w *work) whichJob(context.Context) error {
	w.send(w.here(), w.toSender("desk-name-job")+"\n"+w.sayBoard(w.sender(), w.openJobs(), w.now))
	return nil
}

func ignore(context.Context) error { return nil }

// jobAt names the job of a thread, live or closed.
func (s *Service) jobAt(ctx context.Context, p Place) (string, error) {
	if p.Channel == Web && jobNumber.MatchString(p.Thread) {
		return p.Thread, nil
	}
	if j := s.table.at(p); j != nil {
		return j.ID, nil
	}
	return s.store.JobAt(ctx, p)
}

// mayTake takes a job named by a person, if there is one he may write to: a
// technician only to his own.
func (w *work) mayTake(ctx context.Context, id string) (bool, error) {
	if j := w.table.job(id); j == nil || w.person.Role == TechnicianRole && j.Technician != w.person.ID {
		return false, nil
	}
	return w.take(ctx, id)
}

// hold keeps a message until its sender says which job it is for.
func (w *work) hold(jobs []*Job) error {
	w.desk = append(w.desk, Event{Kind: EventHeld, Key: w.key(), Text: w.in.Text, Files: w.in.Files, Place: w.here(), Sent: w.sent()})
	buttons := make([]Button, 0, len(jobs)+1)
	for _, j := range jobs {
		buttons = append(buttons, Button{Action: "place:" + j.ID, Label: short(j.ID + " " + j.Title)})
	}
	buttons = append(buttons, Button{Action: "place:new", Label: w.toSender("desk-new-job")})
	w.send(w.here(), w.sayWhich(jobs), buttons...)
	return nil
}

// routePlaced takes the answer to which job held messages are for.
func (w *work) routePlaced(ctx context.Context, c command) (func(context.Context) error, error) {
	jobs := w.table.of(w.person.ID)
	id := c.job
	if c.place > 0 && c.place <= len(jobs) {
		id = jobs[c.place-1].ID
	}
	fresh := c.place == placeNew
	held := w.desks.of(w.person.ID).held
	thread := held[0].Place.Thread
	if fresh && thread != "" {
		// Somebody may have begun a job there meanwhile, and a thread is of one job.
		there, err := w.jobAt(ctx, held[0].Place)
		if err != nil {
			return nil, err
		}
		if j := w.table.job(there); j != nil && (w.person.Role != TechnicianRole || j.Technician == w.person.ID) {
			id, fresh = there, false
		} else if there != "" {
			thread = ""
		}
	}
	if !fresh {
		ok, err := w.mayTake(ctx, id)
		if err != nil {
			return nil, err
		}
		if !ok {
			return func(context.Context) error {
				w.send(w.here(), w.sayWhich(jobs))
				return nil
			}, nil
		}
	}
	return func(ctx context.Context) error {
		w.desk = append(w.desk, Event{Kind: EventPlaced, Key: w.key()})
		texts := make([]string, 0, len(held)+1)
		for i := range held {
			texts = append(texts, held[i].Text)
			w.in.Files = append(w.in.Files, held[i].Files...)
		}
		if c.rest != "" {
			texts = append(texts, c.rest)
		}
		w.in.Text, w.in.At, w.came = strings.Join(texts, "\n"), held[0].sent(), held[0].At
		if fresh {
			w.in.Thread, w.in.Starts = thread, ""
			return w.open(ctx)
		}
		return w.said(ctx)
	}, nil
}

// open opens a job, unless the message is only talk.
func (w *work) open(ctx context.Context) error {
	lacks := w.lacks()
	opened := Event{Kind: EventOpened, Person: w.person.ID, Place: w.here(), Language: w.config.Language, Lacks: lacks, Text: short(w.in.Text), Sent: w.sent()}
	talk := openTalk(w.agent, &opened)
	if len(w.in.Files) == 0 {
		if _, reply := w.agent.Turn(talk, dialog.Message{From: dialog.Tech, Text: w.in.Text}); chat(reply) {
			if w.in.Channel == Web {
				return &Error{Code: CodeInvalid, Text: w.toSender("desk-opening", "shop", w.config.Shop)}
			}
			if w.in.Thread == "" && w.in.Text != "" && !empty(reply) {
				w.send(w.here(), w.toSender("desk-opening", "shop", w.config.Shop))
			}
			return nil
		}
	}
	id := fmt.Sprintf("J-%04d", w.next.Add(1))
	w.locked = append(w.locked, w.locks.lock(id))
	w.talk, w.job = talk, &Job{ID: id}
	w.add(opened)
	return w.said(ctx)
}

// lacks are the instruments the technician does not carry.
func (w *work) lacks() []string {
	if len(w.person.Instruments) == 0 {
		return nil
	}
	var out []string
	for _, tool := range instruments(w.base) {
		if !contains(w.person.Instruments, tool) {
			out = append(out, tool)
		}
	}
	return out
}

// routeAmended finds the job of a message that was edited or taken back.
func (w *work) routeAmended(ctx context.Context) (func(context.Context) error, error) {
	jobs := w.table.of(w.person.ID)
	if id, err := w.jobAt(ctx, Place{w.in.Channel, w.in.Conversation, w.in.Thread}); err != nil || id != "" {
		jobs = []*Job{{ID: id}}
		if err != nil {
			return nil, err
		}
	}
	for _, j := range jobs {
		_, events, err := w.store.Read(ctx, j.ID, true)
		if err != nil {
			return nil, err
		}
		for i := range events {
			if e := &events[i]; e.Kind == EventSaid && e.Key == (Key{w.in.Channel, w.in.Of}) && e.Person == w.person.ID {
				if _, err := w.take(ctx, j.ID); err != nil {
					return nil, err
				}
				return w.amended, nil
			}
		}
	}
	return ignore, nil
}
