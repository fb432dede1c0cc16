package cloth

import (
	"cmp"
	"math"
	"slices"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// Need is how much of a cloth a pattern needs.
type Need struct {
	Cloth   string
	Lengths []float64 // mm to buy of each width, 0 where a piece is too wide for it
	Narrow  float64   // the narrowest cloth that takes every piece, mm
}

// Of the quick layout, mm.
const (
	quickColumn = 10.0 // of the cloth's width
	quickStep   = 50.0 // to which a length is rounded up
	quickEdge   = 10.0 // left free along each selvedge
)

// Needs returns the lengths to buy in widths, mm from edge to edge. It lays the
// pieces singly, either way up, each as low as it lies on those before it. That
// takes less than a millisecond, where NewPlan takes a second and needs a few percent
// less cloth. Shrinkage is not included.
func Needs(p finish.Pattern, widths []float64) []Need {
	var needs []Need
	for _, name := range Names(p) {
		need := Need{Cloth: name}
		copies := quickCopies(p, name)
		for _, q := range copies {
			need.Narrow = max(need.Narrow, q.box.Width()+2*quickEdge)
		}
		for _, width := range widths {
			need.Lengths = append(need.Lengths, quickLength(copies, width-2*quickEdge))
		}
		needs = append(needs, need)
	}
	return needs
}

// quickCopy is an outline to lay count times, its grain along y.
type quickCopy struct {
	outlines [][]geom.Point // whose union is the piece
	box      geom.Box
	count    int
}

// quickCopies returns what is cut from a cloth, the large pieces first.
func quickCopies(p finish.Pattern, cloth string) []quickCopy {
	var copies []quickCopy
	for i := range p.Pieces {
		piece := &p.Pieces[i]
		count := copiesOf(*piece, cloth)
		if count == 0 {
			continue
		}
		outlines := [][]geom.Point{piece.CutLine.Flatten(geom.PackTol)}
		for _, fold := range piece.FoldLines() {
			mirror := geom.Reflect(fold.P0, fold.Tangent(0))
			for _, o := range outlines {
				outlines = append(outlines, moved(o, mirror))
			}
		}
		if g := piece.Grain; g.P0 != g.P3 {
			upright := geom.Turn(geom.Point{}, math.Pi/2-g.P3.Sub(g.P0).Angle())
			for i := range outlines {
				outlines[i] = moved(outlines[i], upright)
			}
		}
		box := geom.EmptyBox()
		for _, o := range outlines {
			box = box.Union(geom.BoxOf(o...))
		}
		copies = append(copies, quickCopy{outlines, box.Grow(Gap / 2), count})
	}
	slices.SortStableFunc(copies, func(a, b quickCopy) int { return cmp.Compare(b.box.Height(), a.box.Height()) })
	return copies
}

func moved(points []geom.Point, m geom.Motion) []geom.Point {
	all := make([]geom.Point, len(points))
	for i, p := range points {
		all[i] = m.Apply(p)
	}
	return all
}

// profile is the cloth that a copy takes up: column by column its least and its
// largest y above its box.
type profile struct {
	low, high []float64
	height    float64
}

// profile returns the columns of the copy, turned end to end or not.
func (q *quickCopy) profile(turned bool) profile {
	n := max(1, int(math.Ceil(q.box.Width()/quickColumn)))
	p := profile{make([]float64, n), make([]float64, n), q.box.Height()}
	for i := range n {
		p.low[i], p.high[i] = math.Inf(1), math.Inf(-1)
	}
	for _, outline := range q.outlines {
		for i, a := range outline {
			p.add(a.Sub(q.box.Min), outline[(i+1)%len(outline)].Sub(q.box.Min))
		}
	}
	if turned {
		slices.Reverse(p.low)
		slices.Reverse(p.high)
		for i := range n {
			p.low[i], p.high[i] = p.height-p.high[i], p.height-p.low[i]
		}
	}
	return p
}

// add adds a side to the columns that it crosses, with half the gap around it.
func (p *profile) add(a, b geom.Point) {
	if a.X > b.X {
		a, b = b, a
	}
	column := func(x float64) int { return max(0, min(len(p.low)-1, int(math.Floor(x/quickColumn)))) }
	for i := column(a.X - Gap/2); i <= column(b.X+Gap/2); i++ {
		left, right := float64(i)*quickColumn-Gap/2, float64(i+1)*quickColumn+Gap/2
		at := func(x float64) float64 {
			if b.X == a.X {
				return a.Y
			}
			return a.Y + (b.Y-a.Y)*max(0, min(1, (x-a.X)/(b.X-a.X)))
		}
		ends := [...]float64{at(left), at(right)}
		if b.X-a.X < 1e-9 {
			ends[1] = b.Y
		}
		p.low[i] = min(p.low[i], ends[0]-Gap/2, ends[1]-Gap/2)
		p.high[i] = max(p.high[i], ends[0]+Gap/2, ends[1]+Gap/2)
	}
}

// quickLength returns the length to buy of a usable width, 0 if a piece is wider.
func quickLength(copies []quickCopy, width float64) float64 {
	reach := make([]float64, int(width/quickColumn)) // how far each column of the cloth is taken up
	for i := range copies {
		ways := [...]profile{copies[i].profile(false), copies[i].profile(true)}
		if len(ways[0].low) > len(reach) {
			return 0
		}
		for range copies[i].count {
			best, column, y := 0, 0, math.Inf(1)
			for w := range ways {
				if x, at := ways[w].lowest(reach); at < y {
					best, column, y = w, x, at
				}
			}
			for k, high := range ways[best].high {
				reach[column+k] = y + high
			}
		}
	}
	return math.Ceil(slices.Max(reach)/quickStep) * quickStep
}

// lowest returns the column at which the profile lies lowest on what is taken up.
func (p *profile) lowest(reach []float64) (column int, y float64) {
	y = math.Inf(1)
	for x := range len(reach) - len(p.low) + 1 {
		at := 0.0
		for k, low := range p.low {
			if at = max(at, reach[x+k]-low); at >= y {
				break
			}
		}
		if at < y {
			column, y = x, at
		}
	}
	return column, y
}
