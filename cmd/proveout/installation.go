package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/rs/zerolog"

	"proveout/bot"
)

// installation is the shops one process answers for, and what they share.
type installation struct {
	shops     []*shop
	agents    bot.Agents
	databases databases
	log       zerolog.Logger
	// A shop that has failed is started again after a pause, which doubles from the least
	// to the most while it fails at once.
	least, most time.Duration
}

// serve runs shops until the context ends.
func serve(ctx context.Context, shops []*shop, log zerolog.Logger) error {
	in, err := newInstallation(shops, log)
	if err != nil {
		return err
	}
	heard, err := in.listen(ctx)
	if err != nil {
		return err
	}
	return in.run(ctx, heard)
}

// newInstallation reads what the shops are opened with. What is wrong with any of them is
// told together.
func newInstallation(shops []*shop, log zerolog.Logger) (*installation, error) {
	in := &installation{shops: shops, log: log, least: time.Second, most: time.Minute}
	var errs []error
	for _, s := range shops {
		s.log = log.With().Str("shop", s.config.Shop).Logger()
		s.count()
		errs = append(errs, s.unlock())
		if err := in.agents.Make(s.base, s.config); err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", s.file, err))
		}
	}
	return in, errors.Join(append(errs, apart(shops, whatKept))...)
}

// run answers what is heard, and runs the shops, until the context ends or nobody can be
// heard any more.
func (in *installation) run(ctx context.Context, heard map[*listener]net.Listener) error {
	defer in.databases.close()
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ended := make(chan error, len(heard)+len(in.shops))
	var all sync.WaitGroup
	for at, l := range heard {
		all.Go(func() {
			ended <- serveHTTP(ctx, l, at.handler())
			stop()
		})
	}
	var shops sync.WaitGroup
	for _, s := range in.shops {
		shops.Go(func() { ended <- in.keep(ctx, s) })
	}
	all.Go(func() {
		shops.Wait()
		stop()
	})
	all.Wait()
	close(ended)
	var errs []error
	for err := range ended {
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

// listen listens at every address a shop names.
func (in *installation) listen(ctx context.Context) (heard map[*listener]net.Listener, err error) {
	process := prometheus.NewRegistry()
	process.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	at := map[string]*listener{}
	heard = map[*listener]net.Listener{}
	defer func() {
		if err != nil {
			for _, l := range heard {
				err = errors.Join(err, l.Close())
			}
		}
	}()
	for _, s := range in.shops {
		address := s.config.Listen
		if address == "" {
			continue
		}
		if at[address] == nil {
			l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", address)
			if err != nil {
				return heard, fmt.Errorf("listening on %s, the listen of %s: %w", address, s.file, err)
			}
			at[address] = &listener{process: process}
			heard[at[address]] = l
			in.log.Info().Str("address", l.Addr().String()).Msg("listening")
		}
		at[address].shops = append(at[address].shops, s)
	}
	return heard, nil
}

// keep runs a shop until the context ends. Where there are others, one that fails is
// started again; alone, its end is that of the process, whose keeper starts it again.
func (in *installation) keep(ctx context.Context, s *shop) error {
	for pause := in.least; ; {
		began := time.Now()
		err := s.run(ctx, in)
		switch {
		case ctx.Err() != nil && errors.Is(err, ctx.Err()): // interrupted at its start
			return nil
		case ctx.Err() != nil, len(in.shops) == 1:
			return err
		}
		if time.Since(began) > in.most {
			pause = in.least
		}
		s.log.Error().Err(err).Dur("pause_ms", pause).Msg("the shop has failed; it is started again after a pause")
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(pause):
			pause = min(2*pause, in.most)
		}
	}
}

// record opens a record to serve its shop; shops of one database share its connections.
func (in *installation) record(ctx context.Context, at string) (record, error) {
	if inDatabase(at) {
		return in.databases.shop(ctx, at, toServe)
	}
	return openRecord(ctx, at, toServe)
}
