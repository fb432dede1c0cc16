package fitting

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/pattern"
)

// A Hang says how a garment hangs, mm. All are 0 for one that hangs from a band.
type Hang struct {
	Front, Side, Back float64 // heights of the hem, which are alike where it is level
	Swing             float64 // of the side seam from below the hip to the hem; forward is positive
	Shoulder          float64 // from the body's shoulder at the neck to the garment's seam; forward is positive
}

// hangs finds a hem that is not level and side seams that are not plumb, of what does not
// hang from a band.
func (r *Result) hangs(hip float64) {
	if r.Banded {
		return
	}
	if hem := r.hem(); len(hem) > 0 {
		low, high := ends(hem)
		r.Hang.Front, r.Hang.Side, r.Hang.Back = r.heights(hem)
		drop := high.Y - low.Y
		words := fmt.Sprintf("The hem is not level: it hangs %.0f mm lower %s than %s.", drop, r.side(low), r.side(high))
		if r.side(low) == r.side(high) {
			words = fmt.Sprintf("The hem is not level: it falls by %.0f mm %s.", drop, r.side(low))
		}
		r.judge(Finding{Kind: Hangs, Place: "hem", Value: drop, Unit: "mm", Limit: hemLevel, Words: words})
	}
	for _, q := range r.garment.panels {
		if q.where != front || r.garment.fold > 0 { // in folds it swings with its fold
			continue
		}
		var line []r3.Vec
		for _, e := range q.Edges {
			if e.Run != "side" {
				continue
			}
			for _, i := range r.garment.along(q, e.Name) {
				if at := r.garment.mesh.Points[i]; at.Y < hip-20 {
					line = append(line, at)
				}
			}
		}
		if len(line) < 4 {
			continue
		}
		slices.SortFunc(line, func(a, b r3.Vec) int { return cmp.Compare(b.Y, a.Y) })
		swing, way := line[len(line)-1].Z-line[0].Z, "forward"
		if math.Abs(swing) > math.Abs(r.Hang.Swing) {
			r.Hang.Swing = swing
		}
		if swing < 0 {
			way = "back"
		}
		r.judge(Finding{Kind: Hangs, Place: "side seam", Piece: q.Name, Value: math.Abs(swing), Unit: "mm", Limit: plumb,
			Words: fmt.Sprintf("The side seam swings %s by %.0f mm from the hip to the hem.", way, math.Abs(swing))})
	}
}

// hem returns the points of the trunk's hem, if it has one that is
// turned up: a bagged edge, as of a waistcoat, need not be level. Its heights are means over
// the distance of a cutter's marks, in triangles of any size, and over a fold where it falls
// in folds: each swings its crest outwards and up.
func (r *Result) hem() (line []r3.Vec) {
	beside := map[int][]int{}
	var points []int
	for _, q := range r.garment.panels {
		for _, e := range q.Edges {
			if e.Role != pattern.RoleHem || q.where == sleeve {
				continue
			}
			edge := r.garment.along(q, e.Name)
			points = append(points, edge...)
			for i := 1; i < len(edge); i++ {
				beside[edge[i]] = append(beside[edge[i]], edge[i-1])
				beside[edge[i-1]] = append(beside[edge[i-1]], edge[i])
			}
		}
	}
	slices.Sort(points)
	points = slices.Compact(points)
	height := map[int]float64{}
	for _, i := range points {
		height[i] = r.garment.mesh.Points[i].Y
	}
	// Each mean of a point with its neighbours is over half a point's distance more,
	// squared: half a fold in all leaves nothing of the waves.
	half := max(r.garment.fold, hemMarks) / 2 / r.garment.size
	for range int(2 * half * half) {
		next := map[int]float64{}
		for _, i := range points {
			sum := 0.0
			for _, j := range beside[i] {
				sum += height[j]
			}
			next[i] = height[i]/2 + sum/2/float64(len(beside[i]))
		}
		height = next
	}
	for _, i := range points {
		at := r.garment.mesh.Points[i]
		at.Y = height[i]
		line = append(line, at)
	}
	return line
}

// ends returns the lowest and the highest of the points.
func ends(line []r3.Vec) (low, high r3.Vec) {
	low, high = line[0], line[0]
	for _, at := range line {
		if at.Y < low.Y {
			low = at
		}
		if at.Y > high.Y {
			high = at
		}
	}
	return low, high
}

// heights returns the mean heights of a hem in front, at the side and behind.
func (r *Result) heights(hem []r3.Vec) (front, side, back float64) {
	const near = math.Pi / 8 // of the middle of front, side and back
	mean := func(middle float64) float64 {
		var sum, n float64
		for _, at := range hem {
			if math.Abs(r.turned(at)-middle) < near {
				sum, n = sum+at.Y, n+1
			}
		}
		return sum / max(n, 1)
	}
	return mean(0), mean(math.Pi / 2), mean(math.Pi)
}

// turned returns how far round the body from the middle of the front a point lies, radians.
func (r *Result) turned(at r3.Vec) float64 {
	return math.Atan2(math.Abs(at.X), at.Z-r.middle())
}

// side says where round the body a point lies.
func (r *Result) side(at r3.Vec) string {
	switch a := r.turned(at); {
	case a < math.Pi/4:
		return "in front"
	case a > 3*math.Pi/4:
		return "behind"
	}
	return "at the side"
}
