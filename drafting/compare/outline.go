package compare

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// Outlines are sampled at points at most step apart, mm. Between two points a
// distance can exceed the largest found by less than step²/8r on a curve of
// radius r: 0.08 mm at 25 mm. So the outline is sampled again, fine apart, near
// the farthest points.
const (
	step = 4.0
	fine = 0.25
)

// closer is how many of the farthest points are looked at again, and almost
// how much less far than the farthest they may be, mm.
const (
	closer = 8
	almost = step * step / 8 / 25
)

// Move is how far an outline moved.
type Move struct {
	Largest  float64    // the Hausdorff distance of the two, mm
	Mean     float64    // along the new outline and the old, mm
	Was, Now geom.Point // where the largest move is, on the old and the new outline as aligned
	Shift    geom.Point // by which the old outline was shifted to lie best on the new
}

// Outlines tells how far the new closed outline lies from the old one, once the
// old is shifted to lie on it as well as it can. It is not turned: both have
// their grain upright, and a change of angle is a change.
//
// The best shift is the one of least mean distance, so that what did not
// change lies exactly on itself and only what did is seen to move.
func Outlines(was, now geom.Path) Move {
	if slices.Equal(was, now) {
		return Move{}
	}
	a, b := sample(was), sample(now)
	shift := align(a.thinned(), b)
	if shift != (geom.Point{}) {
		a = sample(was.Move(geom.Shift(shift)))
	}
	there, back := a.measure(b), b.measure(a)
	m := Move{Shift: shift, Largest: there.far, Was: there.at, Now: there.near}
	if back.far > there.far {
		m.Largest, m.Was, m.Now = back.far, back.near, back.at
	}
	if m.Largest < geom.JoinTol {
		return Move{Shift: shift} // what is left is arithmetic
	}
	m.Mean = (there.sum + back.sum) / (there.weight + back.weight)
	return m
}

// distances are those of one outline's points from another.
type distances struct {
	far, sum, weight float64
	at, near         geom.Point // of the farthest: on the one and on the other
}

// measure looks from every point of o for the nearest on the other outline.
func (o outline) measure(other outline) distances {
	var d distances
	d.far = -1
	var rank [closer]int // the farthest points, the farthest first
	ranked := 0
	far := make([]float64, len(o.points))
	group := 0
	for i, p := range o.points {
		q, v, g := other.nearest(p, group)
		group, far[i] = g, v
		d.sum += v * o.weights[i]
		d.weight += o.weights[i]
		if v > d.far {
			d.far, d.at, d.near = v, p, q
		}
		place := ranked
		for place > 0 && far[rank[place-1]] < v {
			place--
		}
		if place < closer {
			ranked = min(ranked+1, closer)
			copy(rank[place+1:ranked], rank[place:ranked-1])
			rank[place] = i
		}
	}
	most := d.far
	for _, i := range rank[:ranked] {
		if far[i] < most-almost {
			break
		}
		for _, end := range [...]geom.Point{o.points[(i+1)%len(o.points)], o.points[(i+len(o.points)-1)%len(o.points)]} {
			way := end.Sub(o.points[i])
			for n, k := int(way.Norm()/fine), 1; k <= n; k++ {
				p := o.points[i].Add(way.Mul(float64(k) / float64(n+1)))
				q, v, g := other.nearest(p, group)
				group = g
				if v > d.far {
					d.far, d.at, d.near = v, p, q
				}
			}
		}
	}
	return d
}

// outline is a closed outline as points, each standing for a length of it.
type outline struct {
	chords  []chord
	groups  []geom.Box // of groupSize chords each
	points  []geom.Point
	weights []float64
}

type chord struct {
	from geom.Point
	way  geom.Point
	inv  float64 // 1/|way|², 0 for a point
}

// groupSize is the number of chords that share a bounding box, which is tested
// before them.
const groupSize = 8

func sample(path geom.Path) outline {
	flat := path.Flatten(geom.FlattenTol)
	if n := len(flat); n > 1 && flat[0].Near(flat[n-1], geom.JoinTol) {
		flat = flat[:n-1]
	}
	var o outline
	o.chords = make([]chord, 0, len(flat))
	o.groups = make([]geom.Box, 0, len(flat)/groupSize+1)
	room := len(flat)
	for i, p := range flat {
		room += int(p.Dist(flat[(i+1)%len(flat)]) / step)
	}
	o.points, o.weights = make([]geom.Point, 0, room), make([]float64, 0, room)
	for i, p := range flat {
		q := flat[(i+1)%len(flat)]
		c := chord{from: p, way: q.Sub(p)}
		length := c.way.Norm()
		if length > 0 {
			c.inv = 1 / (length * length)
		}
		if i%groupSize == 0 {
			o.groups = append(o.groups, geom.EmptyBox())
		}
		o.chords = append(o.chords, c)
		g := &o.groups[len(o.groups)-1]
		*g = g.With(p).With(q)
		n := max(1, int(math.Ceil(length/step)))
		for k := range n {
			o.points = append(o.points, p.Lerp(q, float64(k)/float64(n)))
			o.weights = append(o.weights, length/float64(n))
		}
	}
	return o
}

// thin is how many points one stands for while a shift is looked for.
const thin = 10

// thinned keeps every tenth point.
func (o outline) thinned() outline {
	t := outline{chords: o.chords, groups: o.groups}
	for i := 0; i < len(o.points); i += thin {
		weight := 0.0
		for _, w := range o.weights[i:min(i+thin, len(o.weights))] {
			weight += w
		}
		t.points = append(t.points, o.points[i])
		t.weights = append(t.weights, weight)
	}
	return t
}

// nearest is the point of the outline nearest to p, its distance, and the group
// it was found in, which is looked at first for the next point.
func (o outline) nearest(p geom.Point, first int) (geom.Point, float64, int) {
	best, at, group := math.Inf(1), p, first
	look := func(g int) {
		for _, c := range o.chords[g*groupSize : min((g+1)*groupSize, len(o.chords))] {
			w := p.Sub(c.from)
			t := min(1, max(0, w.Dot(c.way)*c.inv))
			q := c.from.Add(c.way.Mul(t))
			if d := p.Sub(q); d.Dot(d) < best {
				best, at, group = d.Dot(d), q, g
			}
		}
	}
	look(first)
	for g, box := range o.groups {
		dx := max(box.Min.X-p.X, 0, p.X-box.Max.X)
		dy := max(box.Min.Y-p.Y, 0, p.Y-box.Max.Y)
		if g != first && dx*dx+dy*dy < best {
			look(g)
		}
	}
	return at, math.Sqrt(best), group
}

// A shift is bettered at most alignRounds times, until it changes by less than
// settled, mm.
const (
	alignRounds = 12
	settled     = 1e-3
)

// align finds the shift of a that lies best on b: each round every point of a
// looks for its nearest on b, and a is moved by the weighted median of the ways
// there, across and along. Blocks and styles draft every piece from the same
// origin, so no shift at all is where it starts, unless the outlines lie better
// with their boxes centred on each other; and none is kept unless another is
// better.
func align(a, b outline) geom.Point {
	none := a.meanTo(b, geom.Point{})
	if none < geom.JoinTol {
		return geom.Point{}
	}
	shift := centre(b).Sub(centre(a))
	if a.meanTo(b, shift) >= none {
		shift = geom.Point{}
	}
	dx, dy := make([]float64, len(a.points)), make([]float64, len(a.points))
	order := make([]int, len(a.points))
	for range alignRounds {
		at := 0
		for i, p := range a.points {
			p = p.Add(shift)
			q, _, near := b.nearest(p, at)
			at = near
			dx[i], dy[i] = q.X-p.X, q.Y-p.Y
		}
		by := geom.Pt(weightedMedian(dx, a.weights, order), weightedMedian(dy, a.weights, order))
		shift = shift.Add(by)
		if by.Norm() < settled {
			break
		}
	}
	if a.meanTo(b, shift) < none-1e-6 {
		return shift
	}
	return geom.Point{}
}

// centre is the middle of the outline's box.
func centre(o outline) geom.Point {
	box := geom.EmptyBox()
	for _, g := range o.groups {
		box = box.Union(g)
	}
	return box.Centre()
}

// meanTo is the mean distance of a, shifted, from b.
func (o outline) meanTo(b outline, shift geom.Point) float64 {
	sum, weight, at := 0.0, 0.0, 0
	for i, p := range o.points {
		_, d, near := b.nearest(p.Add(shift), at)
		at = near
		sum += d * o.weights[i]
		weight += o.weights[i]
	}
	return sum / max(weight, 1e-12)
}

// weightedMedian is the value with as much weight below it as above; order is
// room to sort in.
func weightedMedian(values, weights []float64, order []int) float64 {
	total := 0.0
	for i := range order {
		order[i] = i
		total += weights[i]
	}
	slices.SortFunc(order, func(i, j int) int {
		switch {
		case values[i] < values[j]:
			return -1
		case values[i] > values[j]:
			return 1
		}
		return i - j
	})
	sum := 0.0
	for _, i := range order {
		if sum += weights[i]; sum >= total/2 {
			return values[i]
		}
	}
	return 0
}
