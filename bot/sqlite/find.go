package sqlite

import (
	"context"
	"strings"
)

// Find lists the jobs whose words hold every term, the newest first. A term is data:
// quoted, it is nothing but the beginning of words.
func (s *Store) Find(ctx context.Context, terms []string, most int) ([]string, error) {
	if len(terms) == 0 {
		return nil, nil
	}
	const holds = "SELECT e.stream FROM found JOIN events e ON e.n = found.rowid WHERE found MATCH ?"
	args := make([]any, 0, len(terms)+1)
	quoted := strings.NewReplacer(`"`, `""`, "\x00", " ") // a zero would end the term
	for _, t := range terms {
		args = append(args, `"`+quoted.Replace(t)+`"*`)
	}
	each := strings.TrimSuffix(strings.Repeat(holds+" INTERSECT ", len(terms)), " INTERSECT ")
	return s.names(ctx, "SELECT id FROM streams WHERE id IN ("+each+") ORDER BY opened DESC, id DESC LIMIT ?", append(args, most)...)
}

// findable has a stream found by the words of an entry, kept beside its first event.
func (s *Store) findable(ctx context.Context, stream string, seq int64, words string) error {
	_, err := s.added.found.ExecContext(ctx, words, stream, seq)
	return err
}
