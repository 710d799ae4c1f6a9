package postgres

import "context"

// Free does what every beat does besides.
func Free(ctx context.Context, s *Store) error { return s.free(ctx) }
