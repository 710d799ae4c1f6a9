package slack

import (
	"context"
	"fmt"
	"time"

	"github.com/slack-go/slack"

	"proveout/bot"
)

// mostBlocks is how many blocks a home may hold. Source: Slack's reference of views.
const mostBlocks = 100

// homeWithin bounds the filling of one home.
const homeWithin = 10 * time.Second

// openHome has a person's home filled once the event is acknowledged. Nothing is
// lost when too many wait: opening it again asks again.
func (a *Adapter) openHome(person string) {
	select {
	case a.homes <- person:
	default:
		a.o.Log.Warn().Msg("too many homes wait to be filled; one was left as it is")
	}
}

func (a *Adapter) fillHomes(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case person := <-a.homes:
			if err := a.fillHome(ctx, person); err != nil {
				a.o.Log.Warn().Err(a.scrub(err)).Msg("a home was not filled")
			}
		}
	}
}

func (a *Adapter) fillHome(ctx context.Context, person string) error {
	ctx, cancel := context.WithTimeout(ctx, homeWithin)
	defer cancel()
	view := slack.HomeTabViewRequest{Type: slack.VTHomeTab, Blocks: slack.Blocks{BlockSet: homeBlocks(a.o.Board.PhrasesFor(Channel, person), a.o.Board.OpenJobs(Channel, person))}}
	if _, err := a.api.PublishViewContext(ctx, slack.PublishViewContextRequest{UserID: person, View: view}); err != nil {
		return fmt.Errorf("publishing the home: %w", err)
	}
	return nil
}

// homeBlocks lists jobs, as many as fit and how many did not.
func homeBlocks(say bot.Phrases, jobs []bot.Summary) []slack.Block {
	title := say.Say("board-none")
	if len(jobs) > 0 {
		title = say.Count("home-open", len(jobs))
	}
	out := []slack.Block{slack.NewHeaderBlock(words(title))}
	for i, job := range jobs {
		if len(out)+3 > mostBlocks { // a job takes two, the last line one
			rest := say.Count("home-more", len(jobs)-i)
			return append(out, slack.NewRichTextBlock("", slack.NewRichTextSection(literal(rest, nil)...)))
		}
		out = append(out, slack.NewRichTextBlock("", slack.NewRichTextSection(
			append(literal(short(job.Technician+" · "+job.Status, mostInPiece), &slack.RichTextSectionTextStyle{Bold: true}),
				literal("\n"+short(job.Text, mostInPiece), nil)...)...)))
		if len(job.Buttons) > 0 {
			out = append(out, buttons(say, place(i, job), job.Buttons[:min(len(job.Buttons), mostButtons)]))
		}
	}
	return out
}

// place is the id of a job's buttons: where it is talked about, so that what is
// pressed in the home is said there. Within a view it must be unique.
func place(i int, job bot.Summary) string {
	if job.Place.Channel != Channel {
		return fmt.Sprintf("elsewhere/%d", i)
	}
	return fmt.Sprintf("%s%s#%d", placePrefix, first(job.Place.Thread, job.Place.Conversation), i)
}
