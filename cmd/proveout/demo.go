package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
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
func demoConfig() bot.Config {
	person := func(name string, role bot.Role, identity, id string) *bot.Person {
		return &bot.Person{Name: name, Role: role, Identities: map[string]string{terminal.Channel: identity, web.Channel: id}}
	}
	return bot.Config{
		Shop: demoShop,
		People: map[string]*bot.Person{
			"ana": person("Ana Reyes", bot.TechnicianRole, bot.Tech, "ana"),
			"ben": person("Ben Holt", bot.TechnicianRole, "ben", "ben"),
			"cal": person("Cal Dorsey", bot.TechnicianRole, "cal", "cal"),
			"sam": person("Sam Okoro", bot.SeniorRole, bot.Senior, "sam"),
			"dee": person("Dee Marsh", bot.DispatcherRole, bot.Dispatcher, "dee"),
		},
		Channels: map[string]bot.Channel{terminal.Channel: {}, web.Channel: {}},
	}
}

// demoSaid is what was said in the shop before the terminal opens: a job at its
// beginning, a call that waits for the senior, a repair being proven.
func demoSaid() []struct{ who, text string } {
	return []struct{ who, text string }{
		{"ben", "no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running"},
		{"cal", "outdoor unit dead on Dorset Row, blower runs, contactor not pulled in"},
		{"ben", "236 at the bottom of the contactor"},
		{"cal", "27 at the yellow outside"},
		{"ben", "0 amps on common"},
		{"cal", "0 at the coil, 27 after the lp switch"},
		{"ben", "c to s OL"},
		{"ben", "c to r OL"},
		{bot.Senior, "J-1002 override, it is an open wire at the contactor coil"},
		{"ben", "r to s 3.3"},
		{"ben", "cap is a 45/5, herm reads 44.6"},
		{"cal", "fixed the wire, done"},
		{"ben", "shell is cold"},
		{bot.Tech, "no cool at 8 Alder Court. outdoor unit dead, indoor blower on"},
	}
}

// demoHelp is what the terminal opens with.
const demoHelp = `You are Ana, a technician, at 8 Alder Court; this is your phone. A line that begins
with "senior:" is Sam's and one with "dispatcher:" is Dee's; try
  contactor isnt pulled in
  dispatcher: status
  senior: J-1001 confirm
and "exit" to leave.

`

// demo opens the shop for one person at a terminal. The record lives as long as it,
// unless a new file is named for it.
func demo(ctx context.Context, base *knowledge.Base, record string, std streams) (err error) {
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
	said := demoSaid()
	const pause = 3 * time.Minute
	var behind atomic.Int64 // what was said before lies in the past
	behind.Store(int64(len(said)) * int64(pause))
	config := demoConfig()
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
	phone := terminal.NewPhone(std.out, names)
	phone.Quiet(true)
	if err := errors.Join(service.Register(terminal.Channel, phone), service.Register(web.Channel, pages), service.Restore(ctx)); err != nil {
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
			if err := phone.Say(ctx, service, s.who, s.text, time.Now().Add(-time.Duration(behind.Load()))); err != nil {
				return err
			}
			behind.Add(-int64(pause))
		}
		if err := phone.Print(demoShop + ".\nThe board, and every other page, is at " + board.address + "\n" + demoHelp); err != nil {
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
