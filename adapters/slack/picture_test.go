package slack_test

import (
	"bytes"
	"image"
	"image/png"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
	"proveout/adapters/slack/slacktest"
	"proveout/bot"
	"proveout/bot/ladder"
)

// circuit is a picture of the least size.
type circuit struct{}

func (circuit) Title() string       { return "split cooling system" }
func (circuit) Description() string { return "AC volts: red the live side of the contactor coil." }
func (circuit) Text() string        { return "" }
func (circuit) PNG(w io.Writer, _ ladder.Look, _ float64) error {
	return png.Encode(w, image.NewGray(image.Rect(0, 0, 1, 1)))
}

// drawn is a message with a circuit, in a thread.
func drawn(t *testing.T, s *shop) bot.Outbound {
	t.Helper()
	root := s.say(t, dale, "show me")
	return bot.Outbound{ID: "slack/1.0", Conversation: room, Thread: room + "/" + root, Text: "AC volts: one lead on each coil terminal.", Drawing: circuit{}}
}

func TestACircuitComesAsAPictureBelowItsWords(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	m := drawn(t, s)
	_, err := s.adapter.Send(t.Context(), m)
	require.NoError(t, err)
	posts := s.Posts(room)
	require.Len(t, posts, 2)
	require.Equal(t, m.Text, posts[0].Shown)
	require.Equal(t, posts[0].Thread, posts[1].Thread)
	require.Len(t, posts[1].Files, 1)
	f := posts[1].Files[0]
	require.Equal(t, "split cooling system", f.Title)
	require.Contains(t, f.Alt, "red the live side of the contactor coil", "it is told to who cannot see it")
	require.Equal(t, "image/png", f.Mimetype)
	_, err = png.Decode(bytes.NewReader(f.Content))
	require.NoError(t, err)
}

func TestACircuitSentAgainIsShownOnce(t *testing.T) {
	t.Parallel()
	for name, how := range map[string]slacktest.Refusal{"refused once": {Status: 503}, "taken, and the answer lost": {Lose: true}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := open(t, &conformance.Desk{}, nil, false)
			m := drawn(t, s)
			s.Refuse(1, how)
			_, err := s.adapter.Send(t.Context(), m)
			require.Error(t, err)
			_, err = s.adapter.Send(t.Context(), m)
			require.NoError(t, err)
			require.Len(t, s.Posts(room), 2)
		})
	}
}

func TestWhereNoPictureIsTakenTheWordsGoAlone(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	m := drawn(t, s)
	s.Refuse(1, slacktest.Refusal{Code: "missing_scope"})
	_, err := s.adapter.Send(t.Context(), m)
	require.NoError(t, err)
	require.Len(t, s.Posts(room), 1)
}
