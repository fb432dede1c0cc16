package geom

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A cubic as flat as a line with its handles anywhere on it.
func bentLine(a, b Point) Segment { return Cubic(a, a.Lerp(b, 0.1), a.Lerp(b, 0.6), b) }

func TestSegmentCrossings(t *testing.T) {
	t.Parallel()
	line, cubic := Line, bentLine
	for _, c := range []struct {
		name    string
		a, b    Point // first run
		c, d    Point // second run
		want    []Point
		overlap bool
	}{
		{"cross", Pt(0, 0), Pt(10, 10), Pt(0, 10), Pt(10, 0), []Point{Pt(5, 5)}, false},
		{"short of each other", Pt(0, 0), Pt(4, 4), Pt(0, 10), Pt(10, 0), nil, false},
		{"end on the middle", Pt(0, 0), Pt(5, 5), Pt(0, 10), Pt(10, 0), []Point{Pt(5, 5)}, false},
		{"end to end, corner", Pt(0, 0), Pt(5, 5), Pt(5, 5), Pt(10, 0), []Point{Pt(5, 5)}, false},
		{"end to end, straight on", Pt(0, 0), Pt(5, 5), Pt(5, 5), Pt(10, 10), []Point{Pt(5, 5)}, false},
		{"parallel", Pt(0, 0), Pt(10, 0), Pt(0, 1), Pt(10, 1), nil, false},
		{"on one line, apart", Pt(0, 0), Pt(4, 0), Pt(5, 0), Pt(10, 0), nil, false},
		{"on top, partly", Pt(0, 0), Pt(6, 0), Pt(4, 0), Pt(10, 0), []Point{Pt(4, 0), Pt(6, 0)}, true},
		{"on top, inside, backwards", Pt(0, 0), Pt(10, 0), Pt(7, 0), Pt(2, 0), []Point{Pt(2, 0), Pt(7, 0)}, true},
		{"on top, the same", Pt(1, 2), Pt(10, 7), Pt(1, 2), Pt(10, 7), []Point{Pt(1, 2), Pt(10, 7)}, true},
		{"within a millionth", Pt(0, 0), Pt(10, 0), Pt(5, 5e-7), Pt(5, 8), []Point{Pt(5, 0)}, false},
		{"a point on a line", Pt(3, 3), Pt(3, 3), Pt(0, 0), Pt(10, 10), []Point{Pt(3, 3)}, false},
		{"a point off a line", Pt(3, 4), Pt(3, 4), Pt(0, 0), Pt(10, 10), nil, false},
		{"two points", Pt(3, 4), Pt(3, 4), Pt(3, 4), Pt(3, 4), []Point{Pt(3, 4)}, false},
	} {
		// Lines, and the same places as cubics.
		for kind, pair := range map[string][2]Segment{
			"line × line":   {line(c.a, c.b), line(c.c, c.d)},
			"cubic × line":  {cubic(c.a, c.b), line(c.c, c.d)},
			"line × cubic":  {line(c.a, c.b), cubic(c.c, c.d)},
			"cubic × cubic": {cubic(c.a, c.b), cubic(c.c, c.d)},
		} {
			got := pair[0].Crossings(pair[1])
			ok := len(got) == len(c.want)
			for i := range got {
				ok = ok && got[i].At.Near(c.want[i], 2*JoinTol) && got[i].Overlap == c.overlap &&
					pair[0].At(got[i].ParamA).Near(got[i].At, 2*JoinTol) && pair[1].At(got[i].ParamB).Near(got[i].At, 2*JoinTol)
			}
			if !ok {
				t.Errorf("%s, %s: %+v, want %v", c.name, kind, got, c.want)
			}
		}
	}
}

// Circles r = 50 a distance e apart cross at half-angle acos(e/2r) (closed
// form); at e = 2r they touch.
func TestCircleCrossings(t *testing.T) {
	t.Parallel()
	const r = 50
	for _, e := range []float64{10, 40, 70, 95, 99.9} {
		p, q := circle(Pt(0, 0), r, 64), circle(Pt(e, 0), r, 64)
		got := p.Crossings(q)
		if len(got) != 2 {
			t.Errorf("%g apart: %d crossings", e, len(got))
			continue
		}
		angle := math.Acos(e / (2 * r))
		for i, want := range []Point{Polar(r, angle), Polar(r, -angle)} {
			if !got[i].At.Near(want, 1e-4) {
				t.Errorf("%g apart: %v, want %v", e, got[i].At, want)
			}
		}
		if math.Abs(got[0].A-r*angle) > 1e-4 || math.Abs(got[0].B-r*(math.Pi-angle)) > 1e-4 {
			t.Errorf("%g apart: %.6f and %.6f mm along", e, got[0].A, got[0].B)
		}
	}
	// Arcs of a tenth of a turn whose middles touch, and that miss by 0.01 mm.
	a, b := arc(Pt(0, 0), r, -0.3, 0.3), arc(Pt(2*r, 0), r, math.Pi-0.3, math.Pi+0.3)
	if got := a.Crossings(b.Move(Shift(a.At(0.5).Sub(b.At(0.5))))); len(got) != 1 || !got[0].At.Near(Pt(r, 0), 0.02) {
		t.Errorf("touch: %+v", got)
	}
	if got := a.Crossings(b.Move(Shift(Pt(0.01, 0)))); len(got) != 0 {
		t.Errorf("miss: %+v", got)
	}
	// A tangent line touches once; 0.01 mm farther in it cuts twice.
	if got := circle(Pt(0, 0), r, 8).Crossings(Polyline(Pt(-90, -r), Pt(90, -r))); len(got) != 1 {
		t.Errorf("tangent: %+v", got)
	}
	if got := circle(Pt(0, 0), r, 8).Crossings(Polyline(Pt(-90, -r+0.01), Pt(90, -r+0.01))); len(got) != 2 {
		t.Errorf("secant: %+v", got)
	}
}

// Two cubics that cross nine times, the most there can be (Bézout).
func TestNineCrossings(t *testing.T) {
	t.Parallel()
	a := Cubic(Pt(0, 0), Pt(100, 300), Pt(0, -200), Pt(100, 100))
	b := Cubic(Pt(0, 0), Pt(300, 100), Pt(-200, 0), Pt(100, 100))
	got := a.Crossings(b)
	if len(got) != 9 {
		t.Errorf("%d crossings", len(got))
	}
	for i, c := range got {
		if !a.At(c.ParamA).Near(b.At(c.ParamB), 2*JoinTol) || i > 0 && c.A < got[i-1].A {
			t.Errorf("%d: %+v", i, c)
		}
	}
}

// Two parts of one curve lie on top of each other where both run.
func TestCurvesOnTopOfEachOther(t *testing.T) {
	t.Parallel()
	for seed := range uint64(40) {
		p := seam(seeded(seed), 1, 0)
		s := p[0]
		if s.Straight {
			continue
		}
		a, b := s.Part(0, 0.7), s.Part(0.3, 1)
		if seed%2 == 0 {
			b = b.Reverse()
		}
		got := a.Crossings(b)
		if len(got) != 2 || !got[0].Overlap || !got[0].At.Near(s.At(0.3), 1e-4) || !got[1].At.Near(s.At(0.7), 1e-4) {
			t.Errorf("seed %d: %+v, want the run from %v to %v", seed, got, s.At(0.3), s.At(0.7))
		}
	}
}

// Every crossing found lies on both; every crossing of the curves' chords at a
// fair angle is found.
func TestCrossingsAgainstChords(t *testing.T) {
	t.Parallel()
	var found uint64
	seeds := sampled(40, 120)
	for seed := range seeds {
		r := seeded(seed)
		p, q := anyPath(r, 3, 300), anyPath(r, 3, 300)
		got := p.Crossings(q)
		found += uint64(len(got))
		for _, c := range got {
			if !p[c.IndexA].At(c.ParamA).Near(c.At, 1e-5) || !q[c.IndexB].At(c.ParamB).Near(c.At, 1e-5) ||
				!p.At(c.A).Near(c.At, 1e-3) || !q.At(c.B).Near(c.At, 1e-3) {
				t.Errorf("seed %d: %+v does not lie on both", seed, c)
			}
		}
		for _, at := range chordCrossings(p.Flatten(0.001), q.Flatten(0.001)) {
			var near bool
			for _, c := range got {
				near = near || c.At.Near(at, 0.05)
			}
			if !near {
				t.Errorf("seed %d: the chords cross at %v", seed, at)
			}
		}
		back := q.Crossings(p)
		if len(back) != len(got) {
			t.Errorf("seed %d: %d crossings one way, %d the other", seed, len(got), len(back))
		}
	}
	if found < 3*seeds {
		t.Errorf("only %d crossings", found)
	}
}

// chordCrossings returns the crossings of two polylines at an angle whose sine is
// above 0.2, well inside their chords.
func chordCrossings(p, q []Point) []Point {
	var found []Point
	for i := 1; i < len(p); i++ {
		for j := 1; j < len(q); j++ {
			u, v := p[i].Sub(p[i-1]), q[j].Sub(q[j-1])
			at, s, r, ok := MeetLines(p[i-1], u, q[j-1], v)
			if ok && s > 0.01 && s < 0.99 && r > 0.01 && r < 0.99 && math.Abs(u.Cross(v)) > 0.2*u.Norm()*v.Norm() {
				found = append(found, at)
			}
		}
	}
	return found
}

func TestSelfCrossings(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		p    Path
		want int
	}{
		{"rectangle", rectangle(0, 0, 60, 40), 0},
		{"circle", circle(Pt(0, 0), 50, 4), 0},
		{"circle of two", circle(Pt(0, 0), 50, 2), 0},
		{"bow tie", Polyline(Pt(0, 0), Pt(10, 10), Pt(10, 0), Pt(0, 10), Pt(0, 0)), 1},
		{"cubic's loop", Path{Cubic(Pt(0, 0), Pt(150, 100), Pt(-50, 100), Pt(100, 0))}, 1},
		{"cubic's cusp", Path{Cubic(Pt(0, 0), Pt(100, 100), Pt(0, 100), Pt(100, 0))}, 0},
		{"teardrop", Path{Cubic(Pt(0, 0), Pt(90, 80), Pt(-90, 80), Pt(0, 0))}, 0},
		{"out and back", Polyline(Pt(0, 0), Pt(50, 0), Pt(0, 0)), 2},
		{"spike", Polyline(Pt(0, 0), Pt(50, 0), Pt(30, 0), Pt(30, 30)), 2},
		{"narrow dart", Polyline(Pt(0, 0), Pt(50, 0), Pt(50.1, 100), Pt(50.2, 0), Pt(90, 0)), 0},
		{"folded cubic", Path{Cubic(Pt(0, 0), Pt(90, 0), Pt(-30, 0), Pt(60, 0))}, 1},
		{"corner meets a side", Polyline(Pt(0, 0), Pt(50, 0), Pt(50, 50), Pt(25, 0), Pt(0, 50), Pt(0, 0)), 1},
		{"with a point in it", Join(Polyline(Pt(0, 0), Pt(50, 0)), Path{Line(Pt(50, 0), Pt(50, 0))},
			Polyline(Pt(50, 0), Pt(50, 50))), 0},
		{"equal tangents at a point", Path{Cubic(Pt(0, 0), Pt(20, 0), Pt(30, 5), Pt(50, 50)),
			Cubic(Pt(50, 50), Pt(10, 20), Pt(20, 0), Pt(0, 0))}, 0},
	} {
		got := c.p.SelfCrossings()
		if len(got) != c.want || c.p.Simple() != (c.want == 0) {
			t.Errorf("%s: %+v, want %d", c.name, got, c.want)
		}
		for _, x := range got {
			if x.A > x.B || x.A == x.B && !x.Overlap {
				t.Errorf("%s: %+v is out of order", c.name, x)
			}
		}
		if n := len(c.p.Reverse().SelfCrossings()); n != c.want {
			t.Errorf("%s reversed: %d, want %d", c.name, n, c.want)
		}
	}
}

// A cubic's own loop against brute force.
func TestOwnLoopAgainstChords(t *testing.T) {
	t.Parallel()
	var loops int
	for seed := range uint64(2000) {
		s := anyCubic(seeded(seed), 300)
		m, ok := s.ownLoop()
		if ok {
			loops++
			if !s.At(m.a).Near(s.At(m.b), 1e-6) {
				t.Errorf("seed %d: %v and %v", seed, s.At(m.a), s.At(m.b))
			}
		}
		points := Path{s}.Flatten(0.01)
		var crosses bool
		for i := 1; i < len(points); i++ {
			for j := i + 2; j < len(points); j++ {
				_, a, b, ok := MeetLines(points[i-1], points[i].Sub(points[i-1]), points[j-1], points[j].Sub(points[j-1]))
				crosses = crosses || ok && a >= 0 && a < 1 && b >= 0 && b < 1
			}
		}
		if crosses != ok && !(ok && m.b-m.a < 0.05) {
			t.Errorf("seed %d: loop %v, chords %v", seed, ok, crosses)
		}
	}
	if loops < 20 {
		t.Errorf("only %d loops", loops)
	}
}

// Halves of one curve and pieces of one path meet at their joins only.
func TestSplitsStaySimple(t *testing.T) {
	t.Parallel()
	for seed := range uint64(200) {
		r := seeded(seed)
		p := seam(r, 3, 0)
		if !p.Simple() {
			continue
		}
		q := splinter(r, p, 6)
		if c := q.SelfCrossings(); len(c) > 0 {
			t.Errorf("seed %d: %+v", seed, c[0])
		}
	}
}

// splinter returns p cut at n places.
func splinter(r *rand.Rand, p Path, n int) Path {
	for range n {
		a, b := p.SplitAt(p.Length() * r.Float64())
		p = Join(a, b)
	}
	return p
}
