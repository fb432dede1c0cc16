package fitting

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// A hanger gives panels their first place round the right half of a form: front
// and back about the trunk.
type hanger struct {
	form   *form.Form
	arm    *form.Arm // nil without sleeves
	panels []*panel
	falls  map[*panel]*fall
	folds  map[int]float64 // of each tier
	rows   map[rowKey]*row
	hip    float64 // height from which the cloth falls straight
	cloth  drape.Cloth
	size   float64 // of the triangles
}

// apart is how far from the body cloth hangs at first, mm.
const apart = 8.0

func newHanger(
	f *form.Form, panels []*panel, seams []pattern.Seam, hip float64, cloth drape.Cloth, size float64,
) *hanger {
	trunk := slices.DeleteFunc(slices.Clone(panels), isSleeve)
	h := &hanger{form: f, panels: trunk, falls: fallsOf(trunk, seams), folds: map[int]float64{}, rows: map[rowKey]*row{},
		hip: hip, cloth: cloth, size: size}
	if len(trunk) < len(panels) {
		h.arm = f.RightArm()
	}
	for _, q := range trunk {
		t := h.falls[q].tier
		h.folds[t] = h.foldsOf(t)
	}
	return h
}

// hang returns the place of a point of a panel on paper.
func (h *hanger) hang(q *panel, at r2.Vec) r3.Vec {
	if q.where == sleeve {
		return h.onArm(q, at)
	}
	down := q.down(at)
	y := q.level - down + q.takenUp(down)
	if y > h.form.Landmarks[form.Armpit].Y {
		return h.onShoulder(q.where, q.across(at), y)
	}
	if q.leg && y < h.form.Landmarks[form.Crotch].Y {
		return h.onLeg(q, at, y)
	}
	if q.under() && y < h.form.Landmarks[form.Crotch].Y+aboveCrotch {
		return h.onCrotch(q, at, y)
	}
	return h.around(q, at, y)
}

// onLeg returns a place round the leg: the front from the inside over the front to the
// outside, the back behind, and a leg of one piece all round.
func (h *hanger) onLeg(q *panel, at r2.Vec, y float64) r3.Vec {
	low, high := q.span(at.Y)
	share := q.across(at) / max(1, high-low)
	middle, radius := h.form.RightLeg(y)
	part := math.Pi // of the round
	switch {
	case q.whole:
		part = 2 * math.Pi
	case q.where == back:
		share = -share
	}
	sin, cos := math.Sincos(math.Pi/2 - part*share) // from the inside, 90 degrees, over the front
	off := max(apart, (high-low)/part-radius)
	// The leg is on the body's right, its inside towards the middle.
	return r3.Vec{X: min(0, middle.X+(radius+off)*sin), Y: y, Z: middle.Y + (radius+off)*cos}
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
