package cutting_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// panel is a straight piece of 600 by 500 mm with the fold at its left.
func panel() pattern.Piece {
	a, b, c, d := geom.Pt(0, 0), geom.Pt(600, 0), geom.Pt(600, 500), geom.Pt(0, 500)
	edge := func(name string, role pattern.Role, from, to geom.Point) pattern.Edge {
		return pattern.Edge{Name: name, Run: name, Role: role, Path: geom.Polyline(from, to)}
	}
	return pattern.Piece{Name: "panel", Title: "Panel", Cut: pattern.Cut{Count: 1, OnFold: true},
		Edges: []pattern.Edge{edge("waist", pattern.RoleSeam, a, b), edge("side", pattern.RoleSeam, b, c),
			edge("hem", pattern.RoleHem, c, d), edge("centre", pattern.RoleFold, d, a)},
		Grain: geom.Line(geom.Pt(300, 50), geom.Pt(300, 450))}
}

// run is a run of pleats along the panel's waist.
func run(kind cutting.PleatKind, count int, change func(s *cutting.PleatRun)) cutting.PleatRun {
	s := cutting.PleatRun{Name: "pleat", Run: "waist", Kind: kind, Count: count, To: 600, Depth: 120, DownTo: "hem"}
	if change != nil {
		change(&s)
	}
	return s
}

// Closed pleats of every kind take cloth of three times their finished width (common
// practice), and the edge as sewn has exactly that length. The folds lie where a cutter would
// mark them: of a strip of 600 mm, 4 pleats of 50 mm as seen.
func TestClosedPleats(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind   cutting.PleatKind
		change func(s *cutting.PleatRun)
		mouths [][2]float64 // from and to along the flat edge
		hem    int          // notches
	}{
		{cutting.KnifePleats, nil, [][2]float64{{25, 125}, {175, 275}, {325, 425}, {475, 575}}, 8},
		// The folds of an inverted pleat touch: three notches for each.
		{cutting.InvertedPleats, nil, [][2]float64{{25, 75}, {75, 125}, {175, 225}, {225, 275}, {325, 375}, {375, 425},
			{475, 525}, {525, 575}}, 12},
		// Half a box at both ends: 5 pleats in 4 distances, the folds where inverted pleats have them.
		{cutting.BoxPleats, func(s *cutting.PleatRun) { s.Count, s.HalvedStart, s.HalvedEnd = 5, true, true },
			[][2]float64{{25, 75}, {75, 125}, {175, 225}, {225, 275}, {325, 375}, {375, 425}, {475, 525}, {525, 575}}, 12},
	} {
		p := panel()
		q, err := cutting.AddPleats(p, run(c.kind, 4, c.change))
		if err != nil {
			t.Fatal(c.kind, err)
		}
		near(t, string(c.kind)+": waist as sewn", q.RunLength("waist"), 600.0/3, 1e-9)
		if len(q.Darts) != len(c.mouths) {
			t.Fatalf("%s: %d folds, want %d", c.kind, len(q.Darts), len(c.mouths))
		}
		for i, want := range c.mouths {
			path := mouthAlong(q, i)
			near(t, fmt.Sprintf("%s fold %d starts", c.kind, i+1), path.Start().X, want[0], 1e-9)
			near(t, fmt.Sprintf("%s fold %d ends", c.kind, i+1), path.End().X, want[1], 1e-9)
		}
		if len(q.Notches) != c.hem {
			t.Errorf("%s: %d notches at the hem, want %d", c.kind, len(q.Notches), c.hem)
		}
		sound(t, q)
	}
}

// mouthAlong returns the mouth of fold i along the waist.
func mouthAlong(p pattern.Piece, i int) geom.Path {
	for _, e := range p.Edges {
		if e.Role != pattern.RoleDartMouth {
			continue
		}
		if i == 0 {
			return e.Path
		}
		i--
	}
	return nil
}

// Folded, the layers of a box pleat meet behind its middle, and of an inverted pleat the
// visible folds meet in front: each line is laid on its partner, a piece of paper folded
// twice.
func TestBoxAndInvertedPleats(t *testing.T) {
	t.Parallel()
	wide := func(s *cutting.PleatRun) { s.Width, s.Foot = 80, 60 }
	box, err := cutting.AddPleats(panel(), run(cutting.BoxPleats, 3, wide))
	if err != nil {
		t.Fatal(err)
	}
	inverted, err := cutting.AddPleats(panel(), run(cutting.InvertedPleats, 3, wide))
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		name := fmt.Sprintf("pleat_%d", i+1)
		first, last := box.Dart(name+"_start"), box.Dart(name+"_end")
		// Each fold lies on the other fold's far side: the box is as wide as what lies behind it.
		panelWidth := last.Legs[0].End().X - first.Legs[1].End().X
		behind := (first.Legs[1].End().X - first.Legs[0].End().X) / 2
		near(t, name+" box at its foot", panelWidth, 2*behind, 1e-9)
		if first.Pressed != 1 || last.Pressed != 0 {
			t.Errorf("%s: the box's folds are pressed over legs %d and %d", name, first.Pressed, last.Pressed)
		}
		first, last = inverted.Dart(name+"_start"), inverted.Dart(name+"_end")
		if meet := first.Legs[1].Start(); !meet.Near(last.Legs[0].Start(), 1e-9) ||
			!first.Legs[1].End().Near(last.Legs[0].End(), 1e-9) {
			t.Errorf("%s: the inverted pleat's folds do not meet", name)
		}
		if first.Pressed != 0 || last.Pressed != 1 {
			t.Errorf("%s: the inverted folds are pressed over legs %d and %d", name, first.Pressed, last.Pressed)
		}
		// What meets stays upright; the visible fold takes the difference of waist and foot.
		near(t, name+" line that meets", first.Legs[1].End().X-first.Legs[1].Start().X, 0, 1e-9)
		near(t, name+" line that is laid", first.Legs[0].End().X-first.Legs[0].Start().X, (80-60)/2, 1e-9)
	}
	for _, q := range []pattern.Piece{box, inverted} {
		near(t, "waist as sewn", q.RunLength("waist"), 600-3*80, 1e-9)
		sound(t, q)
	}
}

// Half an inverted pleat at the fold is a whole one when the piece is opened out.
func TestInvertedPleatAtTheFold(t *testing.T) {
	t.Parallel()
	q, err := cutting.AddPleats(panel(), run(cutting.InvertedPleats, 1, func(s *cutting.PleatRun) {
		s.To, s.HalvedStart, s.Width = 120, true, 80 // in a distance of 240 mm
	}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "waist as sewn", q.RunLength("waist"), 560, 1e-9)
	sound(t, q)
	whole, err := cutting.Unfold(q, "centre", "left_")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "both waists as sewn", whole.RunLength("waist"), 1120, 1e-9)
	if len(whole.Darts) != 2 {
		t.Errorf("%d folds, want 2", len(whole.Darts))
	}
	sound(t, whole)
}

func TestPleatsThatDoNotFit(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind   cutting.PleatKind
		count  int
		change func(s *cutting.PleatRun)
		says   string
	}{
		{cutting.KnifePleats, 4, func(s *cutting.PleatRun) { s.Width = 110 },
			"pleats that take 110.0 mm of each 150.0 mm of the edge, at their foot, would lie on each other; must be more " +
				"than 0, at most 100.0"},
		{cutting.KnifePleats, 4, func(s *cutting.PleatRun) { s.Width, s.Foot = 149.5, 90 }, "at most 149.0"},
		{cutting.KnifePleats, 0, nil, "0 pleats; must be from 1 to 40"},
		{cutting.KnifePleats, 41, nil, "41 pleats; must be from 1 to 40"},
		{cutting.KnifePleats, 4, func(s *cutting.PleatRun) { s.To = 700 }, "from 0.0 to 700.0 mm along it; must lie " +
			"between 0 and 600.0 mm"},
		{cutting.KnifePleats, 4, func(s *cutting.PleatRun) { s.HalvedStart = true }, "half a knife pleat"},
		{cutting.BoxPleats, 4, func(s *cutting.PleatRun) { s.ToStart = true }, "only knife pleats have a direction"},
		{cutting.BoxPleats, 1, func(s *cutting.PleatRun) { s.HalvedStart, s.HalvedEnd = true, true }, "must be at least 2"},
		{cutting.BoxPleats, 4, func(s *cutting.PleatRun) { s.Width = 99.5 }, "box pleats of 49.8 mm leave 0.8 mm between"},
		{cutting.BoxPleats, 4, nil, "must touch a fold or another pleat"}, // closed, at the side seam
		{cutting.BoxPleats, 4, func(s *cutting.PleatRun) { s.Width, s.Foot = 100, 66 }, "leave -1.0 mm between their folds"},
		{cutting.InvertedPleats, 4, func(s *cutting.PleatRun) { s.HalvedEnd = true }, "must touch a fold"},
		{cutting.InvertedPleats, 4, func(s *cutting.PleatRun) { s.Depth = 900 }, "would reach out of the piece"},
		{cutting.InvertedPleats, 4, func(s *cutting.PleatRun) { s.DownTo = "foot" }, "unknown edge \"foot\""},
		{"fan", 4, nil, "must be knife, box or inverted"},
	} {
		if _, err := cutting.AddPleats(panel(), run(c.kind, c.count, c.change)); err == nil ||
			!strings.Contains(err.Error(), c.says) {
			t.Errorf("%d %s: %v, want %q", c.count, c.kind, err, c.says)
		}
	}
}

func TestFittingPleats(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		change func(s *cutting.PleatRun)
		seen   float64
		want   int
	}{
		{nil, 50, 4},
		{nil, 45, 4},
		{nil, 1e9, 1},
		{nil, 0.01, 41}, // more than are laid
		{func(s *cutting.PleatRun) { s.Width = 60 }, 60, 5},
		{func(s *cutting.PleatRun) { s.HalvedStart, s.HalvedEnd = true, true }, 50, 5},
		{func(s *cutting.PleatRun) { s.HalvedStart = true }, 50, 5},
	} {
		s := run(cutting.BoxPleats, 0, c.change)
		if got := s.Fitting(c.seen); got != c.want {
			t.Errorf("%+v fits %d pleats of %g mm, want %d", s, got, c.seen, c.want)
		}
	}
}

// sector is a twelfth of a ring: radii of 300 and 800 mm.
func ring() pattern.Piece {
	const inner, outer, angle = 300, 800, math.Pi / 6
	at := func(r, a float64) geom.Point { return geom.Pt(r*math.Sin(a), r*math.Cos(a)) }
	arc := func(r float64) geom.Path {
		h := 4.0 / 3 * math.Tan(angle/4) * r
		a, b := at(r, 0), at(r, angle)
		return geom.Path{geom.Cubic(a, a.Add(geom.Pt(h, 0)), b.Sub(geom.Pt(math.Cos(angle), -math.Sin(angle)).Mul(h)), b)}
	}
	edge := func(name string, role pattern.Role, path geom.Path) pattern.Edge {
		return pattern.Edge{Name: name, Run: name, Role: role, Path: path}
	}
	return pattern.Piece{Name: "ring", Title: "Ring", Cut: pattern.Cut{Count: 1},
		Edges: []pattern.Edge{edge("waist", pattern.RoleSeam, arc(inner)),
			edge("side", pattern.RoleSeam, geom.Polyline(at(inner, angle), at(outer, angle))),
			edge("hem", pattern.RoleHem, arc(outer).Reverse()),
			edge("centre", pattern.RoleSeam, geom.Polyline(at(outer, 0), at(inner, 0)))},
		Grain: geom.Line(at(400, angle/2), at(700, angle/2))}
}

// Sunray pleats: every line runs from the circle's centre, all turn by the same angle, and at
// every radius a pleat takes its share of the circumference there. An arc of 30 degrees and
// radius 300 is 157.08 mm long; sewn to 60 mm by 6 pleats, each takes 16.18 mm at the waist and
// 800/300 of it at the hem.
func TestSunray(t *testing.T) {
	t.Parallel()
	const count, sewn = 6, 60.0
	p := ring()
	q, err := cutting.AddSunray(p, cutting.SunrayRun{Name: "ray", Run: "waist", DownTo: "hem", Count: count, Sewn: sewn,
		Depth: 40})
	if err != nil {
		t.Fatal(err)
	}
	sound(t, q)
	near(t, "waist as sewn", q.RunLength("waist"), sewn, 1e-3)
	width := (300*math.Pi/6 - sewn) / count
	pitch, turn := math.Pi/6/count, width/300
	angles := map[string][]float64{}
	for _, l := range q.Lines {
		if !strings.Contains(l.Name, "_fold_") {
			continue
		}
		a, b := l.Path.Start(), l.Path.End()
		near(t, l.Name+" starts", a.Norm(), 340, 1e-3)
		near(t, l.Name+" ends at the hem", b.Norm(), 800, 0.01)
		near(t, l.Name+" passes the centre by", a.Cross(b.Sub(a).Unit()), 0, 0.01)
		name, _, _ := strings.Cut(l.Name, "_fold")
		angles[name] = append(angles[name], math.Atan2(a.X, a.Y))
	}
	for i := range count {
		name := fmt.Sprintf("ray_%d", i+1)
		a := angles[name]
		if len(a) != 2 {
			t.Fatalf("%s has %d lines", name, len(a))
		}
		near(t, name+" starts at angle", a[0], (float64(i)+0.5)*pitch-turn/2, 1e-5)
		near(t, name+" turns by", a[1]-a[0], turn, 1e-5)
		// At the hem: what is folded away is in proportion to the radius.
		near(t, name+" takes at the hem", 800*(a[1]-a[0]), width*800/300, 0.01)
	}
	near(t, "hem over the closed pleats", q.RunLength("hem")-count*width*800/300, sewn*800/300, 0.01)
}

func TestSunrayThatDoesNotFit(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		p    pattern.Piece
		run  string
		to   float64
		n    int
		says string
	}{
		{ring(), "waist", 50, 6, "must be from 52.4 mm"},
		{ring(), "waist", 157, 6, "to 156.1 mm"},
		{ring(), "waist", 60, 0, "must be from 1 to 40"},
		{ring(), "hem", 200, 6, "lies inside the circle"},
		{ring(), "side", 300, 6, "it is straight"},
		{panel(), "waist", 300, 6, "it is straight"},
	} {
		_, err := cutting.AddSunray(c.p, cutting.SunrayRun{Name: "ray", Run: c.run, DownTo: "hem", Count: c.n, Sewn: c.to,
			Depth: 40})
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s sewn to %g: %v, want %q", c.run, c.to, err, c.says)
		}
	}
}
