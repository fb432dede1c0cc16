package geom

import "math"

// InflectionTurn is the least turn in radians (one degree) that counts as a
// bend of its own in Inflections.
const InflectionTurn = math.Pi / 180

// Inflections is how often a run changes from bending one way to bending the
// other. Bends that turn by less than InflectionTurn are ignored. The turn at
// a join counts as part of the bend.
func (p Path) Inflections() int {
	var w wobble
	for i := range p {
		if i > 0 {
			w.turn(AngleBetween(p[i-1].Tangent(1), p[i].Tangent(0)))
		}
		p[i].eachTurn(w.turn)
	}
	return w.changes
}

// wobble follows the direction of a walk and counts how often it swings back
// by InflectionTurn or more.
type wobble struct {
	changes     int
	sense       float64 // of the present bend; zero before the first
	now         float64 // direction, from the start
	least, most float64 // directions reached in the present bend
}

func (w *wobble) turn(angle float64) {
	w.now += angle
	w.least, w.most = min(w.least, w.now), max(w.most, w.now)
	switch {
	case w.sense <= 0 && w.now-w.least >= InflectionTurn:
		w.swing(1)
	case w.sense >= 0 && w.most-w.now >= InflectionTurn:
		w.swing(-1)
	}
}

func (w *wobble) swing(sense float64) {
	if w.sense != 0 {
		w.changes++
	}
	w.sense, w.least, w.most = sense, w.now, w.now
}

// eachTurn calls f with the turns of the stretches of the segment between its
// points of inflection, in small steps.
func (s *Segment) eachTurn(f func(float64)) {
	if s.Straight {
		return
	}
	flat := s.inflections()
	t0 := 0.0
	for i := 0; i <= flat.n; i++ {
		t1 := 1.0
		if i < flat.n {
			t1 = flat.t[i]
		}
		const steps = 8
		before := s.Tangent(t0)
		for k := 1; k <= steps; k++ {
			after := s.Tangent(t0 + (t1-t0)*float64(k)/steps)
			f(AngleBetween(before, after))
			before = after
		}
		t0 = t1
	}
}

// inflections are the parameters in (0, 1), rising, where the curvature
// changes sign: B'×B” is a quadratic.
func (s *Segment) inflections() rootPair {
	d0, d1, d2 := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	r := quadraticRoots(d0.Cross(d1), d0.Cross(d2)/2, d1.Cross(d2))
	if r.n == 2 && r.t[0] > r.t[1] {
		r.t[0], r.t[1] = r.t[1], r.t[0]
	}
	return r
}

// MinRadius is the smallest radius of curvature along the path in mm, infinite
// for straight lines. Corners between segments are not counted.
func (p Path) MinRadius() float64 {
	r := math.Inf(1)
	for i := range p {
		r = min(r, p[i].minRadius())
	}
	return r
}

func (s *Segment) minRadius() float64 {
	if s.Straight {
		return math.Inf(1)
	}
	const steps = 32
	bent := func(t float64) float64 { // NaN at a standstill, which is a cusp or an end
		return math.Abs(s.Curvature(t))
	}
	var most float64
	for k := 0; k <= steps; k++ {
		t := float64(k) / steps
		if v := bent(t); v >= most {
			most = max(v, peak(bent, max(0, t-1.0/steps), min(1, t+1.0/steps)))
		}
	}
	return 1 / most
}

// peak is the greatest value of f found in [lo, hi] by golden section.
func peak(f func(float64) float64, lo, hi float64) float64 {
	const g = 0.6180339887498949
	a, b := hi-g*(hi-lo), lo+g*(hi-lo)
	fa, fb := f(a), f(b)
	best := max(fa, fb)
	for range 40 {
		if fa > fb {
			hi, b, fb = b, a, fa
			a = hi - g*(hi-lo)
			fa = f(a)
			best = max(best, fa)
		} else {
			lo, a, fa = a, b, fb
			b = lo + g*(hi-lo)
			fb = f(b)
			best = max(best, fb)
		}
	}
	return max(best, f(lo), f(hi))
}
