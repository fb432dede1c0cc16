package fitting

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/form"
)

// A hanger gives panels their first place round the right half of a form: front
// and back about the trunk.
type hanger struct {
	form   *form.Form
	panels []*panel
	levels map[int]level
	hip    float64 // height from which the cloth falls straight
}

// apart is how far from the body cloth hangs at first, mm.
const apart = 8.0

// A level holds the trunk and the widths of the panels at a height.
type level struct {
	half        []r2.Vec // the trunk's right half from front to back, hulled, (x, z)
	length      float64
	front, back float64 // greatest distance of a front and a back panel from the middle
}

// step is the height between two levels, mm.
const step = 10.0

func newHanger(f *form.Form, panels []*panel, hip float64) *hanger {
	return &hanger{form: f, panels: panels, levels: map[int]level{}, hip: hip}
}

// hang returns the place of a point of a panel on paper.
func (h *hanger) hang(q *panel, at r2.Vec) r3.Vec {
	y := q.level - at.Y
	across := q.across(at)
	if y > h.form.Landmarks[form.Armpit].Y {
		return h.onShoulder(q.where, across, y)
	}
	if q.leg && y < h.form.Landmarks[form.Crotch].Y {
		return h.onLeg(q, at, y)
	}
	l := h.level(y)
	whole := l.front + l.back
	if whole <= 0 {
		whole = 1
	}
	s := across / whole
	if q.where == back {
		s = 1 - s
	}
	// Wider than the body: stand off all round.
	off := max(apart, (whole-l.length)/math.Pi)
	p, out := alongHalf(l.half, l.length*max(0, min(1, s)))
	p = r2.Add(p, r2.Scale(off, out))
	return r3.Vec{X: min(0, p.X), Y: y, Z: p.Y}
}

// level returns what hangs at a height.
func (h *hanger) level(y float64) level {
	key := int(math.Round(y / step))
	if l, ok := h.levels[key]; ok {
		return l
	}
	var l level
	height := max(float64(key)*step, h.hip)
	l.half = h.form.RightHalf(height)
	for i := 1; i < len(l.half); i++ {
		l.length += r2.Norm(r2.Sub(l.half[i], l.half[i-1]))
	}
	for _, q := range h.panels {
		for _, p := range q.points {
			if math.Abs(q.level-p.Y-float64(key)*step) > 1.5*step {
				continue
			}
			switch q.where {
			case front:
				l.front = max(l.front, q.across(p))
			case back:
				l.back = max(l.back, q.across(p))
			}
		}
	}
	h.levels[key] = l
	return l
}

// onLeg returns a place round the leg: the front from the inside over the front to the
// outside, the back behind.
func (h *hanger) onLeg(q *panel, at r2.Vec, y float64) r3.Vec {
	low, high := q.span(at.Y)
	share := q.across(at) / max(1, high-low)
	middle, radius := h.form.RightLeg(y)
	turn := math.Pi/2 - math.Pi*share // from the inside, 90 degrees, to the outside
	if q.where == back {
		turn = math.Pi/2 + math.Pi*share
	}
	sin, cos := math.Sincos(turn)
	off := max(apart, (high-low)/math.Pi-radius)
	// The leg is on the body's right, its inside towards the middle.
	return r3.Vec{X: min(0, middle.X+(radius+off)*sin), Y: y, Z: middle.Y + (radius+off)*cos}
}

// alongHalf returns the point s along a line and the direction to its outside.
func alongHalf(line []r2.Vec, s float64) (p, out r2.Vec) {
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		d := r2.Norm(r2.Sub(b, a))
		if d < 1e-9 {
			continue
		}
		if s <= d || i == len(line)-1 {
			t := min(1, s/d)
			dir := r2.Unit(r2.Sub(b, a))
			return r2.Add(a, r2.Scale(t, r2.Sub(b, a))), r2.Vec{X: dir.Y, Y: -dir.X}
		}
		s -= d
	}
	return line[0], r2.Vec{Y: 1}
}

// onShoulder returns a place before or behind the chest, or on the shoulder.
func (h *hanger) onShoulder(where place, across, y float64) r3.Vec {
	l := h.form.Landmarks
	neck, shoulder := l[form.SideNeck], l[form.Shoulder]
	across = min(across, shoulder.X+10)
	// The shoulder's ridge at this distance from the middle.
	s := max(0, (across-neck.X)/(shoulder.X-neck.X))
	ridge := neck.Y + s*(shoulder.Y-neck.Y)
	side := 1.0
	if where == back {
		side = -1
	}
	if across < neck.X {
		ridge = math.Inf(1) // before or behind the neck
	}
	low := min(y, ridge-5)
	z := h.form.Depth(low, min(across, shoulder.X-15), side) + side*apart
	if y > ridge {
		mid := neck.Z + s*(shoulder.Z-neck.Z)
		return r3.Vec{X: -across, Y: ridge + apart, Z: mid + side*3}
	}
	return r3.Vec{X: -across, Y: y, Z: z}
}
