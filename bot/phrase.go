package bot

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
	"time"

	"proveout/dialog"
	"proveout/knowledge"
)

// What people read comes from the knowledge, to each in his language: the one set for
// him; to a technician the one he writes in; in the shop's rooms the shop's.

// languageOf is the one a person is told things in unasked.
func (s *Service) languageOf(p *Person) string { return cmp.Or(p.Language, s.config.Language) }

// phrase says a phrase in a language.
func (s *Service) phrase(language, id string, pairs ...string) string {
	return s.agent.Words(language).Phrases.Say(id, pairs...)
}

// sender is the knowledge as it is said to whom a message came from: in the language
// set for him, else his job's, else the one he wrote in, else the shop's.
func (w *work) sender() *knowledge.Base {
	set, talk := "", ""
	if w.person != nil {
		set = w.person.Language
	}
	if w.talk != nil && w.person != nil && w.job.Technician == w.person.ID {
		talk = w.talk.Language()
	}
	return w.agent.Words(cmp.Or(set, talk, w.agent.LanguageOf(w.in.Text), w.config.Language))
}

// toSender says a phrase to whom a message came from.
func (w *work) toSender(id string, pairs ...string) string {
	return w.sender().Phrases.Say(id, pairs...)
}

// retold is the reply to the message being worked through as it is said in other words.
func (w *work) retold(words *knowledge.Base, reply *dialog.Reply) *dialog.Reply {
	if w.again == nil || reply.Language == words.Language {
		return reply
	}
	return w.again(words.Language)
}

// notice is a message to several, worded for each in his language.
type notice func(words *knowledge.Base) (text string, buttons []Button)

func (w *work) sayWhich(jobs []*Job) string {
	words := w.sender()
	var b strings.Builder
	switch at := w.moment(w.in.At); {
	case len(jobs) == 0:
		if held := w.desks.of(w.person.ID).held; len(held) > 0 {
			at = w.moment(held[0].sent())
		}
		return words.Phrases.Say("desk-late-new", "at", at)
	case w.late():
		b.WriteString(words.Phrases.Say("desk-late", "at", at) + "\n")
	}
	b.WriteString(words.Phrases.Say("desk-which"))
	for i, j := range jobs {
		fmt.Fprintf(&b, "\n%d  %s %s", i+1, j.ID, j.Title)
	}
	b.WriteString("\n" + words.Phrases.Say("desk-which-answer"))
	return b.String()
}

func (w *work) sayNoPicture(files []File) string {
	names := make([]string, len(files))
	for i := range files {
		names[i] = files[i].Name
	}
	return w.toSender("desk-no-picture", "files", strings.Join(names, ", "))
}

// rivalsShown is how many rivals a proposal names.
const rivalsShown = 3

// sayProposal is the evidence for a call in one glance; the reply that made the call is
// in the same language.
func (w *work) sayProposal(words *knowledge.Base, r *dialog.Reply) string {
	j, say := w.job, words.Phrases.Say
	lines := []string{
		fmt.Sprintf("%s, %s: %s", j.ID, w.people.name(j.Technician), j.Title),
		say("card-call", "fault", words.FaultName(j.Fault), "percent", words.Phrases.Percent(j.Probability)),
	}
	if r.Call != nil && len(r.Call.Proof) > 0 {
		lines = append(lines, say("card-proof", "what", strings.Join(r.Call.Proof, "; ")))
	} else {
		lines = append(lines, say("card-unproven"))
	}
	next, shown := "", 0
	for _, s := range r.Suspects {
		if s.Fault != j.Fault && shown < rivalsShown {
			lines = append(lines, say("card-possible", "fault", words.FaultName(s.Fault), "percent", words.Phrases.Percent(s.Probability)))
			if shown++; next == "" {
				next = words.FaultName(s.Fault)
			}
		}
	}
	for _, x := range w.commonest(r.RuledOut) {
		lines = append(lines, say("card-ruled-out", "fault", words.FaultName(x.Fault), "what", x.Because))
	}
	return strings.Join(append(lines, sayCost(words, j.Fault, next)...), "\n")
}

// sayCost says what a wrong call would cost.
func sayCost(words *knowledge.Base, fault, next string) []string {
	f, say := words.Faults[fault], words.Phrases.Say
	if f == nil {
		return nil
	}
	cost := say("card-cost")
	if f.Part != "" {
		cost = say("card-cost-part", "part", f.Part)
	}
	if next != "" {
		cost += " " + say("card-then", "fault", next)
	}
	return []string{cost}
}

// rulings are the buttons under a call that waits for a senior.
func rulings(words *knowledge.Base, job string) []Button {
	return []Button{
		{Action: "confirm:" + job, Label: words.Phrases.Say("button-confirm")},
		{Action: "overrule:" + job, Label: words.Phrases.Say("button-overrule"), Danger: true},
	}
}

func takeButton(words *knowledge.Base, job string) Button {
	return Button{Action: "take:" + job, Label: words.Phrases.Say("button-take")}
}

// sayJob is a job in a line of the board.
func (s *Service) sayJob(words *knowledge.Base, j *Job, now time.Time) string {
	say := words.Phrases.Say
	fault, percent := words.FaultName(j.Fault), words.Phrases.Percent(j.Probability)
	parts := []string{fmt.Sprintf("%s %s, %s: %s", j.ID, s.people.name(j.Technician), say("board-"+j.Status), j.Title)}
	switch {
	case j.Taken != "":
		parts = append(parts, say("board-with", "who", s.people.name(j.Taken)))
	case !j.WaitingSince.IsZero():
		parts = append(parts, say("board-waits", "minutes", minutes(now.Sub(j.WaitingSince)), "fault", fault, "percent", percent))
	case j.Called:
		parts = append(parts, fault)
	case j.Fault != "":
		parts = append(parts, say("board-leading", "fault", fault, "percent", percent))
	}
	if j.Asked != "" {
		parts = append(parts, say("board-asked", "what", wanted(words, j.Asked)))
	}
	parts = append(parts, say("board-since", "heard", minutes(now.Sub(j.LastActivity)), "open", minutes(now.Sub(j.Opened))))
	return strings.Join(parts, " | ")
}

// wanted names what a job waits on: a reading, an observation or a fact.
func wanted(words *knowledge.Base, id string) string {
	name := ""
	if m := words.Measurements[knowledge.ReadingID(id)]; m != nil {
		name = m.Name
	} else if o := words.Observations[id]; o != nil {
		name = o.Name
	} else if f := words.Facts[id]; f != nil {
		name = f.Name
	}
	return cmp.Or(name, strings.NewReplacer("/", " ", "-", " ").Replace(id))
}

// minutes is a length of time for a person.
func minutes(d time.Duration) string { return strconv.Itoa(int(d.Round(time.Minute) / time.Minute)) }
