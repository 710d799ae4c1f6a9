package bot

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"os"
	"strings"
	"time"
)

// Config is a shop's configuration.
type Config struct {
	// Shop is the name people read.
	Shop string `yaml:"shop"`
	// Language is the tag of the one the shop's rooms and papers are in; empty is en.
	Language string `yaml:"language"`
	// Record is the path of the record, or the address of a database with the shop in
	// it; what opens it decides what it is.
	Record string `yaml:"record"`
	// Knowledge is the folder of the shop's own knowledge, laid over what is loaded
	// besides; empty for none.
	Knowledge string `yaml:"knowledge"`
	// Listen is the address of metrics and health, of the pages, and where gateways and
	// workspaces send what they have for the shop; empty for none.
	Listen string `yaml:"listen"`
	// Host is the name the shop is asked for by where several have the same Listen; with
	// pages it is that of their public address.
	Host string `yaml:"host"`
	// TimeZone is the name of the shop's time zone; empty is UTC.
	TimeZone string `yaml:"time-zone"`
	// Equipment is the kind of machine jobs are about; empty is split-cooling.
	Equipment string             `yaml:"equipment"`
	People    map[string]*Person `yaml:"people"`
	Channels  map[string]Channel `yaml:"channels"`
	Policy    Policy             `yaml:"policy"`
	Retention Retention          `yaml:"retention"`
	Learning  Learning           `yaml:"learning"`
}

// Channel is how one channel is reached. Which settings and secrets there are is the
// adapter's business.
type Channel struct {
	// Conversation is the shop's room, where alarms go that belong to no thread.
	Conversation string            `yaml:"conversation"`
	Settings     map[string]string `yaml:"settings"`
	Limits       Limits            `yaml:"limits"`
	Secrets      map[string]Secret `yaml:"secrets"`
}

// Secret says where a secret is kept: an environment variable or a file. The secret
// itself never stands in the configuration.
type Secret struct {
	Env  string `yaml:"env"`
	File string `yaml:"file"`
}

// Read gives the secret. No error holds any of it.
func (s Secret) Read() (string, error) {
	if s.Env != "" {
		v := os.Getenv(s.Env)
		if v == "" {
			return "", fmt.Errorf("reading a secret: the environment variable %s is empty; set it before the start", s.Env)
		}
		return v, nil
	}
	if s.File == "" {
		return "", errors.New("reading a secret: neither env nor file is given; name where it is kept")
	}
	b, err := os.ReadFile(s.File)
	if err != nil {
		return "", fmt.Errorf("reading a secret: %w", err)
	}
	v := strings.TrimSpace(string(b))
	if v == "" {
		return "", fmt.Errorf("reading a secret: the file %s is empty", s.File)
	}
	return v, nil
}

// Policy is who must confirm what, and when the shop is told.
type Policy struct {
	Confirm Confirm `yaml:"confirm"`
	Alarms  Alarms  `yaml:"alarms"`
	// QuietHours are when notices wait.
	QuietHours QuietHours `yaml:"quiet-hours"`
}

// Confirm tightens what knowledge says of which calls need a senior.
type Confirm struct {
	// All: every call needs one.
	All bool `yaml:"all"`
	// Faults need one besides those knowledge names.
	Faults []string `yaml:"faults"`
	// OwnCalls lets a senior confirm the call of a job he is the technician of.
	OwnCalls bool `yaml:"own-calls"`
}

// Alarms are the bounds of patience. Zero is the default, negative is never.
type Alarms struct {
	// NoReading is the minutes without a message on a job being measured (20).
	NoReading int `yaml:"no-reading"`
	// NoProgress is the readings in a row that told nothing (4).
	NoProgress int `yaml:"no-progress"`
	// ProposalWaiting is the minutes a call waits for a senior (10).
	ProposalWaiting int `yaml:"proposal-waiting"`
	// Slot is the minutes a job may take (120).
	Slot int `yaml:"slot"`
	// Snooze is the minutes an alarm keeps silent when told to (30).
	Snooze int `yaml:"snooze"`
	// OnCall is the senior who is told; empty is every senior.
	OnCall string `yaml:"on-call"`
}

// Retention is how long closed jobs are kept.
type Retention struct {
	// Days after closing; zero keeps them.
	Days int `yaml:"days"`
}

// Learning is what the shop's own closed jobs do to the priors.
type Learning struct {
	On bool `yaml:"on"`
	// Weight is how many closed jobs the published priors count for (200).
	Weight float64 `yaml:"weight"`
	// Cap is the largest factor a prior moves by, either way (4).
	Cap float64 `yaml:"cap"`
	// Since leaves out what was closed before a day, as 2026-07-01; the day it is set
	// to is a new beginning.
	Since string `yaml:"since"`
}

// Location is the shop's time zone.
func (c *Config) Location() (*time.Location, error) {
	l, err := time.LoadLocation(c.TimeZone)
	if err != nil {
		return nil, fmt.Errorf("reading the time zone: %w", err)
	}
	return l, nil
}

// withDefaults fills in what was left out.
func (c Config) withDefaults() Config {
	c.Equipment = cmp.Or(c.Equipment, "split-cooling")
	c.Language = cmp.Or(c.Language, "en")
	for _, d := range []struct {
		at   *int
		than int
	}{
		{&c.Policy.Alarms.NoReading, 20},
		{&c.Policy.Alarms.NoProgress, 4},
		{&c.Policy.Alarms.ProposalWaiting, 10},
		{&c.Policy.Alarms.Slot, 120},
		{&c.Policy.Alarms.Snooze, 30},
	} {
		if *d.at == 0 {
			*d.at = d.than
		}
	}
	c.Channels = maps.Clone(c.Channels)
	for name, ch := range c.Channels {
		ch.Limits = ch.Limits.withDefaults(name)
		c.Channels[name] = ch
	}
	if c.Learning.Weight == 0 {
		c.Learning.Weight = 200
	}
	if c.Learning.Cap == 0 {
		c.Learning.Cap = 4
	}
	return c
}
