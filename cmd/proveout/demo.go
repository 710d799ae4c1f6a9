package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/term"

	"proveout/adapters/terminal"
	"proveout/adapters/web"
	"proveout/bot"
	"proveout/bot/sqlite"
	"proveout/knowledge"
)

// demoConfig is the invented shop. Its people have the terminal for a phone.
func demoConfig(language string) bot.Config {
	person := func(name string, role bot.Role, identity string) *bot.Person {
		return &bot.Person{Name: name, Role: role, Identities: map[string]string{terminal.Channel: identity}}
	}
	return bot.Config{
		Shop: demoShop, Language: language,
		People: map[string]*bot.Person{
			"ana": person("Ana Reyes", bot.TechnicianRole, bot.Tech),
			"ben": person("Ben Holt", bot.TechnicianRole, "ben"),
			"cal": person("Cal Dorsey", bot.TechnicianRole, "cal"),
			"sam": person("Sam Okoro", bot.SeniorRole, bot.Senior),
			"dee": person("Dee Marsh", bot.DispatcherRole, bot.Dispatcher),
		},
		Channels: map[string]bot.Channel{terminal.Channel: {}, web.Channel: {}},
	}
}

// demoSaid is what was said in the shop before the terminal opens, a line each after
// who says it: a job at its beginning, a call that waits for the senior, a repair being
// proven.
func demoSaid(say bot.Phrases) []bot.Message {
	var out []bot.Message
	for line := range strings.Lines(say.Say("demo-said")) {
		who, text, _ := strings.Cut(line, ":")
		out = append(out, bot.Message{From: who, Text: strings.TrimSpace(text)})
	}
	return out
}

// demo opens the shop for one person at a terminal, in a language. The record lives as
// long as it, unless a new file is named for it.
func demo(ctx context.Context, base *knowledge.Base, record, language string, std streams) (err error) {
	if record == "" {
		dir, err := os.MkdirTemp("", "proveout-demo-")
		if err != nil {
			return fmt.Errorf("making room for the demo's record: %w", err)
		}
		defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
		record = filepath.Join(dir, "record.db")
	} else if _, err := os.Lstat(record); err == nil {
		return fmt.Errorf("there is something at %s already; the demo wants a new file", record)
	}
	store, err := sqlite.Open(ctx, record, sqlite.Options{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	say := base.In(language).Phrases
	said := demoSaid(say)
	const pause = 3 * time.Minute
	var behind atomic.Int64 // what was said before lies in the past
	behind.Store(int64(len(said)) * int64(pause))
	config := demoConfig(language)
	service, err := bot.New(store, base, config, bot.Options{Now: func() time.Time { return time.Now().Add(-time.Duration(behind.Load())) }})
	if err != nil {
		return err
	}
	names := map[string]string{}
	for _, p := range config.People {
		names[p.Identities[terminal.Channel]] = p.Name
	}
	pages, err := web.New(service, web.Options{Demo: true, Zone: time.Local, Log: zerolog.New(std.err), Report: reports(service, store, config)})
	if err != nil {
		return err
	}
	phone := terminal.NewPhone(std.out, names, say)
	phone.Quiet(true)
	if err := errors.Join(service.Register(terminal.Channel, phone), service.Restore(ctx)); err != nil {
		return err
	}
	running, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	ended := make(chan error, 1)
	go func() { ended <- service.Run(running) }()
	board, err := openDemoBoard(ctx, pages)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, board.close()) }()
	talk := func() error {
		for _, s := range said {
			if err := phone.Say(ctx, service, s.From, s.Text, time.Now().Add(-time.Duration(behind.Load()))); err != nil {
				return err
			}
			behind.Add(-int64(pause))
		}
		if err := phone.Print(demoShop + ".\n" + say.Say("demo-board", "address", board.address) + "\n" + say.Say("demo-help") + "\n\n"); err != nil {
			return err
		}
		phone.Quiet(false)
		if err := phone.Say(ctx, service, bot.Dispatcher, "status", time.Now()); err != nil {
			return err
		}
		prompt := ""
		if f, ok := std.in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
			prompt = "> "
		}
		return phone.Talk(ctx, service, prompt, std.in)
	}
	err = talk()
	stop()
	return errors.Join(err, <-ended)
}

// demoBoard is the shop in a browser, on this machine alone.
type demoBoard struct {
	address string
	close   func() error
}

func openDemoBoard(ctx context.Context, pages *web.Adapter) (*demoBoard, error) {
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", "127.0.0.1:0")
	if err != nil {
		return nil, fmt.Errorf("listening for a browser: %w", err)
	}
	ctx, stop := context.WithCancel(context.WithoutCancel(ctx))
	ended := make(chan error, 2)
	go func() { ended <- pages.Run(ctx) }()
	go func() { ended <- serveHTTP(ctx, l, pages) }()
	return &demoBoard{"http://" + l.Addr().String(), func() error {
		stop()
		return errors.Join(<-ended, <-ended)
	}}, nil
}
