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

// What a style states lies between an order's rules for one edge and those for
// every edge of a kind.
func TestAllowancesOfAStyle(t *testing.T) {
	t.Parallel()
	mm := func(v float64) *float64 { return &v }
	bound := pattern.Edge{Name: "neckline", Run: "neckline", Role: pattern.RoleNeckline, Allowance: mm(0)}
	side := pattern.Edge{Name: "side", Run: "side", Role: pattern.RoleSeam}
	hem := pattern.Edge{Name: "bottom", Run: "bottom", Role: pattern.RoleHem}
	style := map[string]float64{"seam": 12, "hem": 40, "neckline": 8, "default": 11}
	for _, tt := range []struct {
		name  string
		order map[string]float64
		edge  pattern.Edge
		want  float64
	}{
		{"the style's by kind", nil, side, 12},
		{"the order's kind before the style's", map[string]float64{"seam": 15}, side, 15},
		{"the order's default before the style's kind", map[string]float64{"default": 15}, side, 15},
		{"a wider default is no wider hem", map[string]float64{"default": 15}, hem, 40},
		{"the style's own edge before the order's kind", map[string]float64{"seam": 15, "default": 20}, bound, 0},
		{"the order's edge before the style's", map[string]float64{"back/neckline": 5}, bound, 5},
	} {
		r := Rules{Allowances: tt.order, style: style}
		if got := r.allowance("back", tt.edge); got != tt.want {
			t.Errorf("%s: %g mm, want %g", tt.name, got, tt.want)
		}
	}
}
