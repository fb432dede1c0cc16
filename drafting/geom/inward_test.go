package geom

import (
	"math"
	"testing"
)

// A place belongs inside the inward parallel exactly if it lies inside the
// outline and farther from it than the distance, except for what a mitre cuts off
// beside a hollow corner, where the corner itself is nearest.
func TestInwardRegion(t *testing.T) {
	t.Parallel()
	seeds, places := sampled(40, 400), sampled(300, 2000)
	var inside, within int
	for seed := range seeds {
		r := seeded(seed)
		p := bodice(seed)
		for _, d := range []float64{6, 10, 30} {
			o := p.Offset(-d, OffsetTol)
			for range places {
				q := Pt(320*r.Float64()-30, 700*r.Float64()-30)
				at, dist, _ := p.Nearest(q)
				if math.Abs(dist-d) <= 2*OffsetTol {
					continue
				}
				want, got := p.Contains(q) && dist > d, o.Contains(q)
				if got {
					inside++
				}
				if p.Contains(q) {
					within++
				}
				if want && !got && atCorner(p, at) {
					continue
				}
				if want != got {
					t.Errorf("seed %d d %g: %v, %.4f from the outline, is inside: %v", seed, d, q, dist, got)
				}
			}
		}
	}
	if inside < 7000 || within-inside < 2500 {
		t.Errorf("only %d inside and %d between", inside, within-inside)
	}
}

func atCorner(p Path, at Point) bool {
	for _, s := range p {
		if at.Near(s.P3, 1e-6) {
			return true
		}
	}
	return false
}
