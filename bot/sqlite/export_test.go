package sqlite

import "context"

// Pragma sets what a test wants of the connection that writes.
func (s *Store) Pragma(ctx context.Context, text string) error {
	_, err := s.conn.ExecContext(ctx, "PRAGMA "+text)
	return err
}
