package bot

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"proveout/dialog"
	"proveout/knowledge"
)

// boardShown is how many jobs a board in a message lists.
const boardShown = 25

// Summary is an open job in a list, such as the board of an app.
type Summary struct {
	Job, Technician, Status string
	Place                   Place
	Text                    string // a line: what it waits on, since when
	Buttons                 []Button
}

// OpenJobs lists the jobs a person may see, by his identity in a channel: his own
// for a technician, else every open one, the longest waiting first. Nobody known
// gets none.
func (s *Service) OpenJobs(channel, identity string) []Summary {
	p := s.people.is(channel, identity)
	if p == nil {
		return nil
	}
	words, now := s.agent.Words(s.languageOf(p)), s.Now()
	var out []Summary
	for _, j := range s.openJobs() {
		if p.Role == TechnicianRole && j.Technician != p.ID {
			continue
		}
		sum := Summary{Job: j.ID, Technician: s.people.name(j.Technician), Status: words.Phrases.Say("board-" + j.Status), Place: s.thread(j), Text: s.sayJob(words, j, now)}
		if p.Role == SeniorRole && j.Status == dialog.Proposed {
			sum.Buttons = rulings(words, j.ID)
		}
		out = append(out, sum)
	}
	return out
}

// openJobs lists the open jobs: those whose call waits first, then the longest not
// heard of.
func (s *Service) openJobs() []*Job {
	out := slices.Collect(s.table.waiting())
	rest := slices.Collect(s.table.everyone())
	rest = slices.DeleteFunc(rest, func(j *Job) bool { return !j.WaitingSince.IsZero() })
	slices.SortFunc(rest, func(a, b *Job) int { return cmp.Or(a.LastActivity.Compare(b.LastActivity), cmp.Compare(a.ID, b.ID)) })
	return append(out, rest...)
}

// sayBoard is jobs in a message.
func (s *Service) sayBoard(words *knowledge.Base, jobs []*Job, now time.Time) string {
	if len(jobs) == 0 {
		return words.Phrases.Say("board-none")
	}
	lines := []string{words.Phrases.Count("board-open", len(jobs))}
	for _, j := range jobs[:min(boardShown, len(jobs))] {
		lines = append(lines, s.sayJob(words, j, now))
	}
	if n := len(jobs) - boardShown; n > 0 {
		lines = append(lines, words.Phrases.Count("board-more", n))
	}
	return strings.Join(lines, "\n")
}

// sayUndelivered is what was not delivered, a line each under the board.
func (s *Service) sayUndelivered(words *knowledge.Base) string {
	var b strings.Builder
	for _, u := range s.Undelivered() {
		b.WriteString("\n" + words.Phrases.Say("board-undelivered", "job", u.Job, "who", u.To, "at", s.clock(u.At), "reason", words.Phrases.Or("reason-"+u.Reason, u.Reason)))
	}
	return b.String()
}

// clock is a time of day in the shop.
func (s *Service) clock(t time.Time) string { return t.In(s.zone).Format("15:04") }

// commonest are the rivals ruled out whose exclusion is the news: those most often
// the cause.
func (s *Service) commonest(out []dialog.RuledOut) []dialog.RuledOut {
	weight := func(x dialog.RuledOut) float64 {
		if f := s.base.Faults[x.Fault]; f != nil {
			return f.Weight
		}
		return 0
	}
	out = slices.Clone(out)
	slices.SortStableFunc(out, func(a, b dialog.RuledOut) int { return cmp.Compare(weight(b), weight(a)) })
	return out[:min(rivalsShown, len(out))]
}
