package recordlaws

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"sync"
	"time"

	"proveout/bot"
)

// Law is a promise every record keeps. Check wants an empty record of its own and
// returns what was broken.
type Law struct {
	Name  string
	Check func(ctx context.Context, s bot.Store) error
}

// Laws lists them all.
func Laws() []Law {
	return []Law{
		{"an entry is read back as it was written", readBack},
		{"a key that is in the record changes nothing again", keyOnce},
		{"a stream that stands elsewhere refuses the entry whole", conflicts},
		{"two streams stand or fall together", together},
		{"a snapshot stands for the events before it", snapshots},
		{"only open streams are restored", restores},
		{"a thread leads to its job, open or closed", places},
		{"the job opened last is known, closed or not", newest},
		{"messages wait in order until they are settled", waits},
		{"a receipt finds its message, the last answer is found where it went", answers},
		{"what was delivered is not taken in", echoes},
		{"of many writers one wins each number", contended},
		{"a canceled context writes nothing", canceled},
		{"what has expired is erased, its messages are not taken again", expires},
		{"jobs are found by every term they hold, the newest first", finds},
		{"terms are looked for as they stand", findsData},
		{"a stream nobody wrote to is empty", nobody},
	}
}

// noon is the time of everything here.
func noon() time.Time { return time.Date(2026, 7, 14, 12, 0, 0, 123_000, time.UTC) }

func key(id string) bot.Key { return bot.Key{Channel: "slack", ID: id} }

// entry opens or goes on with a job: one event, one message, under a key.
func entry(stream string, after int64, id, text string) *bot.Entry {
	kind := bot.EventSaid
	if after == 0 {
		kind = bot.EventOpened
	}
	return &bot.Entry{
		Key: key(id), Stream: stream, After: after, At: noon(),
		Events: []bot.Event{{
			Stream: stream, Seq: after + 1, At: noon(), Kind: kind, Person: "ana", Knowledge: "v1",
			Key: key(id), Place: bot.Place{Channel: "slack", Conversation: "shop", Thread: stream}, Text: text,
		}},
		Out: []bot.Outbound{{ID: "slack/" + id + ".0", Channel: "slack", Conversation: "shop", Thread: stream, Text: "heard: " + text}},
	}
}

func wants(got error, code bot.Code) error {
	if bot.CodeOf(got) != code {
		return fmt.Errorf("the code was %q, not %q: %w", bot.CodeOf(got), code, got)
	}
	return nil
}

// same compares two values that people read.
func same(what string, got, want any) error {
	if !reflect.DeepEqual(got, want) {
		return fmt.Errorf("%s is\n%+v\nnot\n%+v", what, got, want)
	}
	return nil
}

func readBack(ctx context.Context, s bot.Store) error {
	e := entry("J-1001", 0, "m1", "24 at the yellow, 0 on the coil — 3.4 kΩ \"quoted\" \x00")
	e.Out[0].Reply = &bot.Reply{Text: "heard", Status: "measuring", Lines: []bot.Line{{Part: bot.Heard, Text: "heard"}}}
	e.Out[0].Buttons = []bot.Button{{Action: "say:why", Label: "Why?"}, {Action: "overrule:J-1001", Label: "Overrule", Danger: true}}
	if err := s.Append(ctx, e); err != nil {
		return err
	}
	at, events, err := s.Read(ctx, "J-1001", false)
	if err != nil {
		return err
	}
	waiting, err := s.Pending(ctx)
	if err != nil {
		return err
	}
	return errors.Join(same("the snapshot", at, (*bot.Snapshot)(nil)), same("the stream", events, e.Events), same("what waits", waiting, e.Out))
}

func keyOnce(ctx context.Context, s bot.Store) error {
	if err := s.Append(ctx, entry("J-1001", 0, "m1", "first")); err != nil {
		return err
	}
	// As it comes again, and with another text and for another job.
	for _, again := range []*bot.Entry{entry("J-1001", 0, "m1", "first"), entry("J-1001", 1, "m1", "other"), entry("J-1002", 0, "m1", "other")} {
		if err := wants(s.Append(ctx, again), bot.CodeSeen); err != nil {
			return err
		}
	}
	other := entry("J-1002", 0, "m1", "of another channel")
	other.Key.Channel, other.Out[0].ID = "sms", "sms/m1.0"
	if err := s.Append(ctx, other); err != nil {
		return fmt.Errorf("the same id in another channel is another message: %w", err)
	}
	_, events, err := s.Read(ctx, "J-1001", true)
	if err != nil {
		return err
	}
	waiting, err := s.Pending(ctx)
	if err != nil {
		return err
	}
	return errors.Join(same("the number of events", len(events), 1), same("the number of messages", len(waiting), 2))
}

func conflicts(ctx context.Context, s bot.Store) error {
	if err := errors.Join(s.Append(ctx, entry("J-1001", 0, "m1", "one")), s.Append(ctx, entry("J-1001", 1, "m2", "two"))); err != nil {
		return err
	}
	for _, after := range []int64{0, 1, 3} {
		if err := wants(s.Append(ctx, entry("J-1001", after, fmt.Sprint("late", after), "late")), bot.CodeConflict); err != nil {
			return err
		}
	}
	if err := s.Append(ctx, entry("J-1001", 2, "late1", "late")); err != nil {
		return fmt.Errorf("a refused entry leaves its key free: %w", err)
	}
	_, events, err := s.Read(ctx, "J-1001", true)
	if err != nil {
		return err
	}
	waiting, err := s.Pending(ctx)
	if err != nil {
		return err
	}
	return errors.Join(same("the number of events", len(events), 3), same("the number of messages", len(waiting), 3))
}

func together(ctx context.Context, s bot.Store) error {
	desk := func(after int64) *bot.Entry {
		return &bot.Entry{Stream: "@ana", After: after, At: noon(), Events: []bot.Event{{Stream: "@ana", Seq: after + 1, At: noon(), Kind: bot.EventPlaced}}}
	}
	one := entry("J-1001", 0, "m1", "one")
	one.With = desk(0)
	if err := s.Append(ctx, one); err != nil {
		return err
	}
	two := entry("J-1001", 1, "m2", "two")
	two.With = desk(0) // it has moved on to 1
	if err := wants(s.Append(ctx, two), bot.CodeConflict); err != nil {
		return err
	}
	if _, events, err := s.Read(ctx, "J-1001", true); err != nil || len(events) != 1 {
		return fmt.Errorf("the first of two was written without the second: %d events, %w", len(events), err)
	}
	two.With = desk(1)
	if err := s.Append(ctx, two); err != nil {
		return err
	}
	_, events, err := s.Read(ctx, "@ana", true)
	if err != nil {
		return err
	}
	return same("the number of events", len(events), 2)
}

func snapshots(ctx context.Context, s bot.Store) error {
	two := entry("J-1001", 1, "m2", "two")
	two.Snapshot = &bot.Snapshot{Seq: 2, Knowledge: "v1", Live: []byte(`{"ID":"J-1001"}`), Talk: []byte{0, 1, 255}}
	if err := errors.Join(s.Append(ctx, entry("J-1001", 0, "m1", "one")), s.Append(ctx, two), s.Append(ctx, entry("J-1001", 2, "m3", "three"))); err != nil {
		return err
	}
	at, after, err := s.Read(ctx, "J-1001", false)
	if err != nil {
		return err
	}
	if err := errors.Join(same("the snapshot", at, two.Snapshot), same("the number of events after it", len(after), 1)); err != nil {
		return err
	}
	at, all, err := s.Read(ctx, "J-1001", true)
	if err != nil {
		return err
	}
	if err := errors.Join(same("the snapshot of the whole", at, (*bot.Snapshot)(nil)), same("the number of events", len(all), 3)); err != nil {
		return err
	}
	alone := &bot.Entry{Stream: "J-1001", After: 3, At: noon(), Snapshot: &bot.Snapshot{Seq: 3, Knowledge: "v2", Live: []byte("{}"), Talk: []byte{7}}}
	if err := s.Append(ctx, alone); err != nil {
		return fmt.Errorf("a snapshot alone: %w", err)
	}
	at, after, err = s.Read(ctx, "J-1001", false)
	if err != nil {
		return err
	}
	return errors.Join(same("the newest snapshot", at, alone.Snapshot), same("the number of events after it", len(after), 0))
}

func restores(ctx context.Context, s bot.Store) error {
	shut := entry("J-1002", 0, "m2", "two")
	shut.Closed = true
	snap := entry("J-1003", 0, "m3", "three")
	snap.Snapshot = &bot.Snapshot{Seq: 1, Knowledge: "v1", Live: []byte("{}"), Talk: []byte{1}}
	if err := errors.Join(s.Append(ctx, entry("J-1001", 0, "m1", "one")), s.Append(ctx, shut), s.Append(ctx, snap),
		s.Append(ctx, entry("J-1001", 1, "m4", "more"))); err != nil {
		return err
	}
	var got []string
	take := func(stream string, at *bot.Snapshot, after []bot.Event) error {
		got = append(got, fmt.Sprint(stream, " ", at != nil, " ", len(after)))
		return nil
	}
	if err := s.Restore(ctx, take); err != nil {
		return err
	}
	if err := same("what is restored", got, []string{"J-1001 false 2", "J-1003 true 0"}); err != nil {
		return err
	}
	if err := s.Append(ctx, entry("J-1002", 1, "m5", "down again")); err != nil {
		return err
	}
	got = nil
	if err := s.Restore(ctx, take); err != nil {
		return err
	}
	if err := same("what is restored of a job opened again", got, []string{"J-1001 false 2", "J-1002 false 2", "J-1003 true 0"}); err != nil {
		return err
	}
	stop := errors.New("enough")
	if err := s.Restore(ctx, func(string, *bot.Snapshot, []bot.Event) error { return stop }); !errors.Is(err, stop) {
		return fmt.Errorf("restoring went on after %w", err)
	}
	return nil
}

func places(ctx context.Context, s bot.Store) error {
	shut := entry("J-1001", 0, "m1", "one")
	shut.Closed = true
	if err := s.Append(ctx, shut); err != nil {
		return err
	}
	threaded := entry("J-1003", 1, "m4", "")
	threaded.Events[0].Kind, threaded.Events[0].Place.Thread = bot.EventThread, "opened later"
	if err := errors.Join(s.Append(ctx, entry("J-1003", 0, "m3", "three")), s.Append(ctx, threaded)); err != nil {
		return err
	}
	for thread, want := range map[string]string{"J-1001": "J-1001", "J-1002": "", "opened later": "J-1003"} {
		job, err := s.JobAt(ctx, bot.Place{Channel: "slack", Conversation: "shop", Thread: thread})
		if err := errors.Join(err, same("the job of "+thread, job, want)); err != nil {
			return err
		}
	}
	return nil
}

func newest(ctx context.Context, s bot.Store) error {
	got, err := s.Newest(ctx)
	if err := errors.Join(err, same("the newest of none", got, "")); err != nil {
		return err
	}
	for i, id := range []string{"J-9999", "J-10000", "@ana"} {
		e := entry(id, 0, fmt.Sprint("m", i), id)
		e.At, e.Closed = noon().Add(time.Duration(i)*time.Hour), id == "J-10000"
		if err := s.Append(ctx, e); err != nil {
			return err
		}
	}
	got, err = s.Newest(ctx)
	return errors.Join(err, same("the newest", got, "J-10000"))
}

func waits(ctx context.Context, s bot.Store) error {
	for i, id := range []string{"m1", "m2", "m3", "m4"} {
		if err := s.Append(ctx, entry("J-1001", int64(i), id, id)); err != nil {
			return err
		}
	}
	if err := errors.Join(
		s.Settle(ctx, bot.Delivery{ID: "slack/m2.0", Channel: "slack", At: noon(), Attempts: 1, External: "17.1"}),
		s.Settle(ctx, bot.Delivery{ID: "slack/m3.0", Channel: "slack", At: noon(), Attempts: 12, Dead: "rejected"}),
	); err != nil {
		return err
	}
	waiting, err := s.Pending(ctx)
	if err != nil {
		return err
	}
	var ids []string
	for i := range waiting {
		ids = append(ids, waiting[i].ID)
	}
	return same("what waits", ids, []string{"slack/m1.0", "slack/m4.0"})
}

func answers(ctx context.Context, s bot.Store) error {
	phone := bot.Place{Channel: "sms", Conversation: "+13035550123"}
	for i, id := range []string{"m1", "m2", "m3", "m4"} {
		e := entry("J-1001", int64(i), id, id)
		if e.Out[0].Reply = (&bot.Reply{Text: id}); i < 2 { // answered on the phone, then in a thread
			e.Out[0].Channel, e.Out[0].Conversation, e.Out[0].Thread = phone.Channel, phone.Conversation, ""
		}
		if i == 1 {
			e.Out = append(e.Out, bot.Outbound{ID: "note", Channel: phone.Channel, Conversation: phone.Conversation, Text: "no answer"})
		}
		if err := errors.Join(s.Append(ctx, e), s.Settle(ctx, bot.Delivery{ID: e.Out[0].ID, Channel: e.Out[0].Channel, At: noon(), Attempts: 1, External: "x" + id})); err != nil {
			return err
		}
	}
	last, err := s.LastAnswer(ctx, phone)
	if err != nil || last == nil {
		return fmt.Errorf("the last answer is not found: %w", err)
	}
	none, err := s.LastAnswer(ctx, bot.Place{Channel: "sms", Conversation: "+13035550199"})
	if err := errors.Join(err, same("the last answer", last.ID, "slack/m2.0"), same("where nobody was answered", none, (*bot.Outbound)(nil))); err != nil {
		return err
	}
	for external, want := range map[string]string{"xm1": "slack/m1.0", "xm3": "", "": "", "nothing": ""} {
		m, err := s.Sent(ctx, "sms", external)
		got := ""
		if m != nil {
			got = m.ID
		}
		if err := errors.Join(err, same("the text sent as "+external, got, want)); err != nil {
			return err
		}
	}
	return nil
}

func echoes(ctx context.Context, s bot.Store) error {
	if err := errors.Join(s.Append(ctx, entry("J-1001", 0, "m1", "one")),
		s.Settle(ctx, bot.Delivery{ID: "slack/m1.0", Channel: "slack", At: noon(), Attempts: 1, External: "x1"}),
		s.Settle(ctx, bot.Delivery{ID: "slack/m1.0", Channel: "slack", At: noon(), Attempts: 2, External: "x1"})); err != nil {
		return err
	}
	return wants(s.Append(ctx, entry("J-1001", 1, "x1", "heard: one")), bot.CodeSeen)
}

func contended(ctx context.Context, s bot.Store) error {
	const writers, each = 8, 25
	var wg sync.WaitGroup
	errs := make([]error, writers)
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				id := fmt.Sprintf("w%d-%d", w, i)
				for {
					_, events, err := s.Read(ctx, "J-1001", true)
					if err == nil {
						err = s.Append(ctx, entry("J-1001", int64(len(events)), id, id))
					}
					if err == nil {
						break
					}
					if bot.CodeOf(err) != bot.CodeConflict {
						errs[w] = err
						return
					}
				}
			}
		})
	}
	wg.Wait()
	_, events, err := s.Read(ctx, "J-1001", true)
	if err := errors.Join(append(errs, err)...); err != nil {
		return err
	}
	seen := map[string]bool{}
	for i := range events {
		if events[i].Seq != int64(i)+1 || seen[events[i].Text] {
			return fmt.Errorf("event %d has number %d and says %q", i+1, events[i].Seq, events[i].Text)
		}
		seen[events[i].Text] = true
	}
	return same("the number of events", len(events), writers*each)
}

func canceled(ctx context.Context, s bot.Store) error {
	ended, cancel := context.WithCancel(ctx)
	cancel()
	if err := s.Append(ended, entry("J-1001", 0, "m1", "one")); !errors.Is(err, context.Canceled) {
		return fmt.Errorf("appending with a canceled context: %w", err)
	}
	_, events, err := s.Read(ctx, "J-1001", true)
	return errors.Join(err, same("the number of events", len(events), 0))
}

func expires(ctx context.Context, s bot.Store) error {
	old, young := entry("J-1001", 0, "m1", "one"), entry("J-1002", 0, "m2", "two")
	old.Closed, young.Closed, young.At = true, true, noon().Add(time.Hour)
	if err := errors.Join(s.Append(ctx, old), s.Append(ctx, young), s.Append(ctx, entry("J-1003", 0, "m3", "open"))); err != nil {
		return err
	}
	n, err := s.Expire(ctx, noon().Add(time.Minute))
	if err := errors.Join(err, same("the number of jobs erased", n, 1)); err != nil {
		return err
	}
	for id, want := range map[string]int{"J-1001": 0, "J-1002": 1, "J-1003": 1} {
		_, events, err := s.Read(ctx, id, true)
		if err := errors.Join(err, same("the number of events of "+id, len(events), want)); err != nil {
			return err
		}
	}
	job, err := s.JobAt(ctx, old.Events[0].Place)
	if err := errors.Join(err, same("the job of the thread", job, "")); err != nil {
		return err
	}
	return wants(s.Append(ctx, entry("J-1001", 0, "m1", "one")), bot.CodeSeen)
}

func nobody(ctx context.Context, s bot.Store) error {
	at, events, err := s.Read(ctx, "J-4711", false)
	if err := errors.Join(err, same("the snapshot", at, (*bot.Snapshot)(nil)), same("the number of events", len(events), 0)); err != nil {
		return err
	}
	waiting, err := s.Pending(ctx)
	return errors.Join(err, same("what waits", slices.Clip(waiting), []bot.Outbound(nil)))
}
