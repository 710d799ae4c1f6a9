package bot

import (
	"context"
	"slices"

	"proveout/bot/ladder"
	"proveout/dialog"
	"proveout/knowledge"
)

// said takes something said on the job taken.
func (w *work) said(ctx context.Context) error {
	text := w.in.Text
	if w.person.Role == SeniorRole {
		if _, ok := w.commands.asks(knowledge.CommandTakeOver, text); ok {
			return w.takeOver()
		}
		if _, ok := w.commands.asks(knowledge.CommandHandBack, text); ok && w.job.Taken != "" {
			return w.handBack()
		}
		if what, ok := w.commands.asks(knowledge.CommandOneMore, text); ok && w.job.Status == dialog.Proposed {
			return w.oneMore(what)
		}
	}
	if n, ok := w.commands.asks(knowledge.CommandSnooze, text); ok && w.person.Role != TechnicianRole {
		return w.snooze(n)
	}
	if _, ok := w.commands.asks(knowledge.CommandDrawing, text); ok {
		w.draw()
		return nil
	}
	return w.say(ctx, text)
}

// say records what was said and answers it.
func (w *work) say(ctx context.Context, text string) error {
	before := w.job
	e := Event{Kind: EventSaid, Person: w.person.ID, Place: w.here(), From: w.speaksAs(), Name: w.person.Name, Text: text, Language: w.language(), Files: w.in.Files, Sent: w.sent()}
	if w.late() {
		w.head = "desk-late"
	}
	if w.in.At.Before(w.job.Heard) {
		_, events, err := w.store.Read(ctx, w.job.ID, true)
		if err != nil {
			return err
		}
		if e.Before = belongs(events, &e); e.Before != 0 {
			w.sayInPlace(e, events)
			return nil
		}
	}
	w.add(e)
	was, seniorAsked, call := w.talk, w.talk.SeniorAsked, w.talk.Call
	w.again = func(language string) *dialog.Reply {
		e.Language = language
		_, reply := turn(w.agent, was, &e)
		return reply
	}
	var reply *dialog.Reply
	w.talk, reply = turn(w.agent, w.talk, &e)
	ruled := ruling(reply, before, e.From)
	public := w.public(reply, ruled, e.From)
	if said := ruled == "" || ruled == VerdictOverruled && w.in.Kind != Pressed; public && said { // else the answer says it
		w.passOn(text)
	}
	if len(w.in.Files) > 0 {
		w.send(w.answersAt(), w.sayNoPicture(w.in.Files))
	}
	if reply == nil {
		return nil
	}
	w.answered(before, reply, e.From != dialog.Tech && empty(reply), public)
	if ruled != "" {
		fault := before.Fault
		if call != nil {
			fault = call.Fault
		}
		w.add(Event{Kind: EventRuled, Person: w.person.ID, Verdict: ruled, Fault: fault})
	}
	if w.talk.SeniorAsked && !seniorAsked {
		w.alarm(AlarmSenior)
	}
	w.closes(before)
	return nil
}

// public says whether what was said, and the answer to it, is for all who read the
// job: what the technician says, what a senior or the dispatcher says to him, and
// whatever changes where the job stands. What they ask the agent is between them and it.
func (w *work) public(reply *dialog.Reply, ruled, from string) bool {
	if from == dialog.Tech || ruled != "" || reply == nil || empty(reply) {
		return true
	}
	u := &reply.Understood
	_, board := w.commands.asks(knowledge.CommandBoard, w.in.Text)
	tells := len(u.Readings)+len(u.Observations)+len(u.Facts)+len(u.Unclear)+len(u.Hazards) > 0
	return tells || w.job.Taken != "" && !board
}

// language is the one set for the sender. The words of a button are ours, not his.
func (w *work) language() string {
	if w.person.Language == "" && w.in.Action != "" {
		return w.talk.Language()
	}
	return w.person.Language
}

// speaksAs is whom the talk takes the sender for: on his own job a senior is its
// technician, and nobody rules on his own call unless the shop lets him.
func (w *work) speaksAs() string {
	own := w.person.Role == SeniorRole && w.job.Technician == w.person.ID
	if own && !(w.config.Policy.Confirm.OwnCalls && w.job.Status == dialog.Proposed) {
		return dialog.Tech
	}
	return w.person.speaksAs()
}

// answered records the agent's answer and sends it, a public one to all who read the
// job; hidden answers are worked out and kept to itself, but for what is said of a
// hazard.
func (w *work) answered(before *Job, reply *dialog.Reply, hidden, public bool) {
	silent := hidden || w.job.Taken != ""
	a := answerOf(before, reply)
	a.Silent = silent
	a.Proposes = a.Status == dialog.Proposed && (before.Status != dialog.Proposed || before.Fault != a.Fault)
	w.add(Event{Kind: EventAnswered, Text: reply.Text, Reply: a})
	switch {
	case !silent:
		r := w.headed(reply)
		m := w.send(w.answersAt(), r.Text, w.answers(reply)...)
		m.Reply, m.More = forDelivery(r), w.phrase(r.Language, "desk-rest")
		if public {
			w.answerElsewhere(reply)
		}
	case a.Hazard:
		for _, p := range append(w.readers(), w.answersAt()) {
			w.send(p, parts(reply, dialog.Safety))
		}
	}
	for _, h := range reply.Understood.Hazards {
		if c := w.base.Cautions[h]; c != nil && c.Alarm {
			w.alarm(AlarmHazard + AlarmKind(":"+h))
		}
	}
	if a.Proposes {
		w.propose(reply)
	}
}

// answersAt is where an answer goes: where it was said, and the job's own thread for
// what was said in the same room outside one.
func (w *work) answersAt() Place {
	t := w.thread(w.job)
	switch {
	case w.in.ID == "":
		return w.job.Home
	case w.in.Channel == t.Channel && w.in.Conversation == t.Conversation && w.in.Thread == "" && t.Conversation != "":
		return t
	}
	return w.here()
}

// answers are the buttons under a reply: the usual answers to what it asks.
func (w *work) answers(reply *dialog.Reply) []Button {
	if reply.Ask == nil || reply.Status == dialog.Closed {
		return nil
	}
	words := w.agent.Words(reply.Language)
	out := w.usual(reply.Ask, words)
	if ladder.MeterFor(w.base, w.agent.Equipment(), reply.Ask.Reading) != nil {
		out = append(out, Button{Action: "say:diagram", Label: words.Phrases.Say("button-drawing")})
	}
	return out
}

// usual are the answers usually given to a question, as buttons.
func (s *Service) usual(ask *dialog.Ask, words *knowledge.Base) []Button {
	var out []Button
	if o := s.base.Observations[ask.Observation]; o != nil {
		for _, state := range o.Order {
			if said := o.States[state]; said != "" && len(out) < 4 {
				out = append(out, Button{Action: "say:" + said, Label: short(words.Observations[ask.Observation].States[state])})
			}
		}
	}
	return append(out, Button{Action: "say:why", Label: words.Phrases.Say("button-why")}, Button{Action: "say:can't measure it", Label: words.Phrases.Say("button-cannot")})
}

// closes records the end of the job, with what it is known to have been.
func (w *work) closes(before *Job) {
	if w.job.Status != dialog.Closed || before.Status == dialog.Closed {
		return
	}
	e := Event{Kind: EventClosed, Verdict: ClosedUnproven, Given: w.job.Given}
	if w.talk.Call != nil {
		e.Fault = w.talk.Call.Fault
		e.Passed = w.talk.Passed
		if len(e.Passed) > 0 || w.job.ConfirmedBy != "" || e.Fault == "none/normal" {
			e.Verdict = ClosedProven
		}
	}
	w.add(e)
}

// How a job was closed: with the cause proven by the checks after the repair or a
// senior's word, or not.
const (
	ClosedProven   = "proven"
	ClosedUnproven = "unproven"
)

// amended carries out an edit or a deletion: the talk is what it would have been had
// it been said so from the start.
func (w *work) amended(ctx context.Context) error {
	before := w.job
	e := Event{Kind: EventEdited, Person: w.person.ID, Of: w.in.Of, Text: w.in.Text}
	if w.in.Kind == Deleted {
		e.Kind, e.Text = EventDeleted, ""
	}
	_, events, err := w.store.Read(ctx, w.job.ID, true)
	if err != nil {
		return err
	}
	for i := range slices.Backward(events) {
		if o := &events[i]; (o.Kind == EventEdited || o.Kind == EventSaid) && (o.Of == e.Of || o.Key.ID == e.Of) {
			if o.Text == e.Text {
				return nil // only its looks have changed
			}
			break
		}
	}
	w.add(e)
	var last *dialog.Reply
	events = append(events, w.events[len(w.events)-1])
	w.talk = fold(w.agent, w.agent.Open(), events, func(_ *Event, r *dialog.Reply) { last = r })
	w.again = func(language string) (reply *dialog.Reply) {
		fold(w.agent, w.agent.Open(), spokenIn(language, events), func(_ *Event, r *dialog.Reply) { reply = r })
		return reply
	}
	if last == nil {
		w.send(w.answersAt(), w.toSender("desk-nothing-left"))
		return nil
	}
	amendedReply(w.agent, e.Kind, last)
	w.answered(before, last, false, false)
	w.closes(before)
	return nil
}

// board answers with all open jobs and what was not delivered, a technician with his own
// jobs.
func (w *work) board(context.Context) error {
	jobs := w.openJobs()
	if w.person.Role == TechnicianRole {
		jobs = slices.DeleteFunc(jobs, func(j *Job) bool { return j.Technician != w.person.ID })
		w.send(w.here(), w.sayBoard(w.sender(), jobs, w.now))
		return nil
	}
	w.send(w.here(), w.sayBoard(w.sender(), jobs, w.now)+w.sayUndelivered(w.sender()))
	return nil
}

// rest gives the last answer he got here, whole.
func (w *work) rest(ctx context.Context) error {
	last, err := w.store.LastAnswer(ctx, w.here())
	if err != nil {
		return err
	}
	asked := Event{Kind: EventRest, Person: w.person.ID, Key: w.key(), Text: w.in.Text, Place: w.here()}
	there := false
	if last != nil {
		if there, err = w.take(ctx, last.Job); err != nil {
			return err
		}
	}
	if !there {
		w.desk = append(w.desk, asked)
		w.send(w.here(), w.toSender("desk-rest-none"))
		return nil
	}
	w.add(asked)
	w.send(w.here(), last.Text).Whole = true
	return nil
}

// help says what may be written.
func (w *work) help(context.Context) error {
	w.send(w.here(), w.toSender("help"))
	return nil
}

// howToOpen says how a job begins.
func (w *work) howToOpen(context.Context) error {
	w.send(w.here(), w.toSender("desk-opening", "shop", w.config.Shop))
	return nil
}
