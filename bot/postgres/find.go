package postgres

import (
	"context"
	"strings"
	"unicode"

	"github.com/jackc/pgx/v5"
	"golang.org/x/text/unicode/norm"
)

// folded are a text's words in small letters without their marks, a space before each:
// what is found is the beginning of one.
func folded(text string) string {
	var b strings.Builder
	within := false
	for _, r := range norm.NFD.String(text) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			if !within {
				b.WriteByte(' ')
			}
			b.WriteRune(unicode.ToLower(r))
			within = true
		default:
			within = false
		}
	}
	return b.String()
}

// Find lists the jobs whose words hold every term, the newest first.
func (s *Store) Find(ctx context.Context, terms []string, most int) ([]string, error) {
	var all []string
	for _, t := range terms {
		if t = folded(t); t == "" {
			return nil, nil
		}
		all = append(all, t)
	}
	if len(all) == 0 {
		return nil, nil
	}
	var out []string
	err := s.query(ctx, func(r pgx.Rows) error {
		var id string
		err := r.Scan(&id)
		out = append(out, id)
		return err
	}, `SELECT id FROM streams s WHERE shop = $1 AND NOT EXISTS (SELECT FROM unnest($2::text[]) term WHERE NOT EXISTS
			(SELECT FROM found f WHERE f.shop = s.shop AND f.stream = s.id AND strpos(f.words, term) > 0))
		ORDER BY opened DESC, id COLLATE "C" DESC LIMIT $3`, s.shop, all, most)
	return out, s.translate("reading", err)
}

// findable has a stream found by words, beside an event of it.
func (s *Store) findable(b *pgx.Batch, stream string, seq int64, words string) {
	b.Queue("INSERT INTO found (shop, stream, seq, words) VALUES ($1, $2, $3, $4)", s.shop, stream, seq, folded(words))
}
