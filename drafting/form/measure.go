package form

import (
	"cmp"
	"math"
	"slices"

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
// the body's measurements. A belly in pregnancy takes the place of the measurements that
// lie under it.
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
	belly := b.Given(body.BellyGirth) && b.Has(body.WaistToBelly)
	if belly {
		add(body.BellyGirth, f.TrunkGirth(waist-b.Value(body.WaistToBelly)))
	} else {
		add(body.WaistGirth, f.TrunkGirth(waist))
	}
	if b.Has(body.WaistToHip) {
		add(body.HipGirth, f.TrunkGirth(waist-b.Value(body.WaistToHip)))
	}
	add(body.ShoulderLength, r3.Norm(r3.Sub(l[Shoulder], r3.Vec{X: l[SideNeck].X, Y: l[SideNeck].Y, Z: l[Shoulder].Z})))
	add(body.BustPointWidth, 2*l[BustPoint].X)
	creases := (l[Shoulder].Y + l[Armpit].Y) / 2
	add(body.ChestWidth, f.betweenArms(creases, 1))
	add(body.BackWidth, f.betweenArms(creases, -1))
	add(body.NapeToWaist, tape(l[Nape].Y, waist, func(y float64) float64 { return -f.Depth(y, 0.5, -1) }))
	neck := r2.Vec{X: l[SideNeck].X, Y: l[SideNeck].Y}
	toBust := tapeBetween(neck, l[SideNeck].Z, r2.Vec{X: l[BustPoint].X, Y: bust},
		func(x, y float64) float64 { return f.Depth(y, x, 1) })
	add(body.SideNeckToBust, toBust)
	if !belly {
		toWaist := tape(bust, waist, func(y float64) float64 { return f.Depth(y, l[BustPoint].X, 1) })
		add(body.FrontWaistLength, toBust+toWaist)
		add(body.TotalCrotchLength, f.crotchTape(l[Crotch].Y, waist))
	}
	add(body.NapeHeight, l[Nape].Y)
	add(body.WaistHeight, waist)
	add(body.BustHeight, bust)
	return all
}

// betweenArms returns the length of a tape at level y over the chest (side 1) or the back
// (-1) from where one arm leaves the trunk to where the other does. It is not a number on
// a mesh, whose arms are not known apart from its trunk.
func (f *Form) betweenArms(y, side float64) float64 {
	if f.arms == nil {
		return math.NaN()
	}
	var trunk, arm []r2.Vec
	for _, loop := range f.Section(y) {
		if about(loop, r2.Vec{Y: middleOf(loop)}) {
			trunk = loop
		} else if loop[0].X > 0 {
			arm = loop
		}
	}
	if trunk == nil || arm == nil {
		return math.NaN()
	}
	mid := middleOf(trunk)
	from := func(p r2.Vec) float64 { return math.Atan2(p.X, side*(p.Y-mid)) }
	half := slices.DeleteFunc(trunk, func(p r2.Vec) bool { return p.X < 0 })
	slices.SortFunc(half, func(p, q r2.Vec) int { return cmp.Compare(from(p), from(q)) })
	for i, p := range half {
		if !about(arm, p) {
			continue
		}
		out, in := half[max(0, i-1)], p
		for range 20 { // to where it enters the arm
			if m := r2.Scale(0.5, r2.Add(out, in)); about(arm, m) {
				in = m
			} else {
				out = m
			}
		}
		return 2 * tapeTo(append(half[:i:i], in))
	}
	return math.NaN()
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
