package slack

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"proveout/bot"
	"proveout/bot/ladder"
)

// sharp is how many of a picture's pixels go to a CSS pixel: enough to read on a phone
// held across.
const sharp = 1.5

// mostInAlt is how long the description of a picture may be, characters.
const mostInAlt = 1000

// picture puts the drawing of a message below it, unless it is there. What Slack refuses
// for good, as it does where the app was not given the scope, is left out: the words have
// arrived.
func (a *Adapter) picture(ctx context.Context, conversation, thread string, m bot.Outbound, at state) error {
	name := strings.ReplaceAll(m.ID, "/", "-") + ".png"
	if at.unsure {
		there, err := a.shared(ctx, conversation, thread, name, at.since)
		if err != nil {
			return fmt.Errorf("looking whether the picture is there: %w", err)
		}
		if there {
			return nil
		}
	}
	var png bytes.Buffer
	if err := m.Drawing.PNG(&png, ladder.Light, sharp); err != nil {
		a.o.Log.Error().Err(err).Str("message", m.ID).Msg("no picture could be made")
		return nil
	}
	_, err := a.api.UploadFileContext(ctx, slack.UploadFileParameters{
		Reader: &png, FileSize: png.Len(), Filename: name, Title: m.Drawing.Title(), AltTxt: shortened(m.Drawing.Description(), mostInAlt),
		Channel: conversation, ThreadTimestamp: thread,
	})
	if err == nil {
		return nil
	}
	if failed, ok := errors.AsType[*bot.DeliveryError](a.failed(err)); ok && (!failed.Retry || code(err) == "missing_scope") {
		a.o.Log.Error().Err(failed.Err).Str("message", m.ID).Msg("slack does not take the picture; the words went alone")
		return nil
	}
	return err
}

func shortened(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// shared says whether a file is there under a name of ours.
func (a *Adapter) shared(ctx context.Context, conversation, thread, name string, since time.Time) (bool, error) {
	_, found, err := a.seek(ctx, conversation, thread, since, func(m *slack.Message) bool {
		for i := range m.Files {
			if m.Files[i].Name == name {
				return true
			}
		}
		return false
	})
	return found, err
}
