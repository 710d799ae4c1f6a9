package postgres

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
)

// Source is a record in one file, asked in its own SQL.
type Source interface {
	Rows(ctx context.Context, query string, take func(values []any) error) error
}

// table is one that is moved: its columns, of which the first so many are its key, and
// the order its rows were written in where that counts.
type table struct {
	name    string
	columns []string
	keys    int
	order   string
	from    string // in the file, where it is not the table alone
	added   []string
	// as gives the last value as it is here, and what is added.
	as func(last any) ([]any, error)
}

// moved lists them.
func moved() []table {
	fields := strings.Fields
	return []table{
		{name: "streams", columns: fields("id seq opened closed"), keys: 1, order: "id"},
		{name: "events", columns: fields("stream seq at kind person knowledge body"), keys: 2, order: "n"},
		{name: "inbound", columns: fields("channel id at"), keys: 2, order: "channel, id"},
		{name: "places", columns: fields("channel conversation thread job"), keys: 3, order: "job"},
		{name: "outbox", columns: fields("id stream at state attempts settled external reason body"), keys: 1, order: "n", added: fields("channel answers"), as: placed},
		{name: "snapshots", columns: fields("stream seq knowledge live talk"), keys: 1, order: "stream"},
		{name: "found", columns: fields("stream seq words"), keys: 2, order: "n", from: "found JOIN events ON n = found.rowid", as: fold},
		{name: "passes", columns: fields("id person code salt device made used until uses"), keys: 1, order: "id"},
	}
}

// placed gives a message's channel, and where it answers.
func placed(body any) ([]any, error) {
	b, ok := body.([]byte)
	if !ok {
		return nil, fmt.Errorf("a message is kept as %T", body)
	}
	var m bot.Outbound
	err := json.Unmarshal(b, &m)
	return []any{body, m.Channel, answers(&m)}, err
}

func fold(words any) ([]any, error) { return []any{folded(fmt.Sprint(words))}, nil }

// timed says whether a column holds a time, in the file microseconds since 1970.
func timed(column string) bool {
	switch column {
	case "opened", "closed", "at", "settled", "made", "used", "until":
		return true
	}
	return false
}

// insert adds a row, or puts it in the place of one with its key: what was moved
// before may have changed in the file since.
func (t *table) insert() string {
	columns := slices.Concat(t.columns, t.added)
	var places, sets []string
	for i, c := range columns {
		places = append(places, fmt.Sprintf("$%d", i+2))
		sets = append(sets, c+" = excluded."+c)
	}
	return fmt.Sprintf("INSERT INTO %s (shop, %s) VALUES ($1, %s) ON CONFLICT (shop, %s) DO UPDATE SET %s",
		t.name, strings.Join(columns, ", "), strings.Join(places, ", "), strings.Join(t.columns[:t.keys], ", "), strings.Join(sets, ", "))
}

func (t *table) row(shop string, values []any) ([]any, error) {
	row := []any{shop}
	for i, v := range values {
		if n, ok := v.(int64); ok && timed(t.columns[i]) {
			v = time.UnixMicro(n)
		}
		row = append(row, v)
	}
	if t.as == nil {
		return row, nil
	}
	last, err := t.as(values[len(values)-1])
	return append(row[:len(values)], last...), err
}

// Count is how many rows of a table there are on both sides.
type Count struct {
	Table    string
	From, To int
}

// Move brings a shop's record over from a file nobody writes to. Broken off, it goes on
// when it is run again, and no service answers for the shop before. A shop that is there
// and was not left by a move is not touched: CodeConflict where the counts differ.
func (d *Database) Move(ctx context.Context, shop string, from Source) (counts []Count, err error) {
	s, err := d.session(ctx, shop)
	if err != nil {
		return nil, err
	}
	moving, err := s.own(ctx, true)
	if _, err := s.opened(err); err != nil {
		return nil, err
	}
	defer func() { _ = s.Close() }() // what was moved is committed
	for _, t := range moved() {
		if moving {
			if err := s.move(ctx, &t, from); err != nil {
				return nil, s.translate("moving "+t.name+" to", err)
			}
		}
	}
	counts, same, err := s.counts(ctx, from)
	switch {
	case err != nil:
		return nil, s.translate("counting", err)
	case !same && moving:
		return counts, &bot.Error{Code: bot.CodeConflict, Text: "more is there than in the file; erase the shop from the database and move it again"}
	case !same:
		return counts, &bot.Error{Code: bot.CodeConflict, Text: "a shop of that name is there already and differs; nothing was moved"}
	}
	return counts, s.translate("writing", s.transaction(ctx, func(ctx context.Context, tx pgx.Tx) error {
		_, err := tx.Exec(ctx, "UPDATE shops SET moving = false WHERE shop = $1", s.shop)
		return err
	}))
}

// move brings one table over, some hundred rows to a transaction.
func (s *Store) move(ctx context.Context, t *table, from Source) error {
	const together = 500
	b := &pgx.Batch{}
	send := func() error {
		defer func() { b = &pgx.Batch{} }()
		return s.transaction(ctx, func(ctx context.Context, tx pgx.Tx) error { return tx.SendBatch(ctx, b).Close() })
	}
	insert := t.insert()
	err := from.Rows(ctx, "SELECT "+strings.Join(t.columns, ", ")+" FROM "+cmp.Or(t.from, t.name)+" ORDER BY "+t.order, func(values []any) error {
		row, err := t.row(s.shop, values)
		if err != nil {
			return err
		}
		if b.Queue(insert, row...); b.Len() < together {
			return nil
		}
		return send()
	})
	if err != nil || b.Len() == 0 {
		return err
	}
	return send()
}

// counts counts both sides and says whether they are the same.
func (s *Store) counts(ctx context.Context, from Source) (out []Count, same bool, err error) {
	same = true
	for _, t := range moved() {
		c := Count{Table: t.name}
		err := from.Rows(ctx, "SELECT count(*) FROM "+t.name, func(values []any) error {
			n, ok := values[0].(int64)
			if !ok {
				return fmt.Errorf("a count is a %T", values[0])
			}
			c.From = int(n)
			return nil
		})
		if err != nil {
			return nil, false, err
		}
		if err := s.query(ctx, func(r pgx.Rows) error { return r.Scan(&c.To) }, "SELECT count(*) FROM "+t.name+" WHERE shop = $1", s.shop); err != nil {
			return nil, false, err
		}
		same = same && c.From == c.To
		out = append(out, c)
	}
	return out, same, nil
}
