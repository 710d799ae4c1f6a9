package web

import (
	"cmp"
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"proveout/bot"
)

// boardRows is how many jobs a page of the board lists, so that a page stays small
// however many are open.
const boardRows = 30

// sorts are the ways to order the board, the first when none is chosen.
var sorts = []string{"stuck", "reading", "open", "sure", "technician"}

// boardPage is the board as it is shown.
type boardPage struct {
	Query, Waits, Sort string
	Roles              []bot.Role
	Sorts              []string
	Open               int
	Counts             []count
	Undelivered        []bot.Undelivered
	Tickets            []acts
	Next               string
	// Closed are the closed jobs that fit what was looked for.
	Closed []bot.Found
}

// count is how many jobs wait for a role.
type count struct {
	Role bot.Role
	N    int
}

// asked is what a board is asked for.
type asked struct {
	query, waits, sort, act string
	from                    int
}

func readAsked(q url.Values) asked {
	out := asked{query: strings.TrimSpace(q.Get("q")), waits: q.Get("waits"), sort: q.Get("sort"), act: q.Get("act")}
	if !slices.Contains(sorts, out.sort) {
		out.sort = sorts[0]
	}
	if n, err := strconv.Atoi(q.Get("from")); err == nil && n > 0 {
		out.from = n
	}
	return out
}

// address is the board's so asked.
func (b asked) address(path string) string {
	q := url.Values{}
	for name, v := range map[string]string{"q": b.query, "waits": b.waits, "act": b.act} {
		if v != "" {
			q.Set(name, v)
		}
	}
	if b.sort != sorts[0] {
		q.Set("sort", b.sort)
	}
	if b.from > 0 {
		q.Set("from", strconv.Itoa(b.from))
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// holds says whether a job is one of those looked for.
func (b asked) holds(r *bot.Row) bool {
	if b.waits != "" && string(r.Waits) != b.waits {
		return false
	}
	text := strings.ToLower(strings.Join([]string{r.Job, r.Title, r.Complaint, r.Technician.Name, r.Leading, r.Part, r.StatusText}, "\n"))
	for word := range strings.FieldsSeq(strings.ToLower(b.query)) {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return true
}

// order sorts jobs; those alike stay as the service has them, who is stuck longest first.
func (b asked) order(rows []bot.Row) {
	by := map[string]func(x, y bot.Row) int{
		"reading":    func(x, y bot.Row) int { return cmp.Compare(y.SinceReading, x.SinceReading) },
		"open":       func(x, y bot.Row) int { return cmp.Compare(y.Open, x.Open) },
		"sure":       func(x, y bot.Row) int { return cmp.Compare(y.Probability, x.Probability) },
		"technician": func(x, y bot.Row) int { return cmp.Compare(x.Technician.Name, y.Technician.Name) },
	}[b.sort]
	if by != nil {
		slices.SortStableFunc(rows, by)
	}
}

func (a *Adapter) boardOf(viewer string, b asked) (*boardPage, error) {
	board, err := a.service.Board(viewer)
	if err != nil {
		return nil, err
	}
	p := &boardPage{
		Query: b.query, Waits: b.waits, Sort: b.sort, Sorts: sorts, Open: len(board.Jobs), Undelivered: board.Undelivered,
		Roles: []bot.Role{bot.TechnicianRole, bot.SeniorRole, bot.DispatcherRole},
	}
	for _, role := range p.Roles {
		n := 0
		for i := range board.Jobs {
			if board.Jobs[i].Waits == role {
				n++
			}
		}
		p.Counts = append(p.Counts, count{role, n})
	}
	rows := slices.DeleteFunc(board.Jobs, func(r bot.Row) bool { return !b.holds(&r) })
	b.order(rows)
	rows = rows[min(b.from, len(rows)):]
	if len(rows) > boardRows {
		further := b
		further.from, further.act = b.from+boardRows, ""
		p.Next = further.address("/board")
		rows = rows[:boardRows]
	}
	for i := range rows {
		open := b
		open.act = rows[i].Job
		back := b
		back.act = ""
		p.Tickets = append(p.Tickets, acts{
			Row: rows[i], Acting: b.act == rows[i].Job, Plain: presses(rows[i].Actions, plainOnBoard), Seniors: board.Seniors,
			Back: back.address("/board"), Open: open.address("/board"),
		})
	}
	return p, nil
}

// board shows it.
func (a *Adapter) board(v *visit) error {
	b := readAsked(v.r.URL.Query())
	p, err := a.boardOf(v.who.ID, b)
	if err != nil {
		return err
	}
	found, err := a.service.Search(v.r.Context(), v.who.ID, b.query)
	if err != nil {
		return err
	}
	p.Closed = slices.DeleteFunc(found, func(f bot.Found) bool { return f.Closed.IsZero() })
	return v.live(b.address("/board/live")).page(http.StatusOK, "board", v.words.Say("web-board"), p)
}

// boardLive keeps it live.
func (a *Adapter) boardLive(v *visit) error {
	b := readAsked(v.r.URL.Query())
	who, language := v.who.ID, v.language
	return v.follow("board "+v.kind()+" "+language+" "+b.address(""), "", func(context.Context) ([]fragment, error) {
		p, err := a.boardOf(who, b)
		if err != nil {
			return nil, err
		}
		return a.fragments(language, "board", p, "counts", "undelivered", "rows")
	})
}
