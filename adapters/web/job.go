package web

import (
	"context"
	"html/template"
	"net/http"
	"slices"
	"strconv"

	"proveout/bot"
)

// suspectsShown is how many suspects a job's page lists in full.
const suspectsShown = 8

// jobPage is a job as it is shown.
type jobPage struct {
	*bot.JobView
	Acts    acts
	Rulings []press
	Instead []bot.Share // what a call may be overruled to
	Listed  []listed
	Picture template.HTML
	Circuit circuit
	Shown   bool // the circuit is unfolded
}

// listed is a suspect with its letter in the chart.
type listed struct {
	bot.SuspectView
	Letter, Class string
}

func (a *Adapter) jobOf(ctx context.Context, viewer, language string, j *bot.JobView) (*jobPage, error) {
	at := "/jobs/" + j.Job
	drawn, err := a.circuitOf(ctx, viewer, j, at)
	if err != nil {
		return nil, err
	}
	p := &jobPage{
		Circuit: drawn, Shown: true,
		JobView: j, Rulings: presses(j.Actions, wordsOnCalls),
		Acts: acts{Row: j.Row, Acting: true, Plain: presses(j.Actions, plainOnBoard), Seniors: a.seniors(), Back: at},
	}
	letters := map[string]int{}
	lines := make([]line, len(j.Chart))
	for i, c := range j.Chart {
		letters[c.Fault] = i + 1
		lines[i] = line{c.Name, c.Points}
	}
	words := a.words[language]
	p.Picture = chart(lines, words.Say("web-chart"), words.Say("web-chart-told"))
	for _, s := range j.Suspects[:min(len(j.Suspects), suspectsShown)] {
		l := listed{SuspectView: s}
		if n := letters[s.Fault]; n > 0 && p.Picture != "" {
			l.Letter, l.Class = letter(n-1), "c"+strconv.Itoa(n)
		}
		p.Listed = append(p.Listed, l)
	}
	for _, s := range j.Suspects {
		if j.Call == nil || s.Fault != j.Call.Fault {
			p.Instead = append(p.Instead, s.Share)
		}
	}
	for _, x := range j.Excluded {
		p.Instead = append(p.Instead, bot.Share{Fault: x.Fault, Name: x.Name})
	}
	return p, nil
}

func (a *Adapter) seniors() []bot.Member {
	return slices.DeleteFunc(a.service.Members(), func(m bot.Member) bool { return m.Role != bot.SeniorRole })
}

// job shows one.
func (a *Adapter) job(v *visit) error {
	j, err := a.service.JobView(v.r.Context(), v.who.ID, v.r.PathValue("job"))
	if err != nil {
		return err
	}
	v.speaks(j.Language)
	p, err := a.jobOf(v.r.Context(), v.who.ID, v.language, j)
	if err != nil {
		return err
	}
	return v.live("/jobs/"+j.Job+"/live").page(http.StatusOK, "job", j.Title, p)
}

// jobLive keeps it live.
func (a *Adapter) jobLive(v *visit) error {
	id := v.r.PathValue("job")
	j, err := a.service.JobView(v.r.Context(), v.who.ID, id)
	if err != nil {
		return err
	}
	who, language := v.who.ID, j.Language
	return v.follow("job "+id+" "+v.kind()+" "+language, id, func(ctx context.Context) ([]fragment, error) {
		j, err := a.service.JobView(ctx, who, id)
		if err != nil {
			return nil, err
		}
		p, err := a.jobOf(ctx, who, language, j)
		if err != nil {
			return nil, err
		}
		parts, err := a.fragments(language, "job", p, "head", "state", "circuit", "suspects", "gauges", "evidence", "excluded", "timeline")
		if err != nil {
			return nil, err
		}
		said, err := a.saidIn(language, j)
		return append(parts, said...), err
	})
}

// saidIn are the messages of a job, each a fragment.
func (a *Adapter) saidIn(language string, j *bot.JobView) ([]fragment, error) {
	out := make([]fragment, 0, len(j.Talk))
	for i := range j.Talk {
		html, err := a.render(language, "job", "spoken", &j.Talk[i])
		if err != nil {
			return nil, err
		}
		out = append(out, fragment{ID: "m-" + strconv.FormatInt(j.Talk[i].Seq, 10), In: "talk", HTML: string(html)})
	}
	return out, nil
}
