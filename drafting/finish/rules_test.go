package finish

import (
	"testing"

	"tapeline/drafting/pattern"
)

// An edge that darts or seams cut into parts goes by its whole name too; the
// part's own name comes first.
func TestRuleForEdgeInParts(t *testing.T) {
	t.Parallel()
	r := Rules{Allowances: map[string]float64{"default": 10, "side": 15, "front/side": 20, "front/side_2": 25}}
	for _, tt := range []struct {
		piece, name string
		want        float64
	}{
		{"back", "side_1", 15}, {"front", "side_1", 20}, {"front", "side_2", 25}, {"back", "shoulder", 10},
	} {
		run := tt.name
		if run != "shoulder" {
			run = "side"
		}
		if got := r.allowance(tt.piece, pattern.Edge{Name: tt.name, Run: run, Role: pattern.RoleSeam}); got != tt.want {
			t.Errorf("%s/%s gets %g mm, want %g", tt.piece, tt.name, got, tt.want)
		}
	}
}
