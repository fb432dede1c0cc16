package geom

import (
	"fmt"
	"math"
	"testing"
)

// checkOffset measures the parallel o of p by the definition: nowhere nearer
// to the path than d; nowhere farther but on mitres and, where an end was
// trimmed away, past the path's end; and missing no place beside the path that
// has nothing nearer to it, but where a mitre passes in front.
func checkOffset(t *testing.T, name string, p Path, d, tol float64, o Path) {
	t.Helper()
	if len(o) == 0 {
		t.Errorf("%s: nothing left", name)
		return
	}
	if err := o.Check(); err != nil {
		t.Errorf("%s: %v", name, err)
	}
	far := math.Abs(d)
	mitred := func(q Point) bool {
		for i := range p {
			j := (i + 1) % len(p)
			opens := AngleBetween(p[i].Tangent(1), p[j].Tangent(0))*d > 0
			if (j > 0 || p.Closed()) && opens && q.Dist(p[i].P3) <= MitreLimit*far {
				return true
			}
		}
		return false
	}
	sample(o, 24, func(i int, u float64, q Point) {
		at, dist, _ := p.Nearest(q)
		pastEnd := !p.Closed() && (at.Near(p.Start(), 1e-6) || at.Near(p.End(), 1e-6))
		if dist < far-tol || dist > far+tol && !mitred(q) && !pastEnd {
			t.Errorf("%s: segment %d at %.3f lies %.4f from the path, wanted %.4f", name, i, u, dist, far)
		}
	})
	long := p // with what an end was trimmed against
	if !p.Closed() && !(o.Start().Near(beside(p, 0, 0, d), tol) && o.End().Near(beside(p, len(p)-1, 1, d), tol)) {
		long = longer(p, 4*far+p.Length())
	}
	sample(p, 24, func(i int, u float64, _ Point) {
		q := beside(p, i, u, d)
		if _, dist, _ := long.Nearest(q); dist < far-1e-9 || mitred(q) {
			return
		}
		if _, gap, _ := o.Nearest(q); gap > tol {
			t.Errorf("%s: the parallel misses segment %d at %.3f by %.4f", name, i, u, gap)
		}
	})
}

// beside returns the exact parallel's point.
func beside(p Path, i int, u, d float64) Point {
	return p[i].At(u).Add(p[i].Tangent(u).Left().Mul(d))
}

// longer returns p carried on straight by reach at both ends.
func longer(p Path, reach float64) Path {
	a, b := p.Start(), p.End()
	return Join(Path{Line(a.Sub(p.StartTangent().Mul(reach)), a)}, p, Path{Line(b, b.Add(p.EndTangent().Mul(reach)))})
}

// crowded reports whether the parallel at d comes near to a part of the path
// far from the one it belongs to.
func crowded(p Path, d float64) bool {
	from, found := 0.0, false
	for i, s := range p {
		for k := range 25 {
			u := float64(k) / 24
			_, dist, along := p.Nearest(beside(p, i, u, d))
			if dist < math.Abs(d)-1e-9 && math.Abs(along-from-s.LengthTo(u)) > 3*math.Abs(d) {
				found = true
			}
		}
		from += s.Length()
	}
	return found
}

func TestOffsetKeepsItsDistance(t *testing.T) {
	t.Parallel()
	var checked, skipped int
	for seed := range sampled(100, 400) {
		r := seeded(seed)
		p := seam(r, 1+r.IntN(5), []float64{0, 0.3, 1.2}[r.IntN(3)])
		for _, d := range []float64{6, 10, 40, -6, -10, -40} {
			if !p.Simple() || crowded(p, d) || math.Abs(d) == 40 && minRadius(p) < 15 {
				skipped++
				continue
			}
			checked++
			o := p.Offset(d, OffsetTol)
			if len(o) == 0 && p.Length() < math.Abs(d) {
				continue
			}
			checkOffset(t, fmt.Sprintf("seed %d d %g", seed, d), p, d, OffsetTol, o)
			if c := o.SelfCrossings(); len(c) > 0 {
				t.Errorf("seed %d d %g: the parallel crosses itself at %v", seed, d, c[0].At)
			}
		}
	}
	if checked < 4*skipped {
		t.Errorf("%d checked, %d skipped", checked, skipped)
	}
}

func TestOffsetOutlines(t *testing.T) {
	t.Parallel()
	for seed := range sampled(20, 100) {
		p := bodice(seed)
		for _, d := range []float64{6, 10, 40, 100, -6, -10, -30} {
			o := p.Offset(d, OffsetTol)
			name := fmt.Sprintf("seed %d d %g", seed, d)
			checkOffset(t, name, p, d, OffsetTol, o)
			if !o.Closed() || !o.Simple() || o.Area() <= 0 {
				t.Errorf("%s: closed %v, simple %v, area %.0f", name, o.Closed(), o.Simple(), o.Area())
			}
		}
	}
}

func TestOffsetHem(t *testing.T) {
	t.Parallel()
	// Hems are gentle: 100 mm on curves of 600 mm radius and more.
	for _, radius := range []float64{600, 1200, 5000} {
		p := Path{arc(Pt(0, 0), radius, 0, 0.15), arc(Pt(0, 0), radius, 0.15, 0.3)}
		for _, d := range []float64{100, -100} {
			o := p.Offset(d, OffsetTol)
			checkOffset(t, fmt.Sprintf("radius %g d %g", radius, d), p, d, OffsetTol, o)
			// Closed form: the parallel of an arc has the length θ(r±d).
			if want := 0.3 * (radius + d); math.Abs(o.Length()-want) > OffsetTol {
				t.Errorf("radius %g d %g: length %.4f, want %.4f", radius, d, o.Length(), want)
			}
		}
	}
}

func TestOffsetArmhole(t *testing.T) {
	t.Parallel()
	for _, radius := range []float64{3, 5, 7, 9.9, 10, 10.1, 12, 30} {
		for _, d := range []float64{6, 9.99, 10, 10.01, 15, 20, -6, -10, -15} {
			p := armhole(radius)
			o := p.Offset(d, OffsetTol)
			name := fmt.Sprintf("radius %g d %g", radius, d)
			checkOffset(t, name, p, d, OffsetTol, o)
			if c := o.SelfCrossings(); len(c) > 0 {
				t.Errorf("%s: the parallel crosses itself at %v", name, c[0].At)
			}
			if !o.Start().Near(beside(p, 0, 0, d), 1e-9) || !o.End().Near(beside(p, 2, 1, d), 1e-9) {
				t.Errorf("%s: an end is not square to the path's", name)
			}
			if len(o) > 8 {
				t.Errorf("%s: %d cubics for three", name, len(o))
			}
		}
	}
}

func TestOffsetOfCircle(t *testing.T) {
	t.Parallel()
	for _, d := range []float64{10, 40, -10, -99} {
		o := circle(Pt(3, 4), 100, 8).Offset(d, OffsetTol)
		if !o.Closed() || len(o) != 8 {
			t.Errorf("d %g: closed %v with %d cubics, want 8", d, o.Closed(), len(o))
		}
		sample(o, 50, func(_ int, _ float64, q Point) {
			if off := math.Abs(q.Dist(Pt(3, 4)) - (100 + d)); off > OffsetTol {
				t.Errorf("d %g: %.4f off the circle", d, off)
			}
		})
	}
	for _, d := range []float64{-101, -150, -1000} {
		if o := circle(Pt(3, 4), 100, 8).Offset(d, OffsetTol); o != nil {
			t.Errorf("d %g: %v left of a circle of 100", d, o)
		}
	}
}

// Corners by closed form: the sides moved out and met.
func TestOffsetCorners(t *testing.T) {
	t.Parallel()
	ell := Polyline(Pt(0, 0), Pt(100, 0), Pt(100, 50), Pt(40, 50), Pt(40, 90), Pt(0, 90), Pt(0, 0))
	// Sides that turn back by 160° are past the mitre limit.
	spike := Polyline(Pt(0, 0), Pt(100, 0), Pt(100, 0).Add(Polar(100, 160*math.Pi/180)))
	tip := Polar(1, -10*math.Pi/180) // along the bisector
	for _, c := range []struct {
		name string
		p    Path
		d    float64
		want Path
	}{
		{"rectangle out", rectangle(0, 0, 60, 40), 10, rectangle(-10, -10, 70, 50)},
		{"rectangle in", rectangle(0, 0, 60, 40), -10, rectangle(10, 10, 50, 30)},
		{"rectangle in, nothing left", rectangle(0, 0, 60, 40), -21, nil},
		{"anticlockwise", rectangle(0, 0, 60, 40).Reverse(), 10, rectangle(10, 10, 50, 30).Reverse()},
		{"inner corner out", ell, 10, Polyline(Pt(-10, -10), Pt(110, -10), Pt(110, 60), Pt(50, 60), Pt(50, 100), Pt(-10, 100),
			Pt(-10, -10))},
		{"inner corner in", ell, -10, Polyline(Pt(10, 10), Pt(90, 10), Pt(90, 40), Pt(30, 40), Pt(30, 80), Pt(10, 80),
			Pt(10, 10))},
		{"open, corner closes", Polyline(Pt(0, 0), Pt(100, 0), Pt(100, -80)), 10,
			Polyline(Pt(0, -10), Pt(90, -10), Pt(90, -80))},
		{"open, corner opens", Polyline(Pt(0, 0), Pt(100, 0), Pt(100, -80)), -10,
			Polyline(Pt(0, 10), Pt(110, 10), Pt(110, -80))},
		{"last side too short to reach", Polyline(Pt(0, 0), Pt(100, 0), Pt(100, -5)), 10, Polyline(Pt(0, -10), Pt(90, -10))},
		{"first side too short to reach", Polyline(Pt(0, 5), Pt(0, 0), Pt(100, 0)), -10, Polyline(Pt(10, 10), Pt(100, 10))},
		{"two steps in one hollow", Polyline(Pt(0, 0), Pt(50, 0), Pt(52, -2), Pt(52, -60)), 10,
			Polyline(Pt(0, -10), Pt(42, -10), Pt(42, -60))},
		{"square tip", spike, 10, Polyline(Pt(0, -10), MeetAt(Pt(0, -10), Pt(1, 0), Pt(100, 0).Add(tip.Mul(10)), tip.Right()),
			MeetAt(Pt(100, 0).Add(Polar(10, 70*math.Pi/180)), Polar(1, 160*math.Pi/180), Pt(100, 0).Add(tip.Mul(10)),
				tip.Right()),
			Pt(100, 0).Add(Polar(100, 160*math.Pi/180)).Add(Polar(10, 70*math.Pi/180)))},
		{"zero", rectangle(0, 0, 60, 40), 0, rectangle(0, 0, 60, 40)},
	} {
		got := c.p.Offset(c.d, OffsetTol)
		if apart := farthest(got, c.want); !(apart <= 1e-6) {
			t.Errorf("%s: %v, want %v (%.3g apart)", c.name, got.Flatten(1), c.want.Flatten(1), apart)
		}
		if c.p.Closed() != got.Closed() && c.want != nil {
			t.Errorf("%s: closed %v", c.name, got.Closed())
		}
	}
}

// Where a corner between curves opens, the tip lies on its bisector at the
// distance over the cosine of half the turn, by the curves' own tangents.
func TestMitresOfCurves(t *testing.T) {
	t.Parallel()
	var tips uint64
	seeds := sampled(20, 60)
	for seed := range seeds {
		p := bodice(seed)
		for _, d := range []float64{6, 10, 40, -6, -10, -30} {
			o := p.Offset(d, OffsetTol)
			for i := range p {
				u, v := p[i].Tangent(1), p[(i+1)%len(p)].Tangent(0)
				turn := AngleBetween(u, v)
				if turn*d <= 1e-6 || math.Cos(turn/2)*MitreLimit < 1 {
					continue
				}
				tip := p[i].P3.Add(u.Add(v).Unit().Left().Mul(d / math.Cos(turn/2)))
				if _, dist, _ := p.Nearest(tip); dist < math.Abs(d) {
					continue // beside another part of the outline: trimmed
				}
				tips++
				if _, off, _ := o.Nearest(tip); off > 1e-9 {
					t.Errorf("seed %d d %g: %.3g mm from the tip at corner %d", seed, d, off, i)
				}
			}
		}
	}
	if tips < 16*seeds {
		t.Errorf("only %d tips", tips)
	}
}

// MeetAt returns MeetLines for lines known to meet.
func MeetAt(p, u, q, v Point) Point {
	at, _, _, _ := MeetLines(p, u, q, v)
	return at
}

// farthest returns the greatest distance from a place on one path to the other.
func farthest(p, q Path) float64 {
	if len(p) == 0 || len(q) == 0 {
		if len(p) == len(q) {
			return 0
		}
		return math.Inf(1)
	}
	var most float64
	for _, pair := range [...][2]Path{{p, q}, {q, p}} {
		sample(pair[0], 32, func(_ int, _ float64, at Point) {
			_, d, _ := pair[1].Nearest(at)
			most = max(most, d)
		})
	}
	return most
}

// Two rooms and a passage narrower than twice the distance: the larger room
// stays.
func TestOffsetFallsApart(t *testing.T) {
	t.Parallel()
	p := Polyline(Pt(0, 0), Pt(60, 0), Pt(60, 22), Pt(100, 22), Pt(100, -20), Pt(200, -20), Pt(200, 80), Pt(100, 80),
		Pt(100, 38), Pt(60, 38), Pt(60, 60), Pt(0, 60), Pt(0, 0))
	got := p.Offset(-10, OffsetTol)
	if apart := farthest(got, rectangle(110, -10, 190, 70)); apart > 1e-6 || !got.Closed() {
		t.Errorf("%v", got.Flatten(1))
	}
	// Narrow enough to pass, the passage stays.
	got = p.Offset(-7, OffsetTol)
	if want := 46*46 + 86*86 + 54*2.0; math.Abs(got.Area()-want) > 1e-6 {
		t.Errorf("area %.3f, want %.3f", got.Area(), want)
	}
}

// Where nothing is tighter than d, out and back is home again.
func TestOffsetThereAndBack(t *testing.T) {
	t.Parallel()
	var checked uint64
	seeds := sampled(60, 200)
	for seed := range seeds {
		p := seam(seeded(seed), 3, 0)
		for _, d := range []float64{6, 10, -10} {
			if minRadius(p) < 1.2*math.Abs(d) || crowded(p, d) || !p.Simple() {
				continue
			}
			checked++
			back := p.Offset(d, OffsetTol).Offset(-d, OffsetTol)
			if apart := farthest(p, back); apart > 3*OffsetTol {
				t.Errorf("seed %d d %g: %.4f mm from home", seed, d, apart)
			}
			if math.Abs(back.Length()-p.Length()) > 0.05 {
				t.Errorf("seed %d d %g: length %.4f, was %.4f", seed, d, back.Length(), p.Length())
			}
		}
	}
	if checked < seeds*3/2 {
		t.Errorf("only %d checked", checked)
	}
}

// The parallel of the walk the other way lies on the other hand.
func TestOffsetReversed(t *testing.T) {
	t.Parallel()
	for seed := range uint64(60) {
		p := seam(seeded(seed), 3, 0.5)
		if !p.Simple() || crowded(p, 10) {
			continue
		}
		a, b := p.Offset(10, OffsetTol), p.Reverse().Offset(-10, OffsetTol).Reverse()
		if apart := farthest(a, b); apart > 2*OffsetTol {
			t.Errorf("seed %d: %.4f apart", seed, apart)
		}
	}
}

func TestOffsetFinerTolerance(t *testing.T) {
	t.Parallel()
	for _, tol := range []float64{0.5, 0.1, 0.01, 0.001, 0.0001} {
		for _, d := range []float64{10, -10} {
			checkOffset(t, fmt.Sprintf("tol %g d %g", tol, d), armhole(7), d, tol, armhole(7).Offset(d, tol))
		}
	}
}

func TestOffsetDegenerate(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	same := Cubic(Pt(5, 5), Pt(5, 5), Pt(5, 5), Pt(5, 5))
	cusp := Cubic(Pt(0, 0), Pt(100, 100), Pt(0, 100), Pt(100, 0))
	loop := Cubic(Pt(0, 0), Pt(150, 100), Pt(-50, 100), Pt(100, 0))
	for _, c := range []struct {
		name  string
		p     Path
		empty bool
	}{
		{"nil", nil, true},
		{"one point", Path{same}, true},
		{"not a number", Path{Line(Pt(0, 0), Pt(nan, 1))}, true},
		{"infinite", Path{Cubic(Pt(0, 0), Pt(inf, 1), Pt(2, 2), Pt(3, 3))}, true},
		{"points among lines", Path{Line(Pt(0, 0), Pt(5, 5)), same, Line(Pt(5, 5), Pt(50, 5))}, false},
		{"handles on the ends", Path{Cubic(Pt(0, 0), Pt(0, 0), Pt(50, 20), Pt(50, 20))}, false},
		{"one handle on its end", Path{Cubic(Pt(0, 0), Pt(0, 0), Pt(50, 0), Pt(50, 60))}, false},
		{"cusp", Path{cusp}, false},
		{"loop", Path{loop}, false},
		{"out and back", Path{Line(Pt(0, 0), Pt(50, 0)), Line(Pt(50, 0), Pt(0, 0))}, false},
		{"folded line", Path{Cubic(Pt(0, 0), Pt(90, 0), Pt(-30, 0), Pt(60, 0))}, false},
	} {
		for _, d := range []float64{10, -10} {
			o := c.p.Offset(d, OffsetTol)
			if (len(o) == 0) != c.empty {
				t.Errorf("%s d %g: %d segments", c.name, d, len(o))
			}
			for _, s := range o {
				if !s.P0.Finite() || !s.P1.Finite() || !s.P2.Finite() || !s.P3.Finite() {
					t.Errorf("%s d %g: %v", c.name, d, s)
				}
			}
		}
	}
	for _, d := range []float64{nan, inf, -inf} {
		if o := rectangle(0, 0, 9, 9).Offset(d, OffsetTol); o != nil {
			t.Errorf("d %g: %v", d, o)
		}
	}
}

// A parallel inside an outline encloses the outline's area less a strip as wide
// as the distance all round, except where its corners overlap (Steiner's
// formula for parallel curves).
func TestInwardArea(t *testing.T) {
	t.Parallel()
	for seed := range uint64(60) {
		p := bodice(seed)
		for _, d := range []float64{-6, -10, -30} {
			got, want := p.Offset(d, OffsetTol).Area(), p.Area()+d*p.Length()
			if slack := 8 * d * d; math.Abs(got-want) > slack {
				t.Errorf("seed %d d %g: %.0f mm², want %.0f within %.0f", seed, d, got, want, slack)
			}
		}
	}
}
