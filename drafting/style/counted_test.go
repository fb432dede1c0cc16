package style

import (
	"context"

	"tapeline/drafting/block"
	"tapeline/drafting/pattern"
)

// Limits of a script, for tests.
const (
	MaxSteps  = maxSteps
	MaxMemory = maxMemory
)

// Counts are what a draft counted against the limits of a script.
type Counts struct{ Steps, Memory uint64 }

// DraftCounted is s.Draft, and returns what it counted.
func DraftCounted(ctx context.Context, s *Style, req block.Request) (pattern.Pattern, Counts, error) {
	r := newRun()
	r.drafting = true
	defer r.cancelWith(ctx)()
	p, err := s.draft(ctx, r, req)
	return p, Counts{r.thread.Steps, uint64(r.memory)}, err
}
