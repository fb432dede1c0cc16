package fitting

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// step is the height between two rows, mm.
const step = 10.0

// A row holds the panels round the right half of the body at a height, beside each
// other, each as wide as it is cut, on a line from the middle of the front to that of
// the back.
type row struct {
	from, width map[*panel]float64 // where the panel begins, from the front, and how wide it is
	whole       float64
	line        []r2.Vec // (x, z)
	length      []float64
}

// A rowKey names a row: the tier of its panels and its height in steps.
type rowKey struct{ tier, height int }

// around returns a place for a point of a panel at height y, between the rows above
// and below.
func (h *hanger) around(q *panel, at r2.Vec, y float64) r3.Vec {
	f := h.falls[q]
	share := f.share(at)
	low := int(math.Floor(y / step))
	a, b := h.row(rowKey{f.tier, low}).at(q, share), h.row(rowKey{f.tier, low + 1}).at(q, share)
	p := r2.Add(a, r2.Scale(y/step-float64(low), r2.Sub(b, a)))
	return r3.Vec{X: min(0, p.X), Y: y, Z: p.Y}
}

// at returns the place of a panel's share, from the middle to the side.
func (r *row) at(q *panel, share float64) r2.Vec {
	if q.where == back {
		share = 1 - share
	}
	s := (r.from[q] + share*r.width[q]) / max(1, r.whole) * r.length[len(r.length)-1]
	i, _ := slices.BinarySearch(r.length, s)
	i = max(1, min(i, len(r.line)-1))
	t := (s - r.length[i-1]) / max(1e-9, r.length[i]-r.length[i-1])
	return r2.Add(r.line[i-1], r2.Scale(t, r2.Sub(r.line[i], r.line[i-1])))
}

// row returns a row, which it remembers.
func (h *hanger) row(key rowKey) *row {
	if r := h.rows[key]; r != nil {
		return r
	}
	r := h.newRow(key)
	h.rows[key] = r
	return r
}

func (h *hanger) newRow(key rowKey) *row {
	y := step * float64(key.height)
	r := &row{from: map[*panel]float64{}, width: map[*panel]float64{}}
	var list []*fall
	for _, q := range h.panels {
		if f := h.falls[q]; f.tier == key.tier {
			list = append(list, f)
		}
	}
	// From the middle of the front to the side, and on to the middle of the back.
	slices.SortStableFunc(list, func(a, b *fall) int {
		x, y := a.order, b.order
		if a.panel.where == back {
			x = -x
		}
		if b.panel.where == back {
			y = -y
		}
		return cmp.Or(cmp.Compare(a.panel.where, b.panel.where), cmp.Compare(x, y))
	})
	for _, f := range list {
		down := f.panel.cutDown(f.panel.level - y)
		r.from[f.panel] = r.whole
		if down > f.first-2*step && down < f.last+2*step {
			r.width[f.panel] = f.width(down)
		}
		r.whole += r.width[f.panel]
	}
	r.lay(sampled(h.form.RightHalf(max(y, h.hip))), h.folds[key.tier])
	return r
}

// spots is the number of parts into which the line round half a body is divided.
const spots = 160

// sampled returns points of a line at equal distances.
func sampled(line []r2.Vec) []r2.Vec {
	length := 0.0
	for i := 1; i < len(line); i++ {
		length += r2.Norm(r2.Sub(line[i], line[i-1]))
	}
	points := make([]r2.Vec, spots+1)
	i, passed := 1, 0.0
	for k := range points {
		s := length * float64(k) / spots
		for i < len(line)-1 && passed+r2.Norm(r2.Sub(line[i], line[i-1])) < s {
			passed += r2.Norm(r2.Sub(line[i], line[i-1]))
			i++
		}
		d := r2.Sub(line[i], line[i-1])
		points[k] = r2.Add(line[i-1], r2.Scale((s-passed)/max(1e-9, r2.Norm(d)), d))
	}
	return points
}

// lay draws the row's line about the body: a little off it, farther off all round where
// the panels are wider, and in even folds where they are much wider.
func (r *row) lay(body []r2.Vec, folds float64) {
	outside := make([]r2.Vec, len(body))
	for i := range body {
		d := r2.Sub(body[min(len(body)-1, i+3)], body[max(0, i-3)])
		if n := r2.Norm(d); n > 1e-9 {
			outside[i] = r2.Vec{X: d.Y / n, Y: -d.X / n}
		}
	}
	outside[0], outside[len(body)-1] = r2.Vec{Y: 1}, r2.Vec{Y: -1}
	draw := func(off, fold, folds float64) float64 {
		r.line, r.length = make([]r2.Vec, len(body)), make([]float64, len(body))
		for i, p := range body {
			wave := fold * (1 + math.Cos(2*math.Pi*folds*float64(i)/spots))
			r.line[i] = r2.Add(p, r2.Scale(off+wave, outside[i]))
			if i > 0 {
				r.length[i] = r.length[i-1] + r2.Norm(r2.Sub(r.line[i], r.line[i-1]))
			}
		}
		return r.length[spots]
	}
	near := draw(apart, 0, 0)
	excess := max(0, r.whole-near)
	off := apart + excess/math.Pi
	if folds == 0 {
		draw(off, 0, 0)
		return
	}
	off = apart + standing*excess/math.Pi
	low, high := 0.0, 200.0
	for range 20 {
		if mid := (low + high) / 2; draw(off, mid, folds) < r.whole {
			low = mid
		} else {
			high = mid
		}
	}
}

// foldsOf returns into how many folds the cloth of a tier falls round half the body at
// its lower edge: none if it hardly is wider than the body. The waves of cloth that
// hangs by its upper edge are as wide as balances bending and weight (Cerda, Mahadevan
// 2003, Geometry and physics of wrinkling: 2 sqrt(pi) (B/T)^(1/4) L^(1/2), of which
// with the cloth's own weight for T remains c^(3/4) L^(1/4)).
func (h *hanger) foldsOf(tier int) float64 {
	body, long := 0.0, 0.0
	line := h.form.RightHalf(h.hip)
	for i := 1; i < len(line); i++ {
		body += r2.Norm(r2.Sub(line[i], line[i-1]))
	}
	whole := h.hemWidth(tier)
	if whole < leastFold*body {
		return 0
	}
	for _, f := range h.falls {
		if f.tier == tier {
			long = max(long, f.bottom-f.top)
		}
	}
	c := (h.cloth.BendWarp + h.cloth.BendWeft) / 2
	wide := 2 * math.Sqrt(math.Pi) * math.Pow(c, 0.75) * math.Pow(long, 0.25)
	return max(1, math.Round(whole/max(wide, leastPoints*h.size)))
}

// hemWidth returns the width of half a tier at the lower edges of its panels, mm.
func (h *hanger) hemWidth(tier int) (width float64) {
	for _, q := range h.panels {
		if f := h.falls[q]; f.tier == tier {
			width += f.width(f.bottom)
		}
	}
	return width
}

const (
	leastFold   = 1.35 // width of cloth over the girth of the body from which it falls in folds
	leastPoints = 7    // to a fold
	standing    = 0.5  // share of the excess by which folds stand off as a whole
)
