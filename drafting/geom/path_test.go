package geom

import (
	"math"
	"reflect"
	"slices"
	"testing"
)

func TestPathJoins(t *testing.T) {
	t.Parallel()
	a := Line(Pt(0, 0), Pt(10, 0))
	if err := (Path{a, Line(a.P3, Pt(0, 9))}).Check(); err != nil {
		t.Error(err)
	}
	err := Path{a, Line(Pt(10, 0.5), Pt(20, 0))}.Check()
	if want := "path broken before segment 1: gap 0.5 mm"; err == nil || err.Error() != want {
		t.Errorf("error %v, want %q", err, want)
	}
	if (Path{a, Line(Pt(math.NaN(), 0), Pt(1, 1))}).Check() == nil {
		t.Error("no error for a start that is not a number")
	}
}

// No method returns a path that shares its segments: writing into the result
// leaves the path as it was.
func TestPathsShareNothing(t *testing.T) {
	t.Parallel()
	p := armhole(30)
	n := p.Length()
	for name, derive := range map[string]func(Path) []Path{
		"Join":        func(p Path) []Path { return []Path{Join(p)} },
		"SplitAt":     func(p Path) []Path { a, b := p.SplitAt(n / 2); return []Path{a, b} },
		"SplitAt 0":   func(p Path) []Path { a, b := p.SplitAt(0); return []Path{a, b} },
		"SplitAt end": func(p Path) []Path { a, b := p.SplitAt(n); return []Path{a, b} },
		"Part":        func(p Path) []Path { return []Path{p.Part(0, n)} },
		"Reverse":     func(p Path) []Path { return []Path{p.Reverse()} },
		"Move":        func(p Path) []Path { return []Path{p.Move(Still)} },
		"Offset":      func(p Path) []Path { return []Path{p.Offset(0, 0)} },
		"MoveEnd":     func(p Path) []Path { return []Path{p.MoveEnd(p.End())} },
		"MoveStart":   func(p Path) []Path { return []Path{p.MoveStart(p.Start())} },
		"MergeLines":  func(p Path) []Path { return []Path{p.MergeLines()} },
		"ClipTo":      func(p Path) []Path { return p.ClipTo(rectangle(-999, -999, 999, 999)) },
		"Scale":       func(p Path) []Path { return []Path{p.Scale(Pt(0, 0), 1)} },
		"Stretch":     func(p Path) []Path { return []Path{p.Stretch(p.Start(), p.End())} },
	} {
		before := slices.Clone(p)
		for _, derived := range derive(p) {
			for i := range derived {
				derived[i] = Line(Pt(-1, -1), Pt(-2, -2))
			}
			_ = append(derived, derived...)
		}
		if !slices.Equal(p, before) {
			t.Errorf("%s returns segments of its argument", name)
		}
	}
}

func TestEmptyPath(t *testing.T) {
	t.Parallel()
	var p Path
	before, after := p.SplitAt(3)
	if p.Length() != 0 || p.Closed() || p.Area() != 0 || p.Start() != (Point{}) || p.End() != (Point{}) ||
		p.At(1) != (Point{}) || p.TangentAt(1) != (Point{}) || before != nil || after != nil ||
		p.Flatten(1) != nil || !p.Bounds().Empty() || p.Contains(Pt(0, 0)) || !p.Simple() ||
		p.Crossings(rectangle(0, 0, 1, 1)) != nil {
		t.Error("the methods of an empty path return something")
	}
	if _, d, _ := p.Nearest(Pt(1, 1)); !math.IsInf(d, 1) {
		t.Errorf("nothing is %g mm away", d)
	}
}

func TestReverseKeepsLengthAndTurnsArea(t *testing.T) {
	t.Parallel()
	for seed := range uint64(100) {
		p := anyPath(seeded(seed), 5, 300)
		q := p.Reverse()
		if n := p.Length(); math.Abs(n-q.Length()) > 1e-7*n {
			t.Errorf("seed %d: length %.9f, reversed %.9f", seed, n, q.Length())
		}
		if a := p.Area(); math.Abs(a+q.Area()) > 1e-6*(1+math.Abs(a)) {
			t.Errorf("seed %d: area %.6f, reversed %.6f", seed, a, q.Area())
		}
		if q.Start() != p.End() || q.End() != p.Start() || !reflect.DeepEqual(q.Reverse(), p) {
			t.Errorf("seed %d: reversed twice is not the path", seed)
		}
		if q.Check() != nil {
			t.Errorf("seed %d: %v", seed, q.Check())
		}
	}
}

func TestSplitPartsAddUp(t *testing.T) {
	t.Parallel()
	for seed := range uint64(100) {
		r := seeded(seed)
		p := anyPath(r, 4, 300)
		n := p.Length()
		d := n * r.Float64()
		a, b := p.SplitAt(d)
		if math.Abs(a.Length()-d) > promised*n || math.Abs(a.Length()+b.Length()-n) > promised*n {
			t.Errorf("seed %d: %.7f + %.7f, split %.7f at %.7f", seed, a.Length(), b.Length(), n, d)
		}
		if a.End() != b.Start() || !a.End().Near(p.At(d), 1e-9) {
			t.Errorf("seed %d: the parts part", seed)
		}
		d0, d1 := d*r.Float64(), d
		if part := p.Part(d0, d1); math.Abs(part.Length()-(d1-d0)) > promised*n {
			t.Errorf("seed %d: part of %.7f, want %.7f", seed, part.Length(), d1-d0)
		}
		// The curves are the same: a point of either part lies on the path.
		for _, part := range []Path{a, b} {
			if _, off, _ := p.Nearest(part.At(part.Length() * r.Float64())); off > 1e-9 {
				t.Errorf("seed %d: a part lies %.3g off the path", seed, off)
			}
		}
	}
}

func TestSplitAtJoinsAndEnds(t *testing.T) {
	t.Parallel()
	p := Polyline(Pt(0, 0), Pt(10, 0), Pt(30, 0))
	for _, c := range []struct {
		d             float64
		before, after int // segments
	}{
		{-1, 0, 2}, {0, 0, 2}, {JoinTol / 2, 0, 2}, {5, 1, 2}, {10, 1, 1}, {10 - JoinTol/2, 1, 1}, {10 + JoinTol/2, 1, 1},
		{20, 2, 1}, {30 - JoinTol/2, 2, 0}, {30, 2, 0}, {99, 2, 0}, {math.NaN(), 0, 2},
	} {
		a, b := p.SplitAt(c.d)
		if len(a) != c.before || len(b) != c.after {
			t.Errorf("at %g: %d and %d segments, want %d and %d", c.d, len(a), len(b), c.before, c.after)
		}
		if (a == nil) != (c.before == 0) || (b == nil) != (c.after == 0) {
			t.Errorf("at %g: an empty side is not nil", c.d)
		}
	}
	a, _ := p.SplitAt(10)
	a[0] = Line(Pt(7, 7), Pt(8, 8))
	if p[0] != Line(Pt(0, 0), Pt(10, 0)) {
		t.Error("the parts share segments with the path")
	}
}

func TestMotionKeepsLengthAndArea(t *testing.T) {
	t.Parallel()
	for seed := range uint64(100) {
		r := seeded(seed)
		p := anyPath(r, 4, 300)
		pt := func() Point { return Pt(600*r.Float64()-300, 600*r.Float64()-300) }
		for name, m := range map[string]Motion{
			"shift":   Shift(pt()),
			"turn":    Turn(pt(), 7*r.Float64()),
			"reflect": Reflect(pt(), pt()),
			"all":     Turn(pt(), 1).Then(Reflect(pt(), pt())).Then(Shift(pt())),
		} {
			q := p.Move(m)
			if n := p.Length(); math.Abs(n-q.Length()) > 1e-7*n {
				t.Errorf("seed %d %s: length %.9f became %.9f", seed, name, n, q.Length())
			}
			want := p.Area()
			if m.Mirrors() {
				want = -want
			}
			if math.Abs(q.Area()-want) > 1e-6*(1+math.Abs(want)) {
				t.Errorf("seed %d %s: area %.6f, want %.6f", seed, name, q.Area(), want)
			}
			if d := p.Length() / 3; !q.At(d).Near(m.Apply(p.At(d)), 1e-4) {
				t.Errorf("seed %d %s: the point at length is not carried along", seed, name)
			}
		}
	}
}

func TestMotions(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		m    Motion
		want Point // of (3, 1)
	}{
		{"still", Still, Pt(3, 1)},
		{"shift", Shift(Pt(1, -5)), Pt(4, -4)},
		{"quarter clockwise as seen (y down)", Turn(Pt(0, 0), math.Pi/2), Pt(-1, 3)},
		{"half about (1, 1)", Turn(Pt(1, 1), math.Pi), Pt(-1, 1)},
		{"in the vertical through x = 5", Reflect(Pt(5, 9), Pt(0, 2)), Pt(7, 1)},
		{"in y = x", Reflect(Pt(0, 0), Pt(1, 1)), Pt(1, 3)},
		{"turn, then shift", Turn(Pt(0, 0), math.Pi/2).Then(Shift(Pt(1, 0))), Pt(0, 3)},
		{"twice mirrored", Reflect(Pt(1, 2), Pt(3, 4)).Then(Reflect(Pt(1, 2), Pt(3, 4))), Pt(3, 1)},
	} {
		if got := c.m.Apply(Pt(3, 1)); !got.Near(c.want, 1e-12) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if v, w := c.m.ApplyVector(Pt(2, 1)), c.m.Apply(Pt(2, 1)).Sub(c.m.Apply(Pt(0, 0))); !v.Near(w, 1e-12) {
			t.Errorf("%s: direction %v, want %v", c.name, v, w)
		}
	}
	if p := Pt(3, 1).Rotate(Pt(1, 1), math.Pi/2); !p.Near(Pt(1, 3), 1e-12) {
		t.Errorf("Rotate: %v", p)
	}
}

// Area by closed form: rectangle, circle πr², parabola segment (b−a)³/6
// (Archimedes), and the sign rule.
func TestArea(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		p    Path
		want float64
	}{
		{"rectangle clockwise", rectangle(5, 5, 35, 25), 600},
		{"rectangle anticlockwise", rectangle(5, 5, 35, 25).Reverse(), -600},
		{"circle", circle(Pt(50, 60), 100, 128), math.Pi * 1e4},
		{"parabola under its chord", Path{parabola(-3, 5)}, 8 * 8 * 8 / 6.0},
		{"far from the origin", rectangle(1e6, 1e6, 1e6+30, 1e6+20), 600},
	} {
		if got := c.p.Area(); math.Abs(got-c.want) > 1e-7*math.Abs(c.want) {
			t.Errorf("%s: %.9f, want %.9f", c.name, got, c.want)
		}
	}
}

// The chord error of a flattened curve, measured.
func TestFlattenKeepsChordError(t *testing.T) {
	t.Parallel()
	for _, tol := range []float64{1, 0.05, 0.001} {
		for seed := range sampled(12, 60) {
			p := anyPath(seeded(seed), 3, 300)
			if seed%2 == 0 {
				p = seam(seeded(seed), 3, 0.5)
			}
			points := p.Flatten(tol)
			chords := Polyline(points...)
			if points[0] != p.Start() || points[len(points)-1] != p.End() {
				t.Errorf("seed %d: an end is lost", seed)
			}
			sample(p, 200, func(i int, u float64, q Point) {
				if _, d, _ := chords.Nearest(q); d > tol {
					t.Errorf("seed %d tol %g: segment %d at %.3f lies %.5f off", seed, tol, i, u, d)
				}
			})
			// Not needlessly many either: a tolerance ten thousand times finer
			// takes about a hundred times the chords.
			if few, many := len(points), len(p.Flatten(tol*1e-4)); many > 101*few {
				t.Errorf("seed %d tol %g: %d chords, %d for a finer one", seed, tol, few, many)
			}
		}
	}
	for _, s := range []Segment{
		Cubic(Pt(0, 0), Pt(math.NaN(), 0), Pt(1, 1), Pt(2, 2)), Cubic(Pt(0, 0), Pt(1e300, 0), Pt(-1e300, 1), Pt(2, 2)),
		Cubic(Pt(0, 0), Pt(math.Inf(1), 0), Pt(1, 1), Pt(2, 2)),
	} {
		if n := len(Path{s}.Flatten(0.01)); n > maxChords+1 {
			t.Errorf("%v: %d points", s, n)
		}
	}
}

func TestBounds(t *testing.T) {
	t.Parallel()
	b := circle(Pt(10, 20), 100, 5).Bounds()
	want := Box{Pt(-90, -80), Pt(110, 120)}
	if !b.Min.Near(want.Min, 0.01) || !b.Max.Near(want.Max, 0.01) {
		t.Errorf("circle: %v, want %v", b, want)
	}
	for seed := range uint64(100) {
		s := anyCubic(seeded(seed), 300)
		tight := EmptyBox()
		sample(Path{s}, 2000, func(_ int, _ float64, q Point) { tight = tight.With(q) })
		b := s.Bounds()
		if !b.Grow(1e-9).Holds(tight) || !tight.Grow(0.01).Holds(b) {
			t.Errorf("seed %d: %v, sampled %v", seed, b, tight)
		}
	}
}

func TestTangentsOfDegenerateHandles(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name       string
		s          Segment
		start, end Point
	}{
		{"handles on the ends", Cubic(Pt(0, 0), Pt(0, 0), Pt(10, 0), Pt(10, 0)), Pt(1, 0), Pt(1, 0)},
		{"first handle on its end", Cubic(Pt(0, 0), Pt(0, 0), Pt(0, 9), Pt(9, 9)), Pt(0, 1), Pt(1, 0)},
		{"last handle on its end", Cubic(Pt(0, 0), Pt(0, 9), Pt(9, 9), Pt(9, 9)), Pt(0, 1), Pt(1, 0)},
		{"both handles on the end", Cubic(Pt(0, 0), Pt(9, 9), Pt(9, 9), Pt(9, 9)), Pt(1, 1).Unit(), Pt(1, 1).Unit()},
		{"a point", Cubic(Pt(4, 4), Pt(4, 4), Pt(4, 4), Pt(4, 4)), Point{}, Point{}},
	} {
		if a, b := c.s.Tangent(0), c.s.Tangent(1); !a.Near(c.start, 1e-9) || !b.Near(c.end, 1e-9) {
			t.Errorf("%s: %v and %v, want %v and %v", c.name, a, b, c.start, c.end)
		}
	}
}
