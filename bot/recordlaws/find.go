package recordlaws

import (
	"context"
	"errors"
	"fmt"
	"time"

	"proveout/bot"
)

// worded is an entry that a job can be found by.
func worded(stream string, after int64, at time.Time, words string) *bot.Entry {
	e := entry(stream, after, fmt.Sprint(stream, "-", after), "said")
	e.At, e.Words = at, words
	return e
}

func finds(ctx context.Context, s bot.Store) error {
	shut := worded("J-1002", 0, noon().Add(time.Hour), "Ben Holt no cooling at 12 Fenwick")
	shut.Closed = true
	if err := errors.Join(
		s.Append(ctx, worded("J-1001", 0, noon(), "Ana Reyes outdoor unit dead at 8 Alder Court")), s.Append(ctx, shut),
		s.Append(ctx, worded("J-1001", 1, noon().Add(2*time.Hour), "weak run capacitor, válvula")),
		s.Append(ctx, worded("J-1003", 0, noon().Add(3*time.Hour), "")),
	); err != nil {
		return err
	}
	var errs []error
	for _, c := range []struct {
		terms []string
		want  []string
	}{
		{[]string{"fenwick"}, []string{"J-1002"}},
		{[]string{"FENW"}, []string{"J-1002"}},
		{[]string{"a"}, []string{"J-1002", "J-1001"}},
		{[]string{"ana", "capacitor"}, []string{"J-1001"}},
		{[]string{"valvula"}, []string{"J-1001"}},
		{[]string{"fenwick", "capacitor"}, nil},
		{[]string{"enwick"}, nil},
		{nil, nil},
	} {
		got, err := s.Find(ctx, c.terms, 10)
		errs = append(errs, err, same(fmt.Sprintf("what is found by %q", c.terms), got, c.want))
	}
	got, err := s.Find(ctx, []string{"a"}, 1)
	return errors.Join(append(errs, err, same("the newest", got, []string{"J-1002"}))...)
}

func findsData(ctx context.Context, s bot.Store) error {
	if err := s.Append(ctx, worded("J-1001", 0, noon(), "outdoor unit dead")); err != nil {
		return err
	}
	for _, term := range []string{`unit" OR "x`, `dead OR x`, `NEAR(unit dead)`, `words:unit`, `"`, `""`, `*`, `unit*"`, `-x`, `^outdoor`, `'; DROP TABLE events; --`, "\x00", "%", "{unit dead}"} {
		if _, err := s.Find(ctx, []string{term}, 10); err != nil {
			return fmt.Errorf("looking for %q: %w", term, err)
		}
	}
	for _, term := range []string{`x" OR "dead`, `x OR dead`, `x% OR 1=1`} {
		got, err := s.Find(ctx, []string{term}, 10)
		if err := errors.Join(err, same(fmt.Sprintf("what is found by %q", term), len(got), 0)); err != nil {
			return err
		}
	}
	got, err := s.Find(ctx, []string{"dead"}, 10)
	return errors.Join(err, same("what is found after that", got, []string{"J-1001"}))
}
