package layout

import (
	"math"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// moveLabels moves lettering that the edge of a page would cut to the nearest
// place in its piece where one page shows it whole and no line is near. The
// labels that stand under one another move together if they can, else one by
// one. What finds no room stays, and is printed in part on each of its pages.
func (k *ink) moveLabels(pieces []finish.Piece) {
	for i := range pieces {
		for j := range pieces[i].Labels {
			if b := boundsOf(pieces[i].Labels[j : j+1]); k.whole(b) {
				k.block(b)
			}
		}
	}
	for i := range pieces {
		p := &pieces[i]
		var inside *raster
		for _, group := range columns(p.Labels) {
			if k.wholeAll(group) {
				continue
			}
			if inside == nil {
				inside = k.inside(p)
			}
			if k.moveTogether(group, inside, p.Bounds()) {
				continue
			}
			for j := range group {
				one := group[j : j+1]
				if !k.wholeAll(one) && !k.moveTogether(one, inside, p.Bounds()) {
					k.block(boundsOf(one))
				}
			}
		}
	}
}

func (k *ink) wholeAll(labels []finish.Label) bool {
	for i := range labels {
		if !k.whole(boundsOf(labels[i : i+1])) {
			return false
		}
	}
	return true
}

// columns splits labels into runs that stand under one another.
func columns(labels []finish.Label) [][]finish.Label {
	var groups [][]finish.Label
	for start, i := 0, 1; i <= len(labels); i++ {
		if i < len(labels) && labels[i].Angle == labels[i-1].Angle && labels[i].At.Near(labels[i-1].Corners()[3], 0.01) {
			continue
		}
		groups = append(groups, labels[start:i])
		start = i
	}
	return groups
}

// boundsOf is the upright box round labels.
func boundsOf(labels []finish.Label) geom.Box {
	b := geom.EmptyBox()
	for _, l := range labels {
		for _, c := range l.Corners() {
			b = b.With(c)
		}
	}
	return b
}

// inside marks the cells within a piece's seam line.
func (k *ink) inside(p *finish.Piece) *raster {
	r := newRaster(k.w, k.h)
	r.inside(p.Outline().Flatten(flatTol), geom.Point{}, inkCell)
	return &r
}

// moveTogether shifts labels by whole cells to the nearest free place.
func (k *ink) moveTogether(labels []finish.Label, inside *raster, piece geom.Box) bool {
	box := boundsOf(labels)
	// shifts that keep the box within the piece's
	x0, x1 := math.Ceil((piece.Min.X-box.Min.X)/inkUnit), math.Floor((piece.Max.X-box.Max.X)/inkUnit)
	y0, y1 := math.Ceil((piece.Min.Y-box.Min.Y)/inkUnit), math.Floor((piece.Max.Y-box.Max.Y)/inkUnit)
	best, least := geom.Point{}, math.Inf(1)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			d := x*x + y*y
			if d >= least {
				continue
			}
			b := box.Move(geom.Pt(x, y).Mul(inkUnit))
			cx, cy, _, _ := k.cells(b)
			if inside.has(cx, cy) && k.whole(b) && k.clear(b) {
				best, least = geom.Pt(x, y).Mul(inkUnit), d
			}
		}
	}
	if math.IsInf(least, 1) {
		return false
	}
	for i := range labels {
		labels[i].At = labels[i].At.Add(best)
	}
	k.block(box.Move(best))
	return true
}
