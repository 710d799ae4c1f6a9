package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"proveout/bot"
	"proveout/dialog"
	"proveout/knowledge"
)

// recordFlags name the record a command works on.
type recordFlags struct{ config, record string }

func (f *recordFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.config, "config", "", "the shop's configuration, a YAML `FILE`")
	cmd.Flags().StringVar(&f.record, "record", "", "the record itself, a `FILE` or the address of a database, without a configuration")
	cmd.MarkFlagsOneRequired("config", "record")
	cmd.MarkFlagsMutuallyExclusive("config", "record")
}

// opened is a record with what is needed to read it.
type opened struct {
	record
	base   *knowledge.Base
	config bot.Config
}

// open opens the record beside a service that may be writing to it, or, to change it,
// alone.
func (f *recordFlags) open(ctx context.Context, opts *options, change bool) (*opened, error) {
	s, err := f.shop(opts)
	if err != nil {
		return nil, err
	}
	why := toLook
	if change {
		why = toChange
	}
	store, err := openRecord(ctx, s.config.Record, why)
	if err != nil {
		return nil, err
	}
	return &opened{store, s.base, s.config}, nil
}

// shop is the one configured, or of a record without a configuration one that knows what
// everybody does.
func (f *recordFlags) shop(opts *options) (*shop, error) {
	l := newLibrary(opts.knowledge)
	if f.config != "" {
		return readShop(f.config, l)
	}
	base, over, err := l.with("")
	return &shop{config: bot.Config{Record: f.record}, base: base, over: over}, err
}

// job reads all events of a job.
func (o *opened) job(ctx context.Context, id string) ([]bot.Event, error) {
	_, events, err := o.Read(ctx, id, true)
	if err == nil && len(events) == 0 {
		return nil, &bot.Error{Code: bot.CodeNotFound, Text: "there is no job " + id + " in " + o.config.Record}
	}
	return events, err
}

// agent is the one that answers in the shop, with the version of what it knows.
func (o *opened) agent(ctx context.Context) (*dialog.Agent, string, error) {
	closings, err := o.Closings(ctx)
	if err != nil {
		return nil, "", err
	}
	base, _ := bot.Learn(o.base, o.config.Learning, closings)
	s, err := bot.New(o.record, base, o.config, bot.Options{})
	if err != nil {
		return nil, "", err
	}
	return s.Agent(), s.Version(), nil
}

// with does something with an open record and closes it.
func (f *recordFlags) with(ctx context.Context, opts *options, change bool, do func(*opened) error) (err error) {
	o, err := f.open(ctx, opts, change)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, o.Close()) }()
	return do(o)
}
