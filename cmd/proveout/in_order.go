package main

import (
	"context"
	"errors"

	"github.com/rs/zerolog"
)

// part is a piece of the service that runs until its context ends.
type part struct {
	name string
	run  func(context.Context) error
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
