package main

import (
	"context"
	"io"

	"github.com/rs/zerolog"

	"proveout/adapters/web"
	"proveout/bot"
	"proveout/bot/report"
	"proveout/bot/signin"
)

// webStore is the record as the pages' sign-in and reports need it.
type webStore interface {
	bot.Store
	signin.Store
}

// openWeb makes the pages of a shop, which o says how to reach.
func openWeb(o web.Options, service *bot.Service, store webStore, c bot.Config, log zerolog.Logger) (*web.Adapter, error) {
	o.Log, o.Desk, o.Report = log, signin.New(store, service, signin.Options{Log: log}), reports(service, store, c)
	var err error
	if o.Zone, err = c.Location(); err != nil {
		return nil, err
	}
	return web.New(service, o)
}

// reports writes a job out as the pages show it for printing.
func reports(service *bot.Service, store bot.Store, c bot.Config) func(ctx context.Context, job, language string, w io.Writer) error {
	return func(ctx context.Context, job, language string, w io.Writer) error {
		zone, err := c.Location()
		if err != nil {
			return err
		}
		_, events, err := store.Read(ctx, job, true)
		if err != nil {
			return err
		}
		told, err := bot.Retold(service.Agent(), language, events)
		if err != nil && bot.CodeOf(err) != bot.CodeForgotten { // what is left stands as it was said
			return err
		}
		return report.New(service.Agent().Words(language), c, zone, events, told).Write(w, "html")
	}
}
