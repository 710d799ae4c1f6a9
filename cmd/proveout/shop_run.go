package main

import (
	"context"
	"errors"
	"net/http"

	"proveout/adapters/slack"
	"proveout/adapters/sms"
	"proveout/adapters/web"
	"proveout/bot"
)

// run serves the shop until the context ends or a part of it fails.
func (s *shop) run(ctx context.Context, in *installation) (err error) {
	c := s.config
	store, err := in.record(ctx, c.Record)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	closings, err := store.Closings(ctx)
	if err != nil {
		return err
	}
	base, _ := bot.Learn(s.base, c.Learning, closings)
	agents := &in.agents
	if base != s.base { // what this shop has learned no other knows
		agents = nil
	}
	counts := s.count()
	service, err := bot.New(store, base, c, bot.Options{
		Log: s.log, Metrics: bot.NewMetrics(counts), Agents: agents, Checked: checkedIn(s.over), Changed: changedIn(s.over),
	})
	if err != nil {
		return err
	}
	mux := http.NewServeMux()
	var hear []part
	if _, ok := c.Channels[slack.Channel]; ok {
		o := s.keys.slack
		o.Board, o.Log = service, s.log
		adapter, err := slack.New(service, o)
		if err != nil {
			return err
		}
		if err := service.Register(slack.Channel, adapter); err != nil {
			return err
		}
		mux.Handle("POST /slack", adapter)
		hear = append(hear, part{"slack", adapter.Run})
	}
	if _, ok := c.Channels[web.Channel]; ok {
		pages, err := openWeb(s.keys.pages, service, store, c, s.log)
		if err != nil {
			return err
		}
		mux.Handle("/", pages)
		hear = append(hear, part{"web", pages.Run})
	}
	if _, ok := c.Channels[bot.Texts]; ok {
		o := s.keys.texts
		o.Log, o.Metrics = s.log, sms.NewMetrics(counts)
		adapter, err := sms.New(service, o)
		if err != nil {
			return err
		}
		if err := service.Register(bot.Texts, adapter); err != nil {
			return err
		}
		for _, path := range adapter.Paths() {
			mux.Handle(path, adapter)
		}
		hear = append(hear, part{"sms", adapter.Run})
	}
	if err := service.Restore(ctx); err != nil {
		return err
	}
	hear = append(hear, part{"http", s.door.open(mux)})
	s.serves.Store(service)
	s.log.Info().Str("knowledge", service.Version()).Msg("serving")
	return inOrder(ctx, s.log, hear, part{"service", service.Run})
}
