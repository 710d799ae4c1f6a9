package main

import (
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"proveout/bot"
)

// serveHelp is how a shop is set up.
const serveHelp = `Serve answers a shop's technicians in the channels its configuration names, keeps
every message and reply in the record, shows calls to a senior who must confirm them,
and tells the dispatcher of jobs that are stuck. It stops at an interrupt, after it
has finished what it took.

With several configurations one process answers for many shops, each by itself: people,
jobs, channels, policy, what it knows, what it has learned and how long it keeps what.
Shops may have the same listen; each is then asked for by its own name, that of its
pages' public address, or, without pages, the one written as host: texts.larkmoor.example.
A shop that fails is started again and the others do not notice.

The configuration is YAML; 'proveout check --config FILE' checks it:

  shop: Larkmoor Heating & Air
  record: larkmoor.db            # beside the configuration; or, for several machines,
                                 # postgres://proveout@host/database#larkmoor
  listen: 127.0.0.1:9464         # /metrics, /healthz, /readyz, pages and webhooks
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

In a database (PostgreSQL) any number of services started with the same configuration
answer for a shop together: a message may come to any of them, each alarm is given by one,
and what one leaves that dies the others take over within seconds. All go by the
database's clock. The password is given in the environment as PGPASSWORD or in the file
PGPASSFILE names. The part of the address behind # names the shop; a database holds many. Each service
has a connection for each shop, and sixteen for all of one database.

With --demo nothing is configured: an invented shop with three jobs in different
states, the terminal as a technician's phone, and the pages in a browser of this
machine at the address it prints, to look around as anybody.

`

func newServe(std streams, opts *options) *cobra.Command {
	var configs []string
	var record, language string
	var inDemo bool
	cmd := &cobra.Command{
		Use:   "serve (--config FILE... | --demo)",
		Short: "Answer a shop's technicians, and keep the record",
		Long:  serveHelp + exitHelp,
		Example: `  proveout serve --demo
  proveout serve --config larkmoor.yaml
  proveout serve --config shops/   # every .yaml in it a shop's`,
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
			shops, err := readShops(configs, newLibrary(opts.knowledge))
			if err != nil {
				return err
			}
			if os.Getenv("GOGC") == "" {
				debug.SetGCPercent(bot.GarbagePercent)
			}
			return serve(ctx, shops, zerolog.New(std.err).With().Timestamp().Logger())
		},
	}
	cmd.Flags().StringArrayVar(&configs, "config", nil, "a shop's configuration, a YAML `FILE`, or a folder of them; may be given more than once")
	cmd.Flags().BoolVar(&inDemo, "demo", false, "an invented shop at the terminal and in a browser, nothing configured")
	cmd.Flags().StringVar(&record, "record", "", "keep the demo's record in `FILE`, to export or replay")
	cmd.Flags().StringVar(&language, "language", "", "the `TAG` of the demo's language (en)")
	cmd.MarkFlagsOneRequired("config", "demo")
	cmd.MarkFlagsMutuallyExclusive("config", "language")
	cmd.MarkFlagsMutuallyExclusive("config", "record")
	cmd.MarkFlagsMutuallyExclusive("config", "demo")
	return cmd
}
