package form

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/body"
)

// rowsApart is the height between two rows of a template, mm.
const rowsApart = 12.0

// Trunk returns the trunk of a form without its arms, which end at an upright
// plane through the shoulder point. heights are those of hip, waist and bust
// above the floor. The neck ends at the nape.
func (f *Form) Trunk(heights map[body.Name]float64) (Trunk, error) {
	l := f.Landmarks
	levels := []float64{l[Crotch].Y, heights[body.HipHeight], heights[body.WaistHeight], heights[body.BustHeight],
		l[Armpit].Y, l[Shoulder].Y, l[SideNeck].Y, l[Nape].Y}
	bust := 0.0
	for _, loop := range f.Section(levels[atBust]) {
		if about(loop, r2.Vec{Y: middleOf(loop)}) {
			bust = ray(loop, middleOf(loop), math.Pi/2)
		}
	}
	trunk := Trunk{Shoulder: l[Shoulder].X, Neck: l[SideNeck].X}
	for i := 1; i < len(levels); i++ {
		if !(levels[i] > levels[i-1]) {
			return Trunk{}, fmt.Errorf("form: the level %s is not above %s", Stations[i], Stations[i-1])
		}
		n := max(2, int(math.Round((levels[i]-levels[i-1])/rowsApart)))
		for k := range n {
			s := float64(k) / float64(n)
			trunk.add(f, float64(i-1)+s, levels[i-1]+s*(levels[i]-levels[i-1]), bust)
		}
	}
	trunk.add(f, float64(len(levels)-1), levels[len(levels)-1], bust)
	return trunk, nil
}

func (t *Trunk) add(f *Form, at, y, bust float64) {
	// Just above the crotch the legs are one loop.
	y = max(y, f.Landmarks[Crotch].Y+2)
	for _, loop := range f.Section(y) {
		mid := middleOf(loop)
		if !about(loop, r2.Vec{Y: mid}) {
			continue
		}
		if at < 0.5 {
			loop = hull(loop) // between the thighs as a tape goes
			mid = middleOf(loop)
		}
		var row Row
		row.At, row.Middle = at, mid
		for i := range Angles {
			a := angle(i)
			r := (ray(loop, mid, a) + ray(loop, mid, -a)) / 2
			if side := math.Abs(math.Sin(a)); side > 0.01 && at > atBust {
				r = min(r, f.side(y, bust)/side)
			}
			row.Radius = append(row.Radius, math.Round(r*10)/10)
		}
		row.Middle = math.Round(row.Middle*10) / 10
		t.Rows = append(t.Rows, row)
		return
	}
}

// side returns how far out the trunk reaches at a level above the bust, where the
// arms are cut off: as far as at the bust, and towards the shoulder point in the
// upper half of the armhole. The flesh beside the armpit belongs to the arm: it
// goes with the arm where that hangs down.
func (f *Form) side(y, bust float64) float64 {
	armpit, shoulder := f.Landmarks[Armpit], f.Landmarks[Shoulder]
	s := (y - armpit.Y) / (shoulder.Y - armpit.Y)
	return bust + max(0, min(1, (s-0.4)/0.6))*(shoulder.X-bust)
}

// middleOf returns half-way between front and back of a loop at x = 0.
func middleOf(loop []r2.Vec) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range loop {
		q := loop[(i+1)%len(loop)]
		if (p.X > 0) == (q.X > 0) {
			continue
		}
		s := p.X / (p.X - q.X)
		z := p.Y + s*(q.Y-p.Y)
		low, high = min(low, z), max(high, z)
	}
	return (low + high) / 2
}
