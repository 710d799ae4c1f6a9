package bot

import (
	"fmt"
	"math"
	"strings"
	"time"

	"proveout/dialog"
	"proveout/knowledge"
)

// What the service says to a technician comes from the knowledge, in his language; the
// shop's own papers, the senior's card, the board and the alarms, are in English.
//
// deskPhrases are the ids of the former.
var deskPhrases = []string{
	"desk-stranger", "desk-opening", "desk-which", "desk-which-answer", "desk-new-job", "desk-no-picture", "desk-edited", "desk-deleted",
	"desk-nothing-left", "desk-not-yours", "desk-taken", "desk-more", "desk-more-open", "desk-confirmed", "desk-overruled", "desk-rest", "desk-rest-none",
}

func missingPhrases(base *knowledge.Base) error {
	for _, id := range deskPhrases {
		if base.Phrases[id] == "" {
			return fmt.Errorf("reading the phrases: none for %s; add it under phrases/", id)
		}
	}
	return nil
}

// phrase fills a phrase in a language: pairs are the names in braces and what stands
// for them.
func (s *Service) phrase(language, id string, pairs ...string) string {
	for i := 0; i+1 < len(pairs); i += 2 {
		pairs[i] = "{" + pairs[i] + "}"
	}
	return strings.NewReplacer(pairs...).Replace(s.agent.Words(language).Phrases[id])
}

// toSender says a phrase to whom a message came from: in the language set for him,
// else the job's, else the one he wrote in.
func (w *work) toSender(id string, pairs ...string) string {
	var language string
	switch {
	case w.person != nil && w.person.Language != "":
		language = w.person.Language
	case w.talk != nil:
		language = w.talk.Language()
	default:
		language = w.agent.LanguageOf(w.in.Text)
	}
	return w.phrase(language, id, pairs...)
}

// toJob says a phrase in a job's thread.
func (w *work) toJob(id string, pairs ...string) string {
	return w.phrase(w.talk.Language(), id, pairs...)
}

func (w *work) sayWhich(jobs []*Job) string {
	var b strings.Builder
	b.WriteString(w.toSender("desk-which"))
	for i, j := range jobs {
		fmt.Fprintf(&b, "\n%d  %s %s", i+1, j.ID, j.Title)
	}
	b.WriteString("\n" + w.toSender("desk-which-answer"))
	return b.String()
}

func (w *work) sayNoPicture(files []File) string {
	names := make([]string, len(files))
	for i := range files {
		names[i] = files[i].Name
	}
	return w.toSender("desk-no-picture", "files", strings.Join(names, ", "))
}

func (w *work) sayMore(what string) string {
	if what == "" {
		return w.toJob("desk-more-open", "who", w.person.Name)
	}
	return w.toJob("desk-more", "who", w.person.Name, "what", what)
}

func sayMoreHow(job string) string {
	return fmt.Sprintf("Which reading? Write it as: %s ask for suction pressure", job)
}

func sayOverruleHow(job string) string {
	return fmt.Sprintf("What is it instead? Choose, or write: %s override, it is the …", job)
}

func saySnoozed(job string, minutes int) string {
	return fmt.Sprintf("%s: no alarms for %d min.", job, minutes)
}

func sayNameJob(board string) string {
	return "Which job is that for? Begin with its number, as in: J-1001 confirm\n" + board
}

// sayRuled tells the technician of a senior's word.
func (w *work) sayRuled(verdict, fault string) string {
	name := w.fault(fault)
	if f := w.agent.Words(w.talk.Language()).Faults[fault]; f != nil {
		name = f.Name
	}
	return w.toJob("desk-"+verdict, "job", w.job.ID, "who", w.person.Name, "fault", name)
}

// fault is a fault's plain name.
func (s *Service) fault(id string) string {
	if f := s.base.Faults[id]; f != nil && f.Name != "" {
		return f.Name
	}
	return strings.NewReplacer("/", " ", "-", " ").Replace(id)
}

func percent(p float64) string {
	switch {
	case p > 0.99:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", math.Round(100*p))
}

// rivalsShown is how many rivals a proposal names.
const rivalsShown = 3

// sayProposal is the evidence for a call in one glance.
func (w *work) sayProposal(r *dialog.Reply) string {
	var b strings.Builder
	j := w.job
	fmt.Fprintf(&b, "%s, %s: %s\n", j.ID, w.people.name(j.Technician), j.Title)
	fmt.Fprintf(&b, "Call: %s, %s.\n", w.fault(j.Fault), percent(j.Probability))
	if r.Call != nil && len(r.Call.Proof) > 0 {
		fmt.Fprintf(&b, "Proof: %s.\n", strings.Join(r.Call.Proof, "; "))
	} else {
		b.WriteString("Not proven: nothing left to measure would prove it.\n")
	}
	next, shown := "", 0
	for _, s := range r.Suspects {
		if s.Fault != j.Fault && shown < rivalsShown {
			fmt.Fprintf(&b, "Still possible: %s, %s.\n", w.fault(s.Fault), percent(s.Probability))
			if shown++; next == "" {
				next = w.fault(s.Fault)
			}
		}
	}
	for _, x := range w.commonest(r.RuledOut) {
		fmt.Fprintf(&b, "Ruled out: %s, by %s.\n", w.fault(x.Fault), x.Because)
	}
	b.WriteString(w.sayCost(next))
	return strings.TrimSpace(b.String())
}

// sayCost says what a wrong call would cost.
func (w *work) sayCost(next string) string {
	f := w.base.Faults[w.job.Fault]
	if f == nil {
		return ""
	}
	cost := "the repair for nothing and a second trip"
	if f.Part != "" {
		cost = "a good " + f.Part + " changed and a second trip"
	}
	s := fmt.Sprintf("If it is wrong: %s.", cost)
	if next != "" {
		s += " Then most likely: " + next + "."
	}
	return s
}

// sayJob is a job in a line of the board.
func (s *Service) sayJob(j *Job, now time.Time) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s, %s: %s", j.ID, s.people.name(j.Technician), j.Status, j.Title)
	switch {
	case j.Taken != "":
		fmt.Fprintf(&b, " | with %s", s.people.name(j.Taken))
	case !j.WaitingSince.IsZero():
		fmt.Fprintf(&b, " | call waits %d min for a senior: %s, %s", minutes(now.Sub(j.WaitingSince)), s.fault(j.Fault), percent(j.Probability))
	case j.Called:
		fmt.Fprintf(&b, " | %s", s.fault(j.Fault))
	case j.Fault != "":
		fmt.Fprintf(&b, " | leading: %s, %s", s.fault(j.Fault), percent(j.Probability))
	}
	if j.Asked != "" {
		fmt.Fprintf(&b, " | waits on %s", strings.NewReplacer("/", " ", "-", " ").Replace(j.Asked))
	}
	fmt.Fprintf(&b, " | last heard %d min ago, open %d min", minutes(now.Sub(j.LastActivity)), minutes(now.Sub(j.Opened)))
	return b.String()
}
