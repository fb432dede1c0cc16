package geom

import (
	"math"
	"testing"
)

func TestNearest(t *testing.T) {
	t.Parallel()
	// On a circle the nearest point is straight out (closed form).
	p := circle(Pt(10, 20), 100, 64)
	for _, q := range []Point{Pt(30, 40), Pt(500, -90), Pt(10, 119), Pt(-95, 20)} {
		at, d, along := p.Nearest(q)
		v := q.Sub(Pt(10, 20))
		if want := math.Abs(v.Norm() - 100); math.Abs(d-want) > 1e-6 || !at.Near(Pt(10, 20).Add(v.Unit().Mul(100)), 1e-4) {
			t.Errorf("%v: %v at %.7f, want %.7f", q, at, d, want)
		}
		if !p.At(along).Near(at, 1e-4) {
			t.Errorf("%v: %.6f mm along is %v, not %v", q, along, p.At(along), at)
		}
	}
	// From the centre every place is as near.
	if _, d, _ := p.Nearest(Pt(10, 20)); math.Abs(d-100) > 1e-6 {
		t.Errorf("centre: %g", d)
	}
}

// Against brute force: no sample of the path is nearer, and the place found
// is as near as it says.
func TestNearestAgainstSamples(t *testing.T) {
	t.Parallel()
	for seed := range uint64(400) {
		r := seeded(seed)
		p := anyPath(r, 3, 300)
		for range 5 {
			q := Pt(500*r.Float64()-100, 500*r.Float64()-100)
			at, d, along := p.Nearest(q)
			if math.Abs(at.Dist(q)-d) > 1e-9 || !p.At(along).Near(at, 1e-3) {
				t.Errorf("seed %d: %v is %.9f from %v, not %.9f", seed, at, at.Dist(q), q, d)
			}
			sample(p, 300, func(i int, u float64, x Point) {
				if x.Dist(q) < d-1e-9 {
					t.Errorf("seed %d: segment %d at %.4f is %.9f from %v, nearer than %.9f", seed, i, u, x.Dist(q), q, d)
				}
			})
		}
	}
}

func TestContains(t *testing.T) {
	t.Parallel()
	twice := Join(circle(Pt(0, 0), 50, 4), circle(Pt(0, 0), 50, 4))
	for _, c := range []struct {
		name string
		p    Path
		q    Point
		want int
	}{
		{"rectangle", rectangle(0, 0, 60, 40), Pt(30, 20), 1},
		{"anticlockwise", rectangle(0, 0, 60, 40).Reverse(), Pt(30, 20), -1},
		{"left of it", rectangle(0, 0, 60, 40), Pt(-1, 20), 0},
		{"right of it", rectangle(0, 0, 60, 40), Pt(61, 20), 0},
		{"above it", rectangle(0, 0, 60, 40), Pt(30, -1), 0},
		{"level with its top, outside", rectangle(0, 0, 60, 40), Pt(-5, 0), 0},
		{"level with its foot, outside", rectangle(0, 0, 60, 40), Pt(-5, 40), 0},
		{"level with a corner", Polyline(Pt(0, 0), Pt(50, 20), Pt(0, 40), Pt(-50, 20), Pt(0, 0)), Pt(0, 20), 1},
		{"level with corners, outside", Polyline(Pt(0, 0), Pt(50, 20), Pt(0, 40), Pt(-50, 20), Pt(0, 0)), Pt(-51, 20), 0},
		{"circle", circle(Pt(0, 0), 50, 3), Pt(34, 34), 1},
		{"circle, beside the curve", circle(Pt(0, 0), 50, 3), Pt(36, 36), 0},
		{"level with where the arcs meet", circle(Pt(0, 0), 50, 2), Pt(0, 0), 1},
		{"level with where the arcs meet, outside", circle(Pt(0, 0), 50, 2), Pt(-51, 0), 0},
		{"twice round", twice, Pt(1, 2), 2},
		{"open, closed by a line", Path{arc(Pt(0, 0), 50, 0, math.Pi)}, Pt(0, 10), 1},
		{"bow tie, one wing", Polyline(Pt(0, 0), Pt(10, 10), Pt(10, 0), Pt(0, 10), Pt(0, 0)), Pt(1, 5), 1},
		{"bow tie, other wing", Polyline(Pt(0, 0), Pt(10, 10), Pt(10, 0), Pt(0, 10), Pt(0, 0)), Pt(9, 5), -1},
	} {
		if got := c.p.Winding(c.q); got != c.want || c.p.Contains(c.q) != (c.want != 0) {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

// Against the angle that the flattened path turns about the point.
func TestWindingAgainstAngle(t *testing.T) {
	t.Parallel()
	for seed := range uint64(300) {
		r := seeded(seed)
		p := anyPath(r, 4, 300)
		p = append(p, Line(p.End(), p.Start()))
		points := p.Flatten(0.001)
		for range 10 {
			q := Pt(300*r.Float64(), 300*r.Float64())
			if _, d, _ := p.Nearest(q); d < 0.01 {
				continue
			}
			var turn float64
			for i := 1; i < len(points); i++ {
				turn += AngleBetween(points[i-1].Sub(q), points[i].Sub(q))
			}
			if want := int(math.Round(turn / (2 * math.Pi))); p.Winding(q) != want {
				t.Errorf("seed %d: %d round %v, want %d", seed, p.Winding(q), q, want)
			}
		}
	}
}

func TestClipLines(t *testing.T) {
	t.Parallel()
	box := Box{Pt(0, 0), Pt(100, 50)}
	for _, c := range []struct {
		name string
		s    Segment
		want []Segment
	}{
		{"inside", Line(Pt(10, 10), Pt(90, 40)), []Segment{Line(Pt(10, 10), Pt(90, 40))}},
		{"outside", Line(Pt(110, 10), Pt(190, 40)), nil},
		{"across", Line(Pt(-10, 20), Pt(110, 20)), []Segment{Line(Pt(0, 20), Pt(100, 20))}},
		{"out of one side", Line(Pt(50, 25), Pt(50, 75)), []Segment{Line(Pt(50, 25), Pt(50, 50))}},
		{"past a corner", Line(Pt(-10, 5), Pt(5, -10)), nil},
		{"along a side", Line(Pt(-10, 50), Pt(70, 50)), []Segment{Line(Pt(0, 50), Pt(70, 50))}},
		{"touching from outside", Line(Pt(-10, 20), Pt(0, 20)), nil},
		{"a point inside", Line(Pt(5, 5), Pt(5, 5)), []Segment{Line(Pt(5, 5), Pt(5, 5))}},
		{"a point outside", Line(Pt(5, 55), Pt(5, 55)), nil},
	} {
		got := c.s.ClipToBox(box)
		ok := len(got) == len(c.want)
		for i := range got {
			ok = ok && got[i].P0.Near(c.want[i].P0, 1e-12) && got[i].P3.Near(c.want[i].P3, 1e-12) && got[i].Straight
		}
		if !ok {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Cut to the tiles of a sheet, a curve is all there, nothing twice, every part
// in its tile and on the curve.
func TestClipToTiles(t *testing.T) {
	t.Parallel()
	for seed := range uint64(300) {
		r := seeded(seed)
		s := anyCubic(r, 300)
		switch seed % 4 {
		case 0:
			s = Line(s.P0, s.P3)
		case 1:
			s = arc(Pt(150, 150), 150*r.Float64(), 0, 3*r.Float64())
		}
		var sum float64
		for x := -100.0; x < 400; x += 70 {
			for y := -100.0; y < 400; y += 90 {
				tile := Box{Pt(x, y), Pt(x+70, y+90)}
				for _, part := range s.ClipToBox(tile) {
					sum += part.Length()
					if part.Straight != s.Straight {
						t.Errorf("seed %d: a curve became a line", seed)
					}
					sample(Path{part}, 20, func(_ int, u float64, q Point) {
						if !tile.Grow(1e-9).Contains(q) {
							t.Errorf("seed %d: %v is not in %v", seed, q, tile)
						}
						if at, _ := s.Nearest(q); !at.Near(q, 1e-9) {
							t.Errorf("seed %d: %v is %.3g off the curve", seed, q, at.Dist(q))
						}
					})
					if !tile.Contains(part.P0) || !tile.Contains(part.P3) {
						t.Errorf("seed %d: an end is outside the tile", seed)
					}
				}
			}
		}
		if n := s.Length(); math.Abs(sum-n) > 1e-6*n+1e-6 {
			t.Errorf("seed %d: the tiles hold %.7f mm of %.7f", seed, sum, n)
		}
	}
}

func TestAppendClippedKeepsWhatIsThere(t *testing.T) {
	t.Parallel()
	first := Line(Pt(1, 1), Pt(2, 2))
	got := Line(Pt(-5, 3), Pt(5, 3)).AppendClipped([]Segment{first}, Box{Pt(0, 0), Pt(9, 9)})
	if len(got) != 2 || got[0] != first || got[1] != Line(Pt(0, 3), Pt(5, 3)) {
		t.Errorf("%v", got)
	}
}

// What promises no allocations makes none.
func TestNoAllocations(t *testing.T) {
	p, q := armhole(30), Pt(30, 120)
	s, l := p[0], Line(Pt(0, 0), Pt(50, 60))
	out, far := circle(Pt(0, 0), 100, 8), circle(Pt(500, 0), 100, 8)
	dst := make([]Segment, 0, 64)
	m := Turn(q, 1)
	for name, f := range map[string]func(){
		"Length":        func() { p.Length() },
		"ParamAt":       func() { s.ParamAt(60) },
		"At":            func() { p.At(160) },
		"TangentAt":     func() { p.TangentAt(160) },
		"Split":         func() { _, _ = s.Split(0.4) },
		"Bounds":        func() { p.Bounds() },
		"Area":          func() { p.Area() },
		"Nearest":       func() { p.Nearest(q) },
		"Contains":      func() { out.Contains(q) },
		"Simple":        func() { out.Simple() },
		"Crossings":     func() { out.Crossings(far) }, // that do not cross
		"Segment.Move":  func() { _ = s.Move(m) },
		"AppendClipped": func() { dst = s.AppendClipped(dst[:0], Box{Pt(0, 20), Pt(18, 90)}) },
		"clipped line":  func() { dst = l.AppendClipped(dst[:0], Box{Pt(0, 20), Pt(18, 90)}) },
	} {
		if n := testing.AllocsPerRun(20, f); n != 0 {
			t.Errorf("%s: %g allocations", name, n)
		}
	}
}

// A point level with the very end of a curve is inside or not all the same.
func TestContainsLevelWithAJoint(t *testing.T) {
	t.Parallel()
	side := Path{
		Cubic(Pt(200, 0), Pt(200, 0), Pt(180, 60), Pt(180, 100)),
		Cubic(Pt(180, 100), Pt(180, 150), Pt(220, 180), Pt(220, 300)),
	}
	outline := Join(side, Polyline(Pt(220, 300), Pt(0, 300), Pt(0, 0), Pt(200, 0)))
	for _, tt := range []struct {
		x    float64
		want bool
	}{{-5, false}, {5, true}, {179, true}, {181, false}, {210, false}, {230, false}} {
		if got := outline.Contains(Pt(tt.x, 100)); got != tt.want {
			t.Errorf("Contains(%g, 100) = %t", tt.x, got)
		}
	}
}
