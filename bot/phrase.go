package bot

import (
	"fmt"
	"math"
	"strings"
	"time"

	"proveout/dialog"
)

// What the service itself says. What is said about machines comes from knowledge.

func sayStranger(shop string) string {
	return fmt.Sprintf("This is the service desk assistant of %s. I do not know this sender, so I cannot help here; the office can add you.", shop)
}

func sayOpening(shop string) string {
	return fmt.Sprintf("%s. Tell me what the unit does and what you have measured, and I open a job.", shop)
}

func sayWhich(jobs []*Job) string {
	var b strings.Builder
	b.WriteString("Which job is that for?")
	for i, j := range jobs {
		fmt.Fprintf(&b, "\n%d  %s %s", i+1, j.ID, j.Title)
	}
	b.WriteString("\nAnswer with the number, or \"new\" for a new job.")
	return b.String()
}

func sayNameJob(board string) string {
	return "Which job is that for? Begin with its number, as in: J-1001 confirm\n" + board
}

func sayNoPicture(files []File) string {
	names := make([]string, len(files))
	for i := range files {
		names[i] = files[i].Name
	}
	return "Kept with the job: " + strings.Join(names, ", ") + ". I cannot read a picture: type what is on it, such as refrigerant, RLA, LRA and the capacitor's microfarads."
}

func sayAmended(k EventKind) string {
	if k == EventDeleted {
		return "Left out what you took back. Where that leaves us:"
	}
	return "Took your message as it reads now. Where that leaves us:"
}

func sayNothingLeft() string { return "Left out what you took back. Nothing else is on this job yet." }

func sayNotYours() string { return "That is for a senior technician." }

func sayTaken(who string) string {
	return who + " has this job now. I keep recording and stay quiet until it is handed back."
}

func sayMore(who, what string) string {
	if what == "" {
		return who + " wants one more reading before he rules, and will say which."
	}
	return fmt.Sprintf("%s asks for one more reading before he rules: %s", who, what)
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

func (w *work) sayRuled(verdict, fault string) string {
	return fmt.Sprintf("%s: %s has %s the call, %s.", w.job.ID, w.person.Name, verdict, w.fault(fault))
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
