package main

import (
	"context"
	"fmt"
	"io"
	"slices"

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

// openWeb makes the pages of a shop.
func openWeb(ch bot.Channel, service *bot.Service, store webStore, c bot.Config, log zerolog.Logger) (*web.Adapter, error) {
	for name := range ch.Settings {
		if known := []string{"public", "oidc-issuer", "oidc-client"}; !slices.Contains(known, name) {
			return nil, fmt.Errorf("channels/web/settings: there is no setting %q; the settings are public, oidc-issuer and oidc-client", name)
		}
	}
	o := web.Options{
		Public: ch.Settings["public"], Log: log, Desk: signin.New(store, service, signin.Options{Log: log}), Report: reports(service, store, c),
		Company: web.Company{Issuer: ch.Settings["oidc-issuer"], Client: ch.Settings["oidc-client"]},
	}
	for name, secret := range ch.Secrets {
		if name != "oidc-secret" {
			return nil, fmt.Errorf("channels/web/secrets: there is no secret %q; the secret is oidc-secret", name)
		}
		var err error
		if o.Company.Secret, err = secret.Read(); err != nil {
			return nil, fmt.Errorf("channels/web/secrets/%s: %w", name, err)
		}
	}
	var err error
	if o.Zone, err = c.Location(); err != nil {
		return nil, err
	}
	pages, err := web.New(service, o)
	if err != nil {
		return nil, fmt.Errorf("channels/web: %w", err)
	}
	return pages, nil
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
