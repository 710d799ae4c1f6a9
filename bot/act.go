package bot

import (
	"context"
	"slices"
	"time"

	"proveout/knowledge"
)

// routeAct takes what a person presses of a job: the act, a colon, the job, and after
// another colon what the act needs.
func (w *work) routeAct(ctx context.Context, act Act, id, needs string) (func(context.Context) error, error) {
	if !slices.Contains(Acts(), act) {
		return w.refuse(&Error{Code: CodeInvalid, Text: "nothing can be done to a job by " + string(act)})
	}
	if !May(w.person.Role, act) {
		return w.refuse(w.forbidden())
	}
	if w.in.Channel != Web {
		if ok, err := w.mayTake(ctx, id); err != nil || !ok {
			return ignore, err
		}
		return func(ctx context.Context) error { return w.act(ctx, act, needs) }, nil
	}
	if err := w.takeSeen(ctx, id); err != nil {
		return nil, err
	}
	switch {
	case act.rules() && w.own(w.person, w.job):
		return nil, w.forbidden()
	case !w.job.Open() || !w.job.possible(act):
		return nil, &Error{Code: CodeInvalid, Text: "the job has moved on: that can no longer be done"}
	}
	return func(ctx context.Context) error { return w.act(ctx, act, needs) }, nil
}

// refuse tells why something is not done: a page by the error, a person in a chat in
// words.
func (w *work) refuse(err error) (func(context.Context) error, error) {
	if w.in.Channel == Web {
		return nil, err
	}
	if CodeOf(err) != CodeForbidden {
		return ignore, nil
	}
	return func(context.Context) error {
		w.send(w.here(), w.toSender("desk-not-yours"))
		return nil
	}, nil
}

// act does a thing to the job taken. In a chat what it needs may be asked for; a page
// has asked already.
func (w *work) act(ctx context.Context, act Act, needs string) error {
	asks := w.in.Channel != Web && needs == ""
	switch act {
	case ActConfirm:
		return w.say(ctx, "confirm")
	case ActOverrule:
		switch {
		case asks:
			w.send(w.here(), w.toSender("desk-overrule-how", "job", w.job.ID), w.causes()...)
		case needs == "":
			return w.say(ctx, "override")
		case w.base.Faults[needs] == nil:
			return &Error{Code: CodeInvalid, Text: "there is no fault " + needs}
		default:
			return w.say(ctx, "override, it is the "+w.base.FaultName(needs))
		}
	case ActMore:
		switch {
		case !w.job.possible(act): // the call is no longer there to be ruled on
		case asks:
			w.send(w.here(), w.toSender("desk-more-how", "job", w.job.ID))
		default:
			return w.oneMore(needs)
		}
	case ActTake:
		return w.takeOver()
	case ActReturn:
		if w.job.possible(act) {
			return w.handBack()
		}
	case ActSnooze:
		return w.snooze(needs)
	case ActAssign:
		return w.assign(needs)
	case ActSlot:
		return w.slot(needs)
	default: // opening and saying are not pressed
	}
	return nil
}

// assign gives the job to a senior, who is told and becomes the one that is asked; or
// to nobody, so that it is everybody's again.
func (w *work) assign(id string) error {
	senior := w.people.by[id]
	if id != "" && (senior == nil || senior.Role != SeniorRole) {
		return &Error{Code: CodeInvalid, Text: id + " is no senior of the shop"}
	}
	if id == w.job.Senior {
		return nil
	}
	w.add(Event{Kind: EventAssigned, Person: w.person.ID, To: id})
	if senior == nil {
		return nil
	}
	w.everywhere("desk-assigned", "who", w.person.Name, "senior", senior.Name)
	w.direct([]*Person{senior}, func(words *knowledge.Base) (string, []Button) {
		return words.Phrases.Say("desk-yours", "who", w.person.Name) + "\n" + w.sayJob(words, w.job, w.now), []Button{takeButton(words, w.job.ID)}
	})
	if w.job.possible(ActMore) { // a call waits
		w.direct([]*Person{senior}, w.card(w.standing()))
	}
	return nil
}

// slot sets when the job has to be done by; none is by the shop's usual patience.
func (w *work) slot(until string) error {
	var at time.Time
	if until != "" {
		var err error
		if at, err = time.Parse(time.RFC3339, until); err != nil {
			return &Error{Code: CodeInvalid, Text: "the slot is no time", Err: err}
		}
	}
	w.add(Event{Kind: EventSlot, Person: w.person.ID, Until: at.UTC()})
	if !at.IsZero() {
		w.everywhere("desk-slot", "who", w.person.Name, "until", w.clock(at))
	}
	return nil
}
