package finish

import (
	"math"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// pleatedPanel is a panel of 600 by 500 mm on the fold at its left, with pleats in its waist,
// wider there than 150 mm below.
func pleatedPanel(t *testing.T, kind cutting.PleatKind, count int, change func(s *cutting.PleatRun)) pattern.Piece {
	t.Helper()
	p := pattern.Piece{Name: "panel", Title: "Panel", Cut: pattern.Cut{Count: 1, OnFold: true},
		Edges: []pattern.Edge{edge("waist", pattern.RoleSeam, ln(0, 0, 600, 0)),
			edge("side", pattern.RoleSeam, ln(600, 0, 600, 500)), edge("hem", pattern.RoleHem, ln(600, 500, 0, 500)),
			edge("centre", pattern.RoleFold, ln(0, 500, 0, 0))},
		Grain: ln(300, 50, 300, 450)}
	s := cutting.PleatRun{Name: "pleat", Run: "waist", Kind: kind, Count: count, To: 600, Width: 90, Foot: 80, Depth: 150,
		DownTo: "hem"}
	if change != nil {
		change(&s)
	}
	p, err := cutting.AddPleats(p, s)
	if err != nil {
		t.Fatal(err)
	}
	return cutting.Numbered(p)
}

// Folds that touch are finished as one edge: folded, the seam line of every layer lies on the
// waist beside it, the cut line runs on over them at the allowance, and a notch is snipped at
// each line, once where two touch.
func TestTouchingPleats(t *testing.T) {
	t.Parallel()
	halfAtFold := func(s *cutting.PleatRun) { s.HalvedStart = true }
	halvedBoth := func(s *cutting.PleatRun) { s.HalvedStart, s.HalvedEnd = true, true }
	for _, c := range []struct {
		kind   cutting.PleatKind
		count  int
		change func(s *cutting.PleatRun)
		lines  int // at the waist
	}{
		{cutting.InvertedPleats, 4, nil, 12},
		{cutting.InvertedPleats, 4, halfAtFold, 11},
		{cutting.BoxPleats, 4, nil, 16},
		{cutting.BoxPleats, 5, halvedBoth, 16},
		{cutting.BoxPleats, 5, func(s *cutting.PleatRun) {
			halvedBoth(s)
			s.Width, s.Foot = 100, 100 // closed: the boxes touch
		}, 12},
	} {
		p := finished(t, pleatedPanel(t, c.kind, c.count, c.change), map[string]float64{"seam": 12, "hem": 30})
		mouths, err := mouthsOf(p.Piece)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range mouths {
			beside := p.Edges[m.beside(m.pressed, len(p.Edges))]
			if beside.Role != pattern.RoleSeam {
				t.Errorf("%s: the %s is folded over an edge of role %s", c.kind, m.dart, beside.Role)
			}
			for _, q := range p.Edges[m.edge].Path.Flatten(0.01) {
				if d := math.Abs(folded(m, q).Y); d > 0.02 { // on the line of the waist
					t.Errorf("%s: folded, the %s lies %.3f mm off the waist", c.kind, m.dart, d)
					break
				}
			}
		}
		// Every point of the waist's cut line lies 12 mm from the waist with its mouths.
		var waist geom.Path
		for _, e := range p.Edges {
			if e.Run == "waist" || e.Role == pattern.RoleDartMouth {
				waist = append(waist, e.Path...)
			}
		}
		for _, q := range p.CutLine.Flatten(0.01) {
			if q.Y > 0 || q.X < 1 || q.X > 599 {
				continue
			}
			if _, d, _ := waist.Nearest(q); math.Abs(d-12) > 1.5 { // the corners of the folds are mitred
				t.Errorf("%s: the cut line at (%.1f, %.1f) lies %.2f mm from the waist", c.kind, q.X, q.Y, d)
			}
		}
		seen := map[int]bool{}
		for _, k := range p.Ticks {
			if from := k.Stroke.P0; math.Abs(from.Y) < 0.01 {
				at := int(math.Round(100 * from.X))
				if seen[at] {
					t.Errorf("%s: two notches at %.2f mm of the waist", c.kind, from.X)
				}
				seen[at] = true
			}
		}
		if len(seen) != c.lines {
			t.Errorf("%s: notches at %d lines of the waist, want %d", c.kind, len(seen), c.lines)
		}
		if whole, err := p.Unfold(); err != nil {
			t.Errorf("%s: %v", c.kind, err)
		} else if err := checkCutLine(whole.Piece, whole.CutLine); err != nil {
			t.Errorf("%s opened out: %v", c.kind, err)
		}
	}
}
