package form

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/body"
)

// A Measure is a measurement of a body beside what a tape reads on its form, mm.
type Measure struct {
	Name       body.Name
	Body, Form float64
	Estimated  bool // the body's was not given
}

// Measures reads the form as a tape would and returns what can be compared with
// the body's measurements.
func (f *Form) Measures(b body.Body) []Measure {
	l := f.Landmarks
	bust, waist := l[BustPoint].Y, l[CentreFrontWaist].Y
	var all []Measure
	add := func(n body.Name, v float64) {
		if b.Has(n) && !math.IsNaN(v) {
			all = append(all, Measure{n, b.Value(n), v, !b.Given(n)})
		}
	}
	add(body.BustGirth, f.TrunkGirth(bust))
	add(body.UnderBustGirth, f.TrunkGirth(waist+levelPart("under_bust")*(bust-waist)))
	add(body.WaistGirth, f.TrunkGirth(waist))
	if b.Has(body.WaistToHip) {
		add(body.HipGirth, f.TrunkGirth(waist-b.Value(body.WaistToHip)))
	}
	add(body.ShoulderLength, r3.Norm(r3.Sub(l[Shoulder], r3.Vec{X: l[SideNeck].X, Y: l[SideNeck].Y, Z: l[Shoulder].Z})))
	add(body.BustPointWidth, 2*l[BustPoint].X)
	add(body.NapeToWaist, f.tape(l[Nape].Y, waist, -1))
	add(body.TotalCrotchLength, f.crotchTape(l[Crotch].Y, waist))
	add(body.NapeHeight, l[Nape].Y)
	add(body.WaistHeight, waist)
	add(body.BustHeight, bust)
	return all
}

// levelPart returns how far a level lies from the station below it to that above.
func levelPart(name string) float64 {
	for i, n := range Levels {
		if n == name {
			return levelAt[i] - math.Floor(levelAt[i])
		}
	}
	return math.NaN()
}

// tape returns the length of a tape down the middle of the back (side -1) or the
// front (1) from one height to another, which spans hollows.
func (f *Form) tape(from, to, side float64) float64 {
	var line []r2.Vec
	const rows = 60
	for i := range rows + 1 {
		y := from + (to-from)*float64(i)/rows
		line = append(line, r2.Vec{X: y, Y: side * f.Depth(y, 0.5, side)})
	}
	// The upper hull, from the nape down.
	var h []r2.Vec
	for _, p := range line {
		for len(h) >= 2 && r2.Cross(r2.Sub(h[len(h)-1], h[len(h)-2]), r2.Sub(p, h[len(h)-2])) <= 0 {
			h = h[:len(h)-1]
		}
		h = append(h, p)
	}
	sum := 0.0
	for i := 1; i < len(h); i++ {
		sum += r2.Norm(r2.Sub(h[i], h[i-1]))
	}
	return sum
}

// crotchTape returns the length of a tape from the waist in front, between the legs, to
// the waist behind.
func (f *Form) crotchTape(crotch, waist float64) float64 {
	var points []r2.Vec
	var front, back r2.Vec
	const rows = 60
	for i := range rows + 1 {
		y := crotch + 1 + (waist-crotch-1)*float64(i)/rows
		front, back = r2.Vec{X: f.Depth(y, 0.5, 1), Y: y}, r2.Vec{X: f.Depth(y, 0.5, -1), Y: y}
		points = append(points, front, back)
	}
	return perimeter(hull(points)) - r2.Norm(r2.Sub(front, back))
}
