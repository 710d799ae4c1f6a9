package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/require"

	"proveout/adapters/slack"
	"proveout/adapters/slack/slacktest"
	"proveout/bot"
)

// logged is what a service has logged.
type logged struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *logged) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(b)
}

func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// From its start to its end, with a delivery refused on the way, a service logs what
// happened by ids and nothing anybody said, is called, is reached at, or is let in by.
func TestAWholeRunLogsNoSecretAndNobodysWords(t *testing.T) {
	t.Parallel()
	server, err := slacktest.New(t.Context())
	require.NoError(t, err)
	t.Cleanup(server.Close)
	dir := t.TempDir()
	secret := func(name, text string) bot.Secret {
		file := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(file, []byte(text+"\n"), 0o600))
		return bot.Secret{File: file}
	}
	person := func(name string, role bot.Role, id string) *bot.Person {
		return &bot.Person{Name: name, Role: role, Identities: map[string]string{slack.Channel: id}}
	}
	config := bot.Config{
		Shop: "Larkmoor Heating & Air", Record: filepath.Join(dir, "shop.db"),
		People: map[string]*bot.Person{"ana": person("Ana Reyes", bot.TechnicianRole, ana), "sam": person("Sam Okoro", bot.SeniorRole, sam)},
		Channels: map[string]bot.Channel{slack.Channel: {
			Conversation: room, Settings: map[string]string{"api": server.API()},
			Secrets: map[string]bot.Secret{"bot-token": secret("bot", server.BotToken), "app-token": secret("app", server.AppToken)},
		}},
	}
	base, err := loadKnowledge()
	require.NoError(t, err)
	log := &logged{}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() {
		ended <- serve(ctx, []*shop{{config: config, base: base}}, zerolog.New(log).Level(zerolog.InfoLevel))
	}()
	require.NoError(t, server.Connected(ctx))

	server.Refuse(1, slacktest.Refusal{Status: 503})
	said := []string{
		"no cooling at 12 Fenwick, Mrs Aldous 555-0142. outdoor unit dead, blower runs",
		"27 at the yellow outside", "senior! gas smell",
	}
	thread := ""
	for _, text := range said {
		event, ts := server.Say(slacktest.Said{Conversation: room, User: ana, Thread: thread, Text: text})
		if thread == "" {
			thread = ts
		}
		_, err := server.Deliver(ctx, event)
		require.NoError(t, err)
	}
	event, _ := server.Say(slacktest.Said{Conversation: "D0NOBODY", User: "U0NOBODY", Text: "what does job J-1001 say, I am Wilbur"})
	_, err = server.Deliver(ctx, event)
	require.NoError(t, err)
	posts, err := server.WaitPosts(ctx, room, len(said))
	require.NoError(t, err)
	stop()
	require.NoError(t, <-ended)

	text := log.String()
	require.Contains(t, text, `"message":"received"`)
	never := append(server.Secrets(), said...)
	never = append(never, "Fenwick", "Aldous", "0142", "Ana Reyes", "Okoro", "Wilbur", "yellow", "gas")
	for _, p := range posts {
		never = append(never, p.Shown)
	}
	for _, secret := range never {
		require.NotContains(t, text, secret)
	}
}
