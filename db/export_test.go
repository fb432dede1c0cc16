package db

import "time"

// Translate is the border between pgx's errors and ours, for tests that run
// SQL of their own.
var Translate = translate

// SetClockAhead makes a store's clock wrong, as that of a machine is.
func SetClockAhead(s *Store, by time.Duration) { s.clock.ahead.Store(int64(by)) }
