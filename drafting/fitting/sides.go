package fitting

import "tapeline/drafting/pattern"

// A half is the cloth of one side of a garment, as it hangs on the right of the body.
type half struct {
	garment *garment
	strain  []float64 // the largest at each point
	side    string    // "left" or "right" where both sides are shown; "" for one that stands for both
	over    bool      // drawn on the left of the body
}

// halves returns the right half of the garment and the left one, which is the right one
// again unless the sides differ.
func (r *Result) halves() [2]half {
	right := half{garment: r.garment, strain: r.strain}
	left := right
	if r.left != nil {
		left = half{garment: r.left.garment, strain: r.left.strain, side: "left"}
		right.side = "right"
	}
	left.over = true
	return [2]half{right, left}
}

// Sides returns the fitting of a garment that differs from left to right, of which each
// half was tried on as if both were alike: the middle does not swing to one side. What is
// found names its side; what the garment measures round is the mean of both. p is the
// pattern with both sides.
func Sides(left, right *Result, p pattern.Pattern) *Result {
	r := *right
	r.left = left
	r.Settled = left.Settled && right.Settled
	r.Residual = max(left.Residual, right.Residual)
	r.Steps = left.Steps + right.Steps
	r.Findings, r.Readings, r.Levels = nil, nil, nil
	for _, l := range left.Levels {
		for _, m := range right.Levels {
			if l.Name == m.Name {
				l.Worn, l.Cut = (l.Worn+m.Worn)/2, (l.Cut+m.Cut)/2
				r.Levels = append(r.Levels, l)
			}
		}
	}
	r.openings(p)
	for _, h := range []struct {
		side string
		of   *Result
	}{{"left", left}, {"right", right}} {
		for _, f := range h.of.Findings {
			if f.Kind != NotPutOn {
				f.Place, f.Words = h.side+" "+f.Place, "On the "+h.side+": "+f.Words
				r.Findings = append(r.Findings, f)
			}
		}
		for _, f := range h.of.Readings {
			if f.Kind != NotPutOn {
				f.Place = h.side + " " + f.Place
				r.Readings = append(r.Readings, f)
			}
		}
	}
	return &r
}
