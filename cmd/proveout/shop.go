package main

import (
	"path/filepath"
	"slices"

	"proveout/adapters/slack"
	"proveout/adapters/web"
	"proveout/bot"
	"proveout/knowledge"
)

// shop is one shop's configuration with what is known there.
type shop struct {
	file   string // of the configuration
	config bot.Config
	base   *knowledge.Base
	over   []string // the folders laid over the built-in knowledge for it
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
	if c.Record == "" {
		c.Record = "proveout.db"
	}
	if c.Record = beside(c.Record); inDatabase(c.Record) {
		if _, _, err := shopIn(c.Record); err != nil {
			return nil, err
		}
	}
	for _, ch := range c.Channels {
		for name, s := range ch.Secrets {
			s.File = beside(s.File)
			ch.Secrets[name] = s
		}
	}
	if texts := c.Channels[bot.Texts].Settings; texts != nil {
		texts[gatewaySetting], texts[partsSetting] = beside(texts[gatewaySetting]), beside(texts[partsSetting])
	}
	return s, checkTexts(path, *c)
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
