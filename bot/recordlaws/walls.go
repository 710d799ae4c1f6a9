package recordlaws

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"

	"proveout/bot"
	"proveout/bot/signin"
)

// Record is all that the service and the commands ask of a shop's record.
type Record interface {
	bot.Store
	signin.Store
	Jobs(ctx context.Context) ([]string, error)
	Closings(ctx context.Context) ([]bot.Event, error)
	ForgetJob(ctx context.Context, id string) error
	ForgetPerson(ctx context.Context, person string) error
}

// Wall is what stands between two shops in one method of their records: Try has one shop
// ask for, or write over, what the other has, by its very names, and says what came
// through.
type Wall struct {
	Method string
	Try    func(ctx context.Context, mine Record) error
}

// Walls lists them all.
func Walls() []Wall {
	return []Wall{
		{"Append", appendsOwn},
		{"Read", readsNothing},
		{"Restore", restoresNothing},
		{"JobAt", none(func(ctx context.Context, s Record) (string, error) { return s.JobAt(ctx, theirPlace()) })},
		{"Newest", none(func(ctx context.Context, s Record) (string, error) { return s.Newest(ctx) })},
		{"Find", empty(func(ctx context.Context, s Record) ([]string, error) { return s.Find(ctx, []string{"alder"}, 10) })},
		{"Pending", empty(func(ctx context.Context, s Record) ([]bot.Outbound, error) { return s.Pending(ctx) })},
		{"Sent", none(func(ctx context.Context, s Record) (*bot.Outbound, error) { return s.Sent(ctx, "sms", "x-theirs") })},
		{"LastAnswer", none(func(ctx context.Context, s Record) (*bot.Outbound, error) { return s.LastAnswer(ctx, theirPhone()) })},
		{"Settle", func(ctx context.Context, s Record) error {
			return s.Settle(ctx, bot.Delivery{ID: "slack/m1.0", Channel: "slack", At: noon(), Dead: "given up", External: "m2"})
		}},
		{"Expire", none(func(ctx context.Context, s Record) (int, error) { return s.Expire(ctx, noon().AddDate(9, 0, 0)) })},
		{"Jobs", empty(func(ctx context.Context, s Record) ([]string, error) { return s.Jobs(ctx) })},
		{"Closings", empty(func(ctx context.Context, s Record) ([]bot.Event, error) { return s.Closings(ctx) })},
		{"ForgetJob", missing(func(ctx context.Context, s Record) error { return s.ForgetJob(ctx, "J-1002") })},
		{"ForgetPerson", missing(func(ctx context.Context, s Record) error { return s.ForgetPerson(ctx, "ben") })},
		{"Pass", missing(func(ctx context.Context, s Record) error { _, err := s.Pass(ctx, "theirs"); return err })},
		{"PassesOf", empty(func(ctx context.Context, s Record) ([]signin.Pass, error) { return s.PassesOf(ctx, "ana") })},
		{"UsePass", missing(func(ctx context.Context, s Record) error { _, err := s.UsePass(ctx, "theirs", noon()); return err })},
		{"DropPass", missing(func(ctx context.Context, s Record) error { return s.DropPass(ctx, "theirs") })},
		{"PutPass", func(ctx context.Context, s Record) error { // theirs is over by then, and is not this shop's to forget
			return s.PutPass(ctx, pass("theirs", "ana", noon().AddDate(1, 0, 0)))
		}},
		{"Follow", shared(func(ctx context.Context, s bot.Shared) error {
			return s.Follow(ctx, func(bot.Mark) bool { return true }, func(e bot.Event) error { return fmt.Errorf("followed %s", e.Stream) })
		})},
		{"Stands", shared(func(ctx context.Context, s bot.Shared) error {
			last, streams, err := s.Stands(ctx, "ana")
			return errors.Join(err, same("what she did last", last, bot.Mark{}), same("where she stands", len(streams), 0))
		})},
		{"Take", shared(func(ctx context.Context, s bot.Shared) error {
			got, err := s.Take(ctx, 10)
			return errors.Join(err, same("what is to be delivered", len(got), 0))
		})},
	}
}

// Untried lists the methods of a record that no wall is for and that are not excused, and
// the excuses for what it has not. excused says why a method cannot reach another shop.
func Untried(record reflect.Type, excused map[string]string) []string {
	tried := map[string]bool{}
	for _, w := range Walls() {
		tried[w.Method] = true
	}
	var out []string
	for name := range excused {
		if _, ok := record.MethodByName(name); !ok || tried[name] {
			out = append(out, "the excuse for "+name)
		}
	}
	for method := range record.Methods() {
		if !tried[method.Name] && excused[method.Name] == "" {
			out = append(out, method.Name)
		}
	}
	slices.Sort(out)
	return out
}

// Check fills one shop's record, has the other try, and looks whether anything is
// changed. Both must be empty.
func (w Wall) Check(ctx context.Context, theirs, mine Record) error {
	if err := restoresNothing(ctx, mine); err != nil { // as each service does at its start
		return err
	}
	if err := furnish(ctx, theirs); err != nil {
		return fmt.Errorf("filling a record: %w", err)
	}
	before, err := everything(ctx, theirs)
	if err != nil {
		return err
	}
	if err := w.Try(ctx, mine); err != nil {
		return err
	}
	after, err := everything(ctx, theirs)
	if err != nil {
		return err
	}
	return same("the other's record", after, before)
}

func theirPlace() bot.Place {
	return bot.Place{Channel: "slack", Conversation: "shop", Thread: "J-1001"}
}
func theirPhone() bot.Place { return bot.Place{Channel: "sms", Conversation: "+13035550123"} }

// furnish writes something of every kind: an open job with its talk, a message that
// waits, one that arrived, a closed job, where a person stands, a session.
func furnish(ctx context.Context, s Record) error {
	first := entry("J-1001", 0, "m1", "no cooling at 8 Alder Court")
	first.Words = first.Events[0].Text
	answered := entry("J-1001", 1, "m2", "contactor is out")
	answered.Out[0].Channel, answered.Out[0].Conversation, answered.Out[0].Thread = theirPhone().Channel, theirPhone().Conversation, ""
	answered.Out[0].Reply = &bot.Reply{Text: "heard"}
	answered.Snapshot = &bot.Snapshot{Seq: 2, Live: []byte("{}"), Talk: []byte{1}}
	shut := entry("J-1002", 0, "m3", "weak capacitor")
	shut.Events[0].Person, shut.Closed = "ben", true
	shut.Events = append(shut.Events, bot.Event{Stream: "J-1002", Seq: 2, At: noon(), Kind: bot.EventClosed, Verdict: bot.ClosedProven})
	return errors.Join(
		s.Append(ctx, first), s.Append(ctx, answered), s.Append(ctx, shut),
		s.Append(ctx, &bot.Entry{Stream: "@ana", At: noon(), Events: []bot.Event{{Stream: "@ana", Seq: 1, At: noon(), Kind: bot.EventPlaced, Person: "ana"}}}),
		s.Settle(ctx, bot.Delivery{ID: answered.Out[0].ID, Channel: "sms", At: noon(), Attempts: 1, External: "x-theirs"}),
		s.PutPass(ctx, pass("theirs", "ana", noon())),
	)
}

// everything is all that a record gives.
func everything(ctx context.Context, s Record) ([]any, error) {
	var out []any
	var errs []error
	keep := func(v any, err error) {
		out = append(out, v)
		errs = append(errs, err)
	}
	for _, stream := range []string{"J-1001", "J-1002", "@ana"} {
		at, after, err := s.Read(ctx, stream, false)
		keep(at, err)
		keep(after, err)
		_, whole, err := s.Read(ctx, stream, true)
		keep(whole, err)
	}
	keep(nil, s.Restore(ctx, func(stream string, at *bot.Snapshot, after []bot.Event) error {
		out = append(out, stream, at, after)
		return nil
	}))
	job, err := s.JobAt(ctx, theirPlace())
	keep(job, err)
	found, err := s.Find(ctx, []string{"alder"}, 10)
	keep(found, err)
	waiting, err := s.Pending(ctx)
	keep(waiting, err)
	sent, err := s.Sent(ctx, "sms", "x-theirs")
	keep(sent, err)
	last, err := s.LastAnswer(ctx, theirPhone())
	keep(last, err)
	jobs, err := s.Jobs(ctx)
	keep(jobs, err)
	closings, err := s.Closings(ctx)
	keep(closings, err)
	passes, err := s.PassesOf(ctx, "ana")
	keep(passes, err)
	return out, errors.Join(errs...)
}

func appendsOwn(ctx context.Context, s Record) error {
	if err := s.Append(ctx, entry("J-1001", 0, "m1", "of another house")); err != nil {
		return fmt.Errorf("what this shop wrote under the same names: %w", err)
	}
	if err := wants(s.Append(ctx, entry("J-1001", 2, "m9", "goes on with theirs")), bot.CodeConflict); err != nil {
		return err
	}
	_, events, err := s.Read(ctx, "J-1001", true)
	if err != nil {
		return err
	}
	return same("what this shop wrote", len(events), 1)
}

func readsNothing(ctx context.Context, s Record) error {
	for _, stream := range []string{"J-1001", "J-1002", "@ana"} {
		for _, whole := range []bool{true, false} {
			at, events, err := s.Read(ctx, stream, whole)
			if err := errors.Join(err, same("the snapshot of "+stream, at, (*bot.Snapshot)(nil)), same("the events of "+stream, len(events), 0)); err != nil {
				return err
			}
		}
	}
	return nil
}

func restoresNothing(ctx context.Context, s Record) error {
	return s.Restore(ctx, func(stream string, _ *bot.Snapshot, _ []bot.Event) error { return fmt.Errorf("restored %s", stream) })
}

// none wants the zero value of what is asked for.
func none[V comparable](ask func(context.Context, Record) (V, error)) func(context.Context, Record) error {
	return func(ctx context.Context, s Record) error {
		got, err := ask(ctx, s)
		var zero V
		return errors.Join(err, same("what is given", got, zero))
	}
}

// empty wants nothing in the list that is asked for.
func empty[V any](ask func(context.Context, Record) ([]V, error)) func(context.Context, Record) error {
	return func(ctx context.Context, s Record) error {
		got, err := ask(ctx, s)
		return errors.Join(err, same("what is listed", len(got), 0))
	}
}

// missing wants CodeNotFound.
func missing(ask func(context.Context, Record) error) func(context.Context, Record) error {
	return func(ctx context.Context, s Record) error { return wants(ask(ctx, s), bot.CodeNotFound) }
}

// shared tries what only a record several services write to has.
func shared(try func(context.Context, bot.Shared) error) func(context.Context, Record) error {
	return func(ctx context.Context, s Record) error {
		of, ok := s.(bot.Shared)
		if !ok {
			return errors.New("the record is not shared")
		}
		return try(ctx, of)
	}
}
