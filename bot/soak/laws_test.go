package soak_test

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
	"proveout/bot/postgres"
)

// fact is an event as the laws look at it.
type fact struct {
	stream string
	seq    int64
	bot.Event
}

// owed is a message of the outbox, in the order of the record.
type owed struct {
	Delivered
	state string
}

// testimony is what was brought in and came out, and what the record says of it. All goes
// on meanwhile: the record was read after what was acknowledged and what came were noted,
// and what came once more after that.
type testimony struct {
	acked []string
	came  []Delivered // in the order it came
	facts []fact      // by stream and number
	owed  []owed
	read  time.Time
	then  []Delivered
	// due are the jobs that fall silent and when; they must have been told of by told.
	// early is how much before its time an alarm may come.
	due   map[string]time.Time
	told  time.Time
	early time.Duration
}

// breaches lists what breaks a law, each behind the law's name.
func (t *testimony) breaches() []string {
	return slices.Concat(t.lost(), t.answers(), t.order(), t.threads(), t.alarms())
}

// lost: what was acknowledged is in the record, and nothing is in it twice.
func (t *testimony) lost() []string {
	var out []string
	said := map[string]int{}
	answered := map[string]bool{}
	for i := range t.facts {
		if f := &t.facts[i]; f.Kind == bot.EventSaid {
			said[f.Key.ID]++
		}
	}
	for i := range t.owed {
		answered[t.owed[i].ID] = true
	}
	for _, id := range t.acked {
		if said[id] == 0 {
			out = append(out, "lost: "+id+" was acknowledged and is not in the record")
		}
	}
	for id, n := range said {
		if n > 1 {
			out = append(out, fmt.Sprintf("twice: %s was taken %d times", id, n))
		}
		if !answered[firstAnswer(id)] {
			out = append(out, "lost: "+id+" was taken and never answered")
		}
	}
	return out
}

// firstAnswer is the ID of the first message that answers one brought in.
func firstAnswer(id string) string { return channel + "/" + id + ".0" }

// answers: every message of the record came as it stands there, and nothing else did.
func (t *testimony) answers() []string {
	var out []string
	stands := map[string]*owed{}
	for i := range t.owed {
		stands[t.owed[i].ID] = &t.owed[i]
	}
	came := map[string]bool{}
	for i := range t.came {
		d := &t.came[i]
		came[d.ID] = true
		switch o := stands[d.ID]; {
		case o == nil:
			out = append(out, "unwritten: "+d.ID+" was sent and is not in the record")
		case o.Text != d.Text, o.Lane != d.Lane:
			out = append(out, "differs: "+d.ID+" came otherwise than it is in the record")
		}
	}
	for i := range t.then {
		came[t.then[i].ID] = true
	}
	for id, o := range stands {
		switch {
		case o.state == "sent" && !came[id]:
			out = append(out, "undelivered: "+id+" never came and is said to")
		case o.state == "dead", o.state == "pending" && o.at.Before(t.read.Add(-takenOver)):
			out = append(out, "undelivered: "+id+" is "+o.state)
		}
	}
	return out
}

// order: in a lane, what a job has to say comes first in the order of the record. A
// message may come again.
func (t *testimony) order() []string {
	type lane struct{ lane, job string }
	place := map[string]int{}
	for i := range t.owed {
		place[t.owed[i].ID] = i
	}
	var out []string
	came, last := map[string]bool{}, map[lane]int{}
	for i := range t.came {
		d := &t.came[i]
		at, known := place[d.ID]
		if came[d.ID] || !known {
			continue
		}
		came[d.ID] = true
		l := lane{d.Lane, d.Job}
		if before, first := last[l]; first && at < before {
			out = append(out, fmt.Sprintf("order: %s came after %s in %s", d.ID, t.owed[before].ID, d.Lane))
		}
		last[l] = max(last[l], at)
	}
	return out
}

// threads: events are numbered without a gap, and one thread is one job.
func (t *testimony) threads() []string {
	var out []string
	jobs := map[string]string{}
	for i := range t.facts {
		f := &t.facts[i]
		if i > 0 && t.facts[i-1].stream == f.stream && f.seq != t.facts[i-1].seq+1 {
			out = append(out, fmt.Sprintf("gap: %s goes on at %d after %d", f.stream, f.seq, t.facts[i-1].seq))
		}
		if f.Kind != bot.EventOpened {
			continue
		}
		if other, taken := jobs[f.Place.Thread]; taken {
			out = append(out, "thread: "+f.Place.Thread+" is both "+other+" and "+f.stream)
		}
		jobs[f.Place.Thread] = f.stream
	}
	return out
}

// alarms: each once, until what it is about has changed, and not before its time.
func (t *testimony) alarms() []string {
	var out []string
	type kind struct {
		job   string
		alarm bot.AlarmKind
	}
	given, ever := map[kind]bool{}, map[string]bool{}
	for i := range t.facts {
		f := &t.facts[i]
		switch k := (kind{f.stream, f.Alarm}); {
		case f.Kind == bot.EventAlarm:
			if given[k] {
				out = append(out, fmt.Sprintf("alarm: %s of %s was given again", f.Alarm, f.stream))
			}
			given[k], ever[f.stream] = true, true
		case f.Kind == bot.EventAnswered && f.Reply.Readings > 0:
			delete(given, kind{f.stream, bot.AlarmSilent})
			if f.Reply.Progress {
				delete(given, kind{f.stream, bot.AlarmStuck})
			}
		}
	}
	for job, at := range t.due {
		if at.Before(t.told) && !ever[job] {
			out = append(out, "alarm: "+job+" was due and was not given")
		}
	}
	for i := range t.came {
		if at, quiet := t.due[t.came[i].Job]; quiet && t.came[i].at.Before(at.Add(-t.early)) {
			out = append(out, fmt.Sprintf("alarm: %s came %v before it was due", t.came[i].Job, at.Sub(t.came[i].at).Round(time.Second)))
		}
	}
	return out
}

// record reads what the laws look at straight from the database.
type record struct {
	c    *pgx.Conn // of a role nothing binds
	from int64     // the last event of the preparation
}

func openRecord(ctx context.Context, address string) (*record, error) {
	c, err := pgx.Connect(ctx, address)
	if err != nil {
		return nil, err
	}
	if _, err := c.Exec(ctx, "ANALYZE"); err != nil { // as one that has run for a while has
		return nil, err
	}
	r := &record{c: c}
	return r, c.QueryRow(ctx, "SELECT coalesce(max(n), 0) FROM events").Scan(&r.from)
}

// read adds what the record says, as it stands at one moment, to what the channel does.
func (r *record) read(ctx context.Context, t *testimony) error {
	t.read = time.Now()
	return pgx.BeginTxFunc(ctx, r.c, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, "SELECT stream, seq, kind, body FROM events WHERE shop = $1 AND n > $2", shop, r.from)
		if err != nil {
			return err
		}
		if t.facts, err = pgx.CollectRows(rows, scanFact); err != nil {
			return err
		}
		slices.SortFunc(t.facts, func(a, b fact) int { return cmp.Or(strings.Compare(a.stream, b.stream), cmp.Compare(a.seq, b.seq)) })
		if rows, err = tx.Query(ctx, "SELECT state, body FROM outbox WHERE shop = $1 ORDER BY n", shop); err != nil {
			return err
		}
		t.owed, err = pgx.CollectRows(rows, scanOwed)
		return err
	})
}

func scanFact(row pgx.CollectableRow) (f fact, err error) {
	var body []byte
	if err := row.Scan(&f.stream, &f.seq, &f.Kind, &body); err != nil {
		return f, err
	}
	err = json.Unmarshal(body, &f.Event)
	f.Text = "" // nobody looks at it, and it is most of what there is
	return f, err
}

func scanOwed(row pgx.CollectableRow) (o owed, err error) {
	var body []byte
	var m bot.Outbound
	if err := row.Scan(&o.state, &body); err != nil {
		return o, err
	}
	err = json.Unmarshal(body, &m)
	o.Delivered = told(&m)
	o.at = m.At
	return o, err
}

// pending lists the messages that wait to be delivered.
func (r *record) pending(ctx context.Context) ([]string, error) {
	rows, err := r.c.Query(ctx, "SELECT id FROM outbox WHERE shop = $1 AND state = 'pending'", shop)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// judge is the service of the shop without a record, made once.
var judge = sync.OnceValues(func() (*bot.Service, error) {
	base, err := trade()
	if err != nil {
		return nil, err
	}
	return bot.New(nil, base, larkmoor(), bot.Options{})
})

// replayed works the answers of some jobs that were written to out again, bit for bit,
// and lists what differs.
func replayed(ctx context.Context, address string, facts []fact, most int, chance *rand.Rand) (breaches []string, answers int, err error) {
	service, err := judge()
	if err != nil {
		return nil, 0, err
	}
	d, err := postgres.Open(ctx, address)
	if err != nil {
		return nil, 0, err
	}
	defer d.Close()
	var jobs []string
	for i := range facts {
		if len(jobs) == 0 || jobs[len(jobs)-1] != facts[i].stream {
			jobs = append(jobs, facts[i].stream)
		}
	}
	chance.Shuffle(len(jobs), func(i, j int) { jobs[i], jobs[j] = jobs[j], jobs[i] })
	for _, job := range jobs[:min(most, len(jobs))] {
		_, events, err := d.Shop(shop).Read(ctx, job, true)
		if err != nil {
			return nil, 0, err
		}
		differences, n, err := bot.Replay(service.Agent(), service.Version(), events)
		if err != nil {
			return nil, 0, err
		}
		answers += n
		for _, d := range differences {
			breaches = append(breaches, fmt.Sprintf("replay: event %d of %s comes out otherwise", d.Seq, job))
		}
	}
	return breaches, answers, nil
}
