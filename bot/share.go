package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
)

// unheard is how long a service waits for word of what others wrote before it looks by
// itself.
const unheard = time.Second

// earlyBy is how much sooner than the note of a delivery its receipt may be.
const earlyBy = time.Minute

// share keeps up with the other services of the shop until the context ends: what they
// write, and what is to be delivered.
func (s *Service) share(ctx context.Context) {
	tick := time.NewTicker(unheard)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.shared.Woken():
		case <-tick.C:
			s.lookForEarly(ctx)
		case <-s.out.more: // written here: the others hear of it by themselves
			s.out.take(ctx)
			continue // but not for ever: what others wrote has its turn
		}
		if err := s.follow(ctx); err != nil && ctx.Err() == nil {
			s.Log.Error().Err(err).Msg("reading what other services wrote")
		}
		s.out.take(ctx)
	}
}

// follow takes in what was written, by other services and, where the answer to that was
// lost, by this one.
func (s *Service) follow(ctx context.Context) error {
	s.following.Lock()
	defer s.following.Unlock()
	moved := map[string]*Job{}
	gaps := map[string]bool{}
	lasts := map[string]Mark{}
	news := func(m Mark) bool { return m.Seq > s.stands(m.Stream) }
	err := s.shared.Follow(ctx, news, func(e Event) error {
		if e.Person != "" {
			lasts[e.Person] = Mark{e.Stream, e.Seq}
		}
		if gaps[e.Stream] {
			return nil
		}
		if person, ok := strings.CutPrefix(e.Stream, "@"); ok {
			if gaps[e.Stream] = e.Seq > s.desks.of(person).seq+1; !gaps[e.Stream] {
				s.desks.fold(person, []Event{e})
			}
			return nil
		}
		j := moved[e.Stream]
		if j == nil {
			j = s.table.job(e.Stream)
		}
		switch {
		case j == nil && e.Seq > 1, j != nil && e.Seq > j.Seq+1:
			gaps[e.Stream] = true
		case j == nil || e.Seq == j.Seq+1:
			moved[e.Stream] = apply(j, &e)
		}
		return nil
	})
	var live []*Job
	for id, j := range moved {
		if !gaps[id] {
			s.saw(id)
			live = append(live, j)
		}
	}
	err = errors.Join(err, s.table.put(live...)) // at once: each time copies the way to every index
	for _, j := range live {
		s.changes.tell(j.ID)
	}
	for stream, gap := range gaps {
		if gap {
			err = errors.Join(err, s.reread(ctx, stream))
		}
	}
	if len(moved) > 0 {
		s.changes.tell("")
	}
	if err == nil { // only now: who says what somebody did last must know all he did
		for person, last := range lasts {
			s.desks.did(person, last)
		}
	}
	return err
}

// learn makes sure that what is in the record is known here: who repeats a message may
// have had no answer because this service had none from the record.
func (s *Service) learn(ctx context.Context) error {
	if s.shared == nil {
		return nil
	}
	return s.follow(ctx)
}

// reread takes a stream as the record has it.
func (s *Service) reread(ctx context.Context, stream string) error {
	person, desk := strings.CutPrefix(stream, "@")
	at, after, err := s.store.Read(ctx, stream, desk)
	if err != nil || at == nil && len(after) == 0 {
		return err
	}
	if desk {
		s.desks.fold(person, after)
		return nil
	}
	j, err := jobFrom(at, after)
	if err != nil {
		return fmt.Errorf("reading job %s: %w", stream, err)
	}
	s.saw(stream)
	if err := s.table.put(j); err != nil {
		return err
	}
	s.changes.tell(stream)
	s.changes.tell("")
	return nil
}

// catchUp reads again what another service may have written of what a person's message
// can be about.
func (s *Service) catchUp(ctx context.Context, person string) error {
	if s.shared == nil {
		return nil
	}
	last, streams, err := s.shared.Stands(ctx, person)
	if err != nil {
		return err
	}
	stand := map[string]int64{}
	for _, m := range streams {
		stand[m.Stream] = m.Seq
	}
	for _, j := range s.table.of(person) { // closed since, those the record does not name
		if _, open := stand[j.ID]; !open {
			stand[j.ID] = -1
		}
	}
	for stream, seq := range stand {
		if s.stands(stream) != seq {
			err = errors.Join(err, s.reread(ctx, stream))
		}
	}
	if err == nil {
		s.desks.did(person, last)
	}
	return err
}

// stands is where a stream stands as far as this service knows.
func (s *Service) stands(stream string) int64 {
	if person, ok := strings.CutPrefix(stream, "@"); ok {
		return s.desks.of(person).seq
	}
	if j := s.table.job(stream); j != nil {
		return j.Seq
	}
	closed, _ := s.table.closed.get(stream)
	return closed
}

// did notes what the speaker of an entry that is in the record did last.
func (s *Service) did(e *Entry) {
	if e.Speaker == "" {
		return
	}
	for one := e; one != nil; one = one.With {
		for i := range one.Events {
			if v := &one.Events[i]; v.Person == e.Speaker {
				s.desks.did(e.Speaker, Mark{one.Stream, v.Seq})
			}
		}
	}
}

// lookForEarly takes the receipts of messages that another service has noted as delivered
// since they came.
func (s *Service) lookForEarly(ctx context.Context) {
	for _, in := range s.early.since(s.Now().Add(-earlyBy)) {
		m, err := s.store.Sent(ctx, in.Channel, in.Of)
		if err == nil && m != nil {
			if _, ours := s.early.take(Key{in.Channel, in.Of}); ours {
				if err = s.received(ctx, m, in); err != nil {
					s.early.put(in, s.Now())
				}
			}
		}
		if err != nil && ctx.Err() == nil {
			s.Log.Error().Err(err).Msg("taking a receipt")
		}
	}
}
