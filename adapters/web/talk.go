package web

import (
	"context"
	"net/http"

	"proveout/bot"
)

// talkPage is a job as its technician has it on his phone.
type talkPage struct {
	*bot.JobView
	Buttons []bot.Button
	Circuit circuit
	Shown   bool // it is unfolded when he asks for it
}

func (a *Adapter) talkOf(ctx context.Context, who string, j *bot.JobView) (*talkPage, error) {
	drawn, err := a.circuitOf(ctx, who, j, "/talk/"+j.Job)
	if err != nil {
		return nil, err
	}
	p := &talkPage{JobView: j, Circuit: drawn}
	if j.Next != nil && j.Row.Taken.ID == "" {
		p.Buttons = j.Next.Buttons
	}
	return p, nil
}

// talks lists a technician's open jobs, and opens one.
func (a *Adapter) talks(v *visit) error {
	b, err := a.service.Board(v.who.ID)
	if err != nil {
		return err
	}
	own := b.Jobs[:0:0]
	for _, r := range b.Jobs { // a senior sees others' too
		if r.Technician.ID == v.who.ID {
			own = append(own, r)
		}
	}
	return v.page(http.StatusOK, "talks", v.words.Say("web-talk"), own)
}

// talk is one of them.
func (a *Adapter) talk(v *visit) error {
	j, err := a.ownJob(v.r.Context(), v.who.ID, v.r.PathValue("job"))
	if err != nil {
		return err
	}
	v.speaks(j.Language)
	p, err := a.talkOf(v.r.Context(), v.who.ID, j)
	if err != nil {
		return err
	}
	return v.live("/talk/"+j.Job+"/live").page(http.StatusOK, "talk", j.Title, p)
}

// ownJob is a job a person is the technician of.
func (a *Adapter) ownJob(ctx context.Context, who, job string) (*bot.JobView, error) {
	j, err := a.service.JobView(ctx, who, job)
	if err == nil && j.Technician.ID != who {
		return nil, errNotYours
	}
	return j, err
}

// talkLive keeps it live.
func (a *Adapter) talkLive(v *visit) error {
	who, id := v.who.ID, v.r.PathValue("job")
	j, err := a.ownJob(v.r.Context(), who, id)
	if err != nil {
		return err
	}
	language := j.Language
	return v.follow("talk "+id+" "+who+" "+language, id, func(ctx context.Context) ([]fragment, error) {
		j, err := a.ownJob(ctx, who, id)
		if err != nil {
			return nil, err
		}
		p, err := a.talkOf(ctx, who, j)
		if err != nil {
			return nil, err
		}
		parts, err := a.fragments(language, "talk", p, "where", "circuit", "answers")
		if err != nil {
			return nil, err
		}
		said, err := a.saidIn(language, j)
		return append(parts, said...), err
	})
}

// tell takes what a technician writes or presses on his job's page.
func (a *Adapter) tell(v *visit) error {
	id := v.r.PathValue("job")
	if _, err := a.ownJob(v.r.Context(), v.who.ID, id); err != nil {
		return err
	}
	in, err := v.said(id)
	if err != nil {
		return err
	}
	if err := a.service.Receive(v.r.Context(), in); err != nil {
		return err
	}
	return v.back("/talk/" + id)
}

// begin opens a job, and shows it. It is known by the name of the message that opened
// it, so that one sent twice opens one.
func (a *Adapter) begin(v *visit) error {
	in, err := v.said("")
	if err != nil {
		return err
	}
	in.Thread = "page " + in.ID
	if err := a.service.Receive(v.r.Context(), in); err != nil {
		return err
	}
	job, err := a.service.JobIn(v.r.Context(), v.who.ID, in.Thread)
	if err != nil {
		return err
	}
	return v.back("/talk/" + job)
}
