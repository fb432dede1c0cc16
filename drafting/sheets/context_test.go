package sheets_test

import (
	"context"
	"testing"
	"time"

	"tapeline/drafting/ctxtest"
	"tapeline/drafting/sheets"
)

// A cancelled context ends every search, on pages, on a roll and on one sheet,
// within 100 ms. The layouts repeat, since each alone takes less than a delay.
func TestPlanEndsWithItsContext(t *testing.T) {
	t.Parallel()
	p := torso(t)
	for _, name := range []string{"a4", "roll-914", "full"} {
		o := sheets.On(paper(t, name))
		ctxtest.EndsInTime(t, func(ctx context.Context) error {
			for {
				if _, err := sheets.Plan(ctx, p, o); err != nil {
					return err
				}
			}
		}, 0, 5*time.Millisecond, 30*time.Millisecond)
	}
}
