package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os/signal"
	"slices"
	"syscall"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"proveout/adapters/slack"
	"proveout/adapters/web"
	"proveout/bot"
)

// serveHelp is how a shop is set up.
const serveHelp = `Serve answers a shop's technicians in the channels its configuration names, keeps
every message and reply in the record, shows calls to a senior who must confirm them,
and tells the dispatcher of jobs that are stuck. It stops at an interrupt, after it
has finished what it took.

The configuration is YAML; 'proveout check --config FILE' checks it:

  shop: Larkmoor Heating & Air
  record: larkmoor.db            # beside the configuration; or, for several machines,
                                 # postgres://proveout@host/database#larkmoor
  listen: 127.0.0.1:9464         # /metrics, /healthz, /readyz
  time-zone: America/Chicago
  language: en                   # of the shop's room and papers; es is the other
  knowledge: our-knowledge       # a folder beside this file, laid over --knowledge
  people:
    ana: {name: Ana Reyes, role: technician, language: es, identities: {slack: U0ANA}}
    sam: {name: Sam Okoro, role: senior, identities: {slack: U0SAM}}
    dee: {name: Dee Marsh, role: dispatcher, identities: {slack: U0DEE}}
  channels:
    slack:
      conversation: C0SERVICE    # the shop's room
      secrets:                   # in the environment or in files, never here
        bot-token: {env: PROVEOUT_SLACK_BOT_TOKEN}
        app-token: {file: slack-app-token}
    sms:                         # see deploy/sms/README.md
      settings: {gateway: sms/generic.yaml, number: "+1 303 555 0100", region: US, bridge: slack}
      limits: {sender: 60}       # texts a minute; strangers and all together too
      secrets: {webhook: {env: PROVEOUT_SMS_WEBHOOK}, token: {file: sms-token}}
    web:                         # the board and the other pages, at listen
      settings: {public: "https://desk.larkmoor.example"}  # TLS before it; oidc-issuer, oidc-client
  policy:
    confirm: {faults: [run-capacitor/compressor-weak]}
    alarms: {no-reading: 20, no-progress: 4, proposal-waiting: 10, slot: 120}
    quiet-hours: {from: "21:00", to: "06:00"} # alarms and notices wait, hazards do not
  retention: {days: 730}         # after a job is closed
  learning: {on: false}          # the shop's own causes move the priors

A job that began by text has its thread in the room of the channel 'bridge' names, else
of the only one that has a room: what the technician texts stands there under his name,
and what a senior or the dispatcher writes there reaches the phone.

In a database (PostgreSQL) one service answers for a shop and others started with the
same configuration stand by: when it dies, one of them takes over. The password is
given in the environment as PGPASSWORD or in the file PGPASSFILE names. The part of the
address behind # names the shop; a database holds many.

With --demo nothing is configured: an invented shop with three jobs in different
states, the terminal as a technician's phone, and the pages in a browser of this
machine at the address it prints, to look around as anybody.

`

func newServe(std streams, opts *options) *cobra.Command {
	var config, record, language string
	var inDemo bool
	cmd := &cobra.Command{
		Use:   "serve (--config FILE | --demo)",
		Short: "Answer a shop's technicians, and keep the record",
		Long:  serveHelp + exitHelp,
		Example: `  proveout serve --demo
  proveout serve --config larkmoor.yaml`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx, stop := signal.NotifyContext(cmd.Context(), syscall.SIGINT, syscall.SIGTERM)
			defer stop()
			if inDemo {
				base, err := loadKnowledge(opts.knowledge...)
				if err != nil {
					return err
				}
				if language, err = spoken(base, language); err != nil {
					return err
				}
				return demo(ctx, base, record, language, std)
			}
			s, err := readShop(config, newLibrary(opts.knowledge))
			if err != nil {
				return err
			}
			return serve(ctx, s, zerolog.New(std.err).With().Timestamp().Logger())
		},
	}
	cmd.Flags().StringVar(&config, "config", "", "the shop's configuration, a YAML `FILE`")
	cmd.Flags().BoolVar(&inDemo, "demo", false, "an invented shop at the terminal and in a browser, nothing configured")
	cmd.Flags().StringVar(&record, "record", "", "keep the demo's record in `FILE`, to export or replay")
	cmd.Flags().StringVar(&language, "language", "", "the `TAG` of the demo's language (en)")
	cmd.MarkFlagsOneRequired("config", "demo")
	cmd.MarkFlagsMutuallyExclusive("config", "language")
	cmd.MarkFlagsMutuallyExclusive("config", "record")
	cmd.MarkFlagsMutuallyExclusive("config", "demo")
	return cmd
}

// part is a piece of the service that runs until its context ends.
type part struct {
	name string
	run  func(context.Context) error
}

// serve runs a shop until the context ends.
func serve(ctx context.Context, s *shop, log zerolog.Logger) (err error) {
	c := s.config
	store, err := openRecord(ctx, c.Record, toServe)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	closings, err := store.Closings(ctx)
	if err != nil {
		return err
	}
	base, _ := bot.Learn(s.base, c.Learning, closings)
	registry := prometheus.NewRegistry()
	registry.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	service, err := bot.New(store, base, c, bot.Options{
		Log: log, Metrics: bot.NewMetrics(registry), Checked: checkedIn(s.over), Changed: changedIn(s.over),
	})
	if err != nil {
		return err
	}
	mux := http.NewServeMux()
	observed(mux, service, registry)
	var hear []part
	if h, ok := store.(interface{ Hold(context.Context) error }); ok {
		hear = append(hear, part{"record", h.Hold})
	}
	if ch, ok := c.Channels[slack.Channel]; ok {
		adapter, err := openSlack(ch, service, log)
		if err != nil {
			return err
		}
		if err := service.Register(slack.Channel, adapter); err != nil {
			return err
		}
		mux.Handle("POST /slack", adapter)
		hear = append(hear, part{"slack", adapter.Run})
	}
	if ch, ok := c.Channels[web.Channel]; ok {
		pages, err := openWeb(ch, service, store, c, log)
		if err != nil {
			return err
		}
		if c.Listen == "" {
			return errors.New("channels/web: the pages are asked for at the configuration's listen; name it")
		}
		mux.Handle("/", pages)
		hear = append(hear, part{"web", pages.Run})
	}
	if _, ok := c.Channels[bot.Texts]; ok {
		adapter, err := openTexts(c, service, registry, log)
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
	if c.Listen != "" {
		l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", c.Listen)
		if err != nil {
			return fmt.Errorf("listening on %s, the configuration's listen: %w", c.Listen, err)
		}
		log.Info().Str("address", l.Addr().String()).Msg("listening")
		hear = append(hear, part{"http", func(ctx context.Context) error { return serveHTTP(ctx, l, mux) }})
	}
	if err := service.Restore(ctx); err != nil {
		return err
	}
	log.Info().Str("knowledge", service.Version()).Msg("serving")
	return inOrder(ctx, log, hear, part{"service", service.Run})
}

// inOrder runs those that hear until the context ends or one fails, then, when the
// last has finished what it took, stops the desk that answers them.
func inOrder(ctx context.Context, log zerolog.Logger, hear []part, desk part) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	deskCtx, stopDesk := context.WithCancel(context.WithoutCancel(ctx))
	defer stopDesk()
	answered := make(chan error, 1)
	go func() {
		answered <- desk.run(deskCtx)
		cancel()
	}()
	heard := make(chan error, len(hear))
	for _, p := range hear {
		go func() {
			err := p.run(ctx)
			if err != nil {
				log.Error().Err(err).Str("part", p.name).Msg("stopped")
			}
			heard <- err
			cancel()
		}()
	}
	<-ctx.Done()
	log.Info().Msg("stopping")
	var errs []error
	for range hear {
		errs = append(errs, <-heard)
	}
	stopDesk()
	errs = append(errs, <-answered)
	return errors.Join(errs...)
}

// observed mounts what a machine asks of the service.
func observed(mux *http.ServeMux, service *bot.Service, registry *prometheus.Registry) {
	mux.Handle("GET /metrics", metricsOf(registry))
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	mux.HandleFunc("GET /readyz", func(w http.ResponseWriter, _ *http.Request) {
		if err := service.Ready(); err != nil {
			http.Error(w, err.Error(), http.StatusServiceUnavailable)
			return
		}
		fmt.Fprintln(w, "ready")
	})
}

// serveHTTP answers until the context ends, then finishes what it took.
func serveHTTP(ctx context.Context, l net.Listener, h http.Handler) error {
	const patience = 5 * time.Second
	s := &http.Server{Handler: h, ReadHeaderTimeout: patience, ReadTimeout: 2 * patience, IdleTimeout: time.Minute}
	ended := make(chan error, 1)
	go func() {
		<-ctx.Done()
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
		defer cancel()
		ended <- s.Shutdown(last)
	}()
	if err := s.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return <-ended
}

// openSlack reads the secrets of a workspace and makes its adapter.
func openSlack(c bot.Channel, service *bot.Service, log zerolog.Logger) (*slack.Adapter, error) {
	known := []string{"bot-token", "app-token", "signing-secret"}
	read := map[string]string{}
	for name := range c.Secrets {
		if !slices.Contains(known, name) {
			return nil, fmt.Errorf("channels/slack/secrets: there is no secret %q; the secrets are bot-token, app-token and signing-secret", name)
		}
	}
	for _, name := range known { // in order, so that the same one is named every time
		where, given := c.Secrets[name]
		if !given {
			continue
		}
		v, err := where.Read()
		if err != nil {
			return nil, fmt.Errorf("channels/slack/secrets/%s: %w", name, err)
		}
		read[name] = v
	}
	return slack.New(service, slack.Options{
		BotToken: read["bot-token"], AppToken: read["app-token"], SigningSecret: read["signing-secret"],
		API: c.Settings["api"], Board: service, Log: log,
	})
}
