package bot

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"proveout/dialog"
	"proveout/knowledge"
)

// ruling says what a message of a senior did to the call.
func ruling(reply *dialog.Reply, before *Job, from string) string {
	if from != dialog.Senior || reply == nil {
		return ""
	}
	switch has := func(intent string) bool { return slices.Contains(reply.Understood.Intents, intent) }; {
	case has("override") && before.Called:
		return VerdictOverruled
	case reply.Status == dialog.Confirmed && before.Status != dialog.Confirmed:
		return VerdictConfirmed
	}
	return ""
}

// card is the evidence for a call that waits, for the senior who rules on it.
func (w *work) card(reply *dialog.Reply) notice {
	return func(words *knowledge.Base) (string, []Button) {
		more := Button{Action: "more:" + w.job.ID, Label: words.Phrases.Say("button-more")}
		return w.sayProposal(words, w.retold(words, reply)), append(rulings(words, w.job.ID), more, takeButton(words, w.job.ID))
	}
}

// standing is the talk's answer to where the job stands, which changes nothing.
func (w *work) standing() *dialog.Reply {
	ask := func(language string) *dialog.Reply {
		_, reply := w.agent.Turn(w.talk, dialog.Message{From: dialog.Dispatcher, Text: "status", Language: language})
		return reply
	}
	w.again = ask
	return ask("")
}

// propose shows the call to a senior.
func (w *work) propose(reply *dialog.Reply) {
	card := w.card(reply)
	told := w.direct(w.seniors(), card)
	at := w.thread(w.job)
	if at.Conversation == "" && !told {
		at = w.job.Home
	}
	if at.Conversation != "" {
		text, buttons := card(w.agent.Words(w.config.Language))
		w.send(at, text, buttons...)
	}
}

// seniors are those a call is shown to: the one who was given the job, else the one on
// call, else every one.
func (w *work) seniors() []*Person {
	if p := w.people.by[w.job.Senior]; p != nil && p.Role == SeniorRole {
		return []*Person{p}
	}
	if p := w.people.by[w.config.Policy.Alarms.OnCall]; p != nil {
		return []*Person{p}
	}
	return w.people.with(SeniorRole)
}

// direct sends to people themselves, each in the job's channel where he has an
// identity in it, else in the first he has. It says whether anybody was reached.
func (w *work) direct(to []*Person, say notice) bool {
	reached := false
	for _, p := range to {
		if channel, identity := w.reach(p); identity != "" && (w.person == nil || p.ID != w.person.ID) {
			text, buttons := say(w.agent.Words(w.languageOf(p)))
			w.post(Outbound{Channel: channel, To: identity, Text: text, Buttons: buttons})
			reached = true
		}
	}
	return reached
}

// notify is direct for what nobody has asked for.
func (w *work) notify(to []*Person, say notice) {
	before := len(w.out)
	w.direct(to, say)
	for i := range w.out[before:] {
		w.out[before+i].Notice = true
	}
}

func (w *work) reach(p *Person) (channel, identity string) {
	if w.job != nil {
		if id := p.Identities[w.job.Home.Channel]; id != "" {
			return w.job.Home.Channel, id
		}
	}
	for _, channel := range w.Service.out.channels() {
		if id := p.Identities[channel]; id != "" {
			return channel, id
		}
	}
	return "", ""
}

// takeOver gives the thread to the senior; the agent records and is silent.
func (w *work) takeOver() error {
	w.add(Event{Kind: EventSaid, Person: w.person.ID, Place: w.here()})
	w.add(Event{Kind: EventTaken, Person: w.person.ID})
	w.everywhere("desk-taken", "who", w.person.Name)
	return nil
}

// handBack gives it back to the agent, which says where the job stands.
func (w *work) handBack() error {
	w.add(Event{Kind: EventReturned, Person: w.person.ID})
	before := w.job
	e := Event{Kind: EventSaid, Person: w.person.ID, Place: w.here(), From: dialog.Dispatcher, Name: w.person.Name, Text: "status"}
	w.add(e)
	var reply *dialog.Reply
	if w.talk, reply = turn(w.agent, w.talk, &e); reply != nil {
		w.answered(before, reply, false, true)
	}
	return nil
}

// oneMore passes on what a senior wants to know before he rules.
func (w *work) oneMore(what string) error {
	w.add(Event{Kind: EventSaid, Person: w.person.ID, Place: w.here(), Name: w.person.Name})
	what = strings.TrimSpace(what)
	w.add(Event{Kind: EventRuled, Person: w.person.ID, Verdict: VerdictMore, Fault: w.job.Fault, Text: what})
	if what == "" {
		w.everywhere("desk-more-open", "who", w.person.Name)
	} else {
		w.everywhere("desk-more", "who", w.person.Name, "what", what)
	}
	return nil
}

// snooze keeps a job's alarms silent for a while.
func (w *work) snooze(arg string) error {
	n, err := strconv.Atoi(arg)
	if err != nil || n <= 0 {
		n = w.config.Policy.Alarms.Snooze
	}
	w.add(Event{Kind: EventSnoozed, Person: w.person.ID, Until: w.now.Add(time.Duration(n) * time.Minute)})
	w.send(w.answersAt(), w.toSender("desk-snoozed", "job", w.job.ID, "n", strconv.Itoa(n)))
	return nil
}

// routePressed takes a button: its action is a verb, and what it is about.
func (w *work) routePressed(ctx context.Context) (func(context.Context) error, error) {
	verb, about, _ := strings.Cut(w.in.Action, ":")
	switch verb {
	case "say":
		w.in.Kind, w.in.Text = Said, about
		return w.route(ctx)
	case "place":
		w.in.Text = ""
		c := command{job: about}
		if about == "new" {
			c = command{fresh: true, place: placeNew}
		}
		if len(w.desks.of(w.person.ID).held) == 0 {
			return ignore, nil
		}
		return w.routePlaced(ctx, c)
	case Command:
		return w.routeCommand(ctx)
	}
	id, needs, _ := strings.Cut(about, ":")
	return w.routeAct(ctx, Act(verb), id, needs)
}

// routeCommand takes what was said as a command: the board, a new job of what follows,
// else what may be said.
func (w *work) routeCommand(ctx context.Context) (func(context.Context) error, error) {
	c := w.commands.parse(w.in.Text)
	word, rest, _ := strings.Cut(strings.TrimSpace(w.in.Text), " ")
	if w.commands.parse(word).fresh {
		c = command{fresh: true, place: placeNew, rest: rest}
	}
	switch {
	case c.fresh && strings.TrimSpace(c.rest) == "":
		return w.howToOpen, nil
	case c.fresh:
		w.in.Kind, w.in.Action = Said, ""
		return w.routeSaid(ctx, c)
	case c.board:
		return w.board, nil
	}
	return w.help, nil
}

// causes are the other causes a senior may choose when he overrules.
func (w *work) causes() []Button {
	var out []Button
	words := w.sender()
	for _, s := range w.standing().Suspects {
		if s.Fault != w.job.Fault && len(out) < 5 {
			out = append(out, Button{Action: "overrule:" + w.job.ID + ":" + s.Fault, Label: short(words.FaultName(s.Fault))})
		}
	}
	return out
}
