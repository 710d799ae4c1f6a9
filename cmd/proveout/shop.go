package main

import (
	"cmp"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/rs/zerolog"

	"proveout/adapters/slack"
	"proveout/adapters/sms"
	"proveout/adapters/web"
	"proveout/bot"
	"proveout/knowledge"
)

// shop is one shop: its configuration, what is known there, and, while it is served,
// where it is asked for and what is counted of it.
type shop struct {
	file   string // of the configuration
	config bot.Config
	base   *knowledge.Base
	over   []string // the folders laid over the built-in knowledge for it

	keys   keys
	log    zerolog.Logger
	door   door
	serves atomic.Pointer[bot.Service] // nil before its record is open
	counts atomic.Pointer[prometheus.Registry]
}

// keys are what its channels are opened with, the secrets read.
type keys struct {
	slack slack.Options
	pages web.Options
	texts sms.Options
}

// channels are those there are adapters for that a configuration may name.
func channels() []string { return []string{slack.Channel, bot.Texts, web.Channel} }

// readShop reads a configuration; paths in it are beside it.
func readShop(path string, l *library) (*shop, error) {
	s := &shop{file: path}
	beside := func(p string) string {
		if p == "" || filepath.IsAbs(p) || inDatabase(p) {
			return p
		}
		return filepath.Join(filepath.Dir(path), p)
	}
	know := func(own string) (base *knowledge.Base, err error) {
		s.base, s.over, err = l.with(beside(own))
		return s.base, err
	}
	var err error
	s.config, err = bot.ReadConfig(path, know, channels())
	if err != nil {
		return nil, err
	}
	c := &s.config
	c.Record = beside(cmp.Or(c.Record, "proveout.db"))
	for _, ch := range c.Channels {
		for name, s := range ch.Secrets {
			s.File = beside(s.File)
			ch.Secrets[name] = s
		}
	}
	if texts := c.Channels[bot.Texts].Settings; texts != nil {
		texts[gatewaySetting], texts[partsSetting] = beside(texts[gatewaySetting]), beside(texts[partsSetting])
	}
	return s, s.check()
}

// host is the name the shop is asked for by, empty when it has none.
func (s *shop) host() string {
	name := s.config.Host
	if u, err := url.Parse(s.config.Channels[web.Channel].Settings[publicSetting]); err == nil && u.Host != "" {
		name = u.Hostname()
	}
	return strings.ToLower(name)
}

// ready says whether the shop can take messages, and if not, why.
func (s *shop) ready() error {
	service := s.serves.Load()
	if service == nil {
		return &bot.Error{Code: bot.CodeClosed, Text: "the record is not open yet"}
	}
	return service.Ready()
}

// count begins to count anew, under the shop's name.
func (s *shop) count() prometheus.Registerer {
	registry := prometheus.NewRegistry()
	s.counts.Store(registry)
	named := prometheus.WrapRegistererWith(prometheus.Labels{"shop": s.config.Shop}, registry)
	named.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{
		Namespace: "proveout", Name: "shop_ready", Help: "Whether the shop takes messages: 1, or 0 while its record is opened or it is started again.",
	}, func() float64 {
		if s.ready() != nil {
			return 0
		}
		return 1
	}))
	return named
}

// library has the knowledge shops lay theirs over, and what they know then: loaded once
// for all that know the same.
type library struct {
	over  []string // the folders laid over the built-in knowledge for everybody
	known map[string]*knowledge.Base
}

func newLibrary(over []string) *library {
	return &library{over: over, known: map[string]*knowledge.Base{}}
}

// with gives what is known with a shop's own folder laid over the others, or with none,
// and all the folders that were laid over.
func (l *library) with(own string) (*knowledge.Base, []string, error) {
	over := l.over
	if own != "" {
		over = slices.Concat(over, []string{filepath.Clean(own)})
	}
	base, ok := l.known[own]
	if ok {
		return base, over, nil
	}
	base, err := loadKnowledge(over...)
	if err == nil {
		l.known[own] = base
	}
	return base, over, err
}
