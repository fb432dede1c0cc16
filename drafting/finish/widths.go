package finish

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// leastLettered is the narrowest allowance that is lettered, mm: letters of 6 points
// go in.
const leastLettered = 6.0

// letterAllowances letters the width of every allowance between seam and cut line,
// once for each edge, in the order's unit.
func (q *Piece) letterAllowances(unit string, outline []geom.Point) {
	ring := ringOf(q, outline)
	done := map[string]bool{}
	for i, e := range q.Edges {
		mm := q.Allowances[i]
		if done[e.Run] || mm < leastLettered || e.Role == pattern.RoleDartMouth || e.Role == pattern.RoleFold {
			continue
		}
		word := widthWord(mm, unit)
		if e.Role == pattern.RoleHem {
			word = "HEM " + word
		}
		if l, ok := besideEdge(word, e.Path, mm, ring); ok {
			q.Texts = append(q.Texts, l)
			done[e.Run] = true
		}
	}
}

// widthWord formats a width in the order's unit.
func widthWord(mm float64, unit string) string {
	if unit == string(body.Inch) {
		return body.Inch.Tape(mm) + " in"
	}
	return fmt.Sprintf("%s cm", strconv.FormatFloat(math.Round(mm)/10, 'f', -1, 64))
}

// besideEdge letters a word in the allowance of an edge where it is nearly straight.
func besideEdge(word string, path geom.Path, mm float64, ring *room) (Text, bool) {
	n := path.Length()
	for _, size := range [...]float64{min(3.2, mm/2.2), 2.2} {
		w := centred(word, size, 0, geom.Point{}).Width()
		if w > 0.7*n {
			continue
		}
		for _, f := range [...]float64{0.5, 0.35, 0.65, 0.2, 0.8} {
			at := min(max(f*n, w/2), n-w/2)
			a, m, b := path.At(at-w/2), path.At(at), path.At(at+w/2)
			out := b.Sub(a).Unit().Left()
			if math.Abs(m.Sub(a).Dot(out)) > 0.15*mm {
				continue
			}
			l := centred(word, size, b.Sub(a).Angle(), a.Lerp(b, 0.5).Add(out.Mul(mm/2)))
			if ring.free(l.Corners(), obstacleOutside|obstacleMark) {
				return l, true
			}
		}
	}
	return Text{}, false
}

// ringOf returns the room between seam and cut line. It has no cells: free needs
// none.
func ringOf(q *Piece, outline []geom.Point) *room {
	r := &room{}
	bar := func(points []geom.Point, kind obstacle) {
		for i := range points {
			r.lines = append(r.lines, barred{points[i], points[(i+1)%len(points)], kind})
		}
	}
	bar(outline, obstacleOutside)
	bar(q.CutLine.Flatten(geom.PlaceTol), obstacleOutside)
	for _, t := range q.Ticks {
		r.lines = append(r.lines, barred{t.Stroke.P0, t.Stroke.P3, obstacleMark})
	}
	return r
}

// halfWays returns the middles of neighbouring levels that are far enough apart.
func halfWays(levels []float64) []float64 {
	slices.Sort(levels)
	var middles []float64
	for i := 1; i < len(levels); i++ {
		if levels[i]-levels[i-1] >= minLevels {
			middles = append(middles, (levels[i]+levels[i-1])/2)
		}
	}
	return middles
}
