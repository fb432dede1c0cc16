package fitting

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// A Kind says what a finding is about.
type Kind string

// The kinds of findings.
const (
	NotPutOn  Kind = "not_put_on" // an opening is smaller than what must pass it
	Tight     Kind = "tight"      // the cloth is stretched more than it bears in comfort
	StandsOff Kind = "stands_off" // an edge stands away from the body
	Hangs     Kind = "hangs"      // the hem is not level, or a seam not plumb
	Balance   Kind = "balance"    // the garment sits too far forward or back
)

// A Finding is a fault that a cutter would see on the wearer.
type Finding struct {
	Kind  Kind    `json:"kind"`
	Place string  `json:"place"`
	Piece string  `json:"piece,omitempty"`
	Value float64 `json:"value"` // in Unit
	Unit  string  `json:"unit"`  // "%" or "mm"
	Limit float64 `json:"limit"`
	Words string  `json:"words"`
}

// judge keeps what was read at a place, and as a finding if it is over its limit.
func (r *Result) judge(f Finding) {
	if piece, ok := r.garment.pieceOf[f.Piece]; ok {
		f.Piece = piece
	}
	r.Readings = append(r.Readings, Reading{f.Kind, f.Place, f.Value, f.Unit, f.Limit})
	if f.Value > f.Limit {
		r.Findings = append(r.Findings, f)
	}
}

// Limits of what counts as a fit (common practice).
const (
	closeMore   = 0.01 // strain that a close fit bears more
	neckOff     = 12.0 // mm: neck and armhole from the body
	hemLevel    = 10.0 // mm: highest to lowest of a hem
	hemMarks    = 60.0 // mm from one mark to the next when a hem is levelled
	plumb       = 15.0 // mm: side seam at the hem from below the hip
	neckForward = 12.0 // mm: neck point of the garment from the body's
	underarm    = 45.0 // mm from the armpit, where cloth is always drawn
)

func (r *Result) find(p pattern.Pattern, o Options, waist, hip float64) {
	limit := o.Cloth.Comfort
	if o.Close && !o.Cloth.Knit {
		limit += closeMore
	}
	r.openings(p)
	if o.Along == 0 || r.Banded {
		r.tight("", r.strain, limit, waist, hip)
		r.tightBand(o.Band)
	} else {
		r.tight("", r.garment.strain(func(s drape.Stretch) float64 { return s.Weft }), limit, waist, hip)
		r.tight(lengthwise, r.garment.strain(func(s drape.Stretch) float64 { return s.Warp }), o.Along, waist, hip)
	}
	r.standsOff(p)
	r.hangs(hip)
	r.sleeveHangs()
	r.balance()
}

// lengthwise follows the name of a place that is stretched along the body.
const lengthwise = ", lengthwise"

// tight finds the zones in which a twentieth of the cloth is strained beyond the limit. way
// follows the names of the zones.
func (r *Result) tight(way string, strain []float64, limit, waist, hip float64) {
	type zone struct {
		place, piece string
		strains      []float64
		areas        []float64 // of the same triangles
	}
	zones := map[string]*zone{}
	armpit := r.form.Landmarks[form.Armpit]
	armpit.X = -armpit.X
	near, crotch := r.garment.nearArmhole(), r.form.Landmarks[form.Crotch]
	// Between thighs the body yields; bands, facings and linings share the pull of a body there.
	legs := r.garment.legs() || joined(r.garment.panels)
	for i, t := range r.garment.mesh.Triangles {
		q := r.garment.panels[t.Piece]
		at := r.garment.centre(i)
		if q.jersey() || r3.Norm(r3.Sub(at, armpit)) < underarm || near(at) ||
			legs && r3.Norm(r3.Sub(at, crotch)) < aboutCrotch {
			continue
		}
		place := r.zone(r.sideOf(q, at), at, waist, hip)
		if q.where == sleeve {
			place = r.garment.sleeveZone(at)
		}
		place += way
		z := zones[place]
		if z == nil {
			z = &zone{place: place, piece: q.Name}
			zones[place] = z
		}
		z.strains, z.areas = append(z.strains, r.garment.ofPoints(i, strain)), append(z.areas, t.Area())
	}
	for _, name := range slices.Sorted(maps.Keys(zones)) {
		z := zones[name]
		v := tightest(z.strains, z.areas)
		r.judge(Finding{Kind: Tight, Place: z.place, Piece: z.piece, Value: 100 * v, Unit: "%", Limit: 100 * limit,
			Words: fmt.Sprintf("Tight at the %s: the cloth is stretched by %.1f %%; %.1f %% is worn in comfort.", z.place,
				100*v, 100*limit)})
	}
}

// sideOf returns where a point of a panel hangs. A leg of one piece hangs on both sides.
func (r *Result) sideOf(q *panel, at r3.Vec) place {
	if q.whole && at.Z < r.middle() {
		return back
	}
	return q.where
}

// middle returns the z half-way between the front and the back of the waist.
func (r *Result) middle() float64 {
	return (r.form.Landmarks[form.CentreFrontWaist].Z + r.form.Landmarks[form.CentreBackWaist].Z) / 2
}

// zone names the place of a point as a cutter does.
func (r *Result) zone(where place, at r3.Vec, waist, hip float64) string {
	l := r.form.Landmarks
	bust := l[form.BustPoint].Y
	side := "front"
	if where == back {
		side = "back"
	}
	switch {
	case at.Y > bust+0.6*(l[form.Armpit].Y-bust) && where == back:
		return "upper back"
	case at.Y > bust+0.6*(l[form.Armpit].Y-bust):
		return "chest above the bust"
	case at.Y > waist+underBust*(bust-waist)-15 && where == back:
		return "back at bust level"
	case at.Y > waist+underBust*(bust-waist)-15:
		return "bust"
	case at.Y > waist-25:
		return side + " of the waist"
	case at.Y > hip-40:
		return side + " of the hip"
	}
	if joined(r.garment.panels) {
		return side + " between the legs"
	}
	if r.garment.legs() {
		return side + " of the leg"
	}
	return side + " of the skirt"
}

// standsOff finds necklines and open armholes that stand away from the body.
func (r *Result) standsOff(p pattern.Pattern) {
	sewn := map[pattern.EdgeRef]bool{}
	for _, s := range p.Seams {
		if a, b := r.garment.panel(s.A.Piece), r.garment.panel(s.B.Piece); a != nil && b != nil && s.A != s.B {
			sewn[s.A], sewn[s.B] = true, true
		}
	}
	type opening struct {
		place, piece string
		sum, n       float64
	}
	var openings []*opening
	for _, q := range r.garment.panels {
		for _, e := range q.Edges {
			open := e.Role == pattern.RoleNeckline || e.Role == pattern.RoleArmhole && e.Name != armholeCut
			if !open || sewn[pattern.EdgeRef{Piece: q.Name, Edge: e.Name}] {
				continue
			}
			place := fmt.Sprintf("%s of the %s", e.Role, strings.ToLower(q.Title))
			if e.Name == rollLine {
				place = "roll line of the " + strings.ToLower(q.Title)
			}
			k := slices.IndexFunc(openings, func(o *opening) bool { return o.place == place })
			if k < 0 {
				k = len(openings)
				openings = append(openings, &opening{place: place, piece: q.Name})
			}
			for _, i := range r.garment.along(q, e.Name) {
				at := r.garment.mesh.Points[i]
				d, _ := r.form.TrunkDistance(at)
				if q.where == front && e.Role == pattern.RoleNeckline {
					d = min(d, max(0, at.Z-r.spanned(at)))
				}
				openings[k].sum, openings[k].n = openings[k].sum+d-thickness, openings[k].n+1
			}
		}
	}
	for _, o := range openings {
		if o.n == 0 {
			continue
		}
		off := o.sum / o.n
		r.judge(Finding{Kind: StandsOff, Place: o.place, Piece: o.piece, Value: off, Unit: "mm", Limit: neckOff,
			Words: fmt.Sprintf("The %s stands off by %.0f mm on average; %.0f mm is usual.", o.place, off, neckOff)})
	}
}

// spanned returns how far in front of the body's middle a tape lies at a point, z in mm. It goes
// from breast to breast, and so does a neckline: the hollow between them is not counted.
func (r *Result) spanned(at r3.Vec) float64 {
	far := math.Inf(-1)
	for _, loop := range r.form.Section(at.Y) {
		for _, p := range loop {
			if x := math.Abs(p.X); x >= math.Abs(at.X) && x <= r.form.Landmarks[form.BustPoint].X {
				far = max(far, p.Y)
			}
		}
	}
	return far
}

// balance finds a garment whose neck points do not lie on the body's.
func (r *Result) balance() {
	for _, q := range r.garment.panels {
		if q.where != back {
			continue
		}
		for i, e := range q.Edges {
			next := q.Edges[(i+1)%len(q.Edges)]
			if e.Role != pattern.RoleNeckline || next.Run != "shoulder" {
				continue
			}
			line := r.garment.along(q, e.Name)
			at := r.garment.mesh.Points[line[len(line)-1]]
			z, _ := ridge(r.form, at.X)
			forward := at.Z - z
			r.Hang.Shoulder = forward
			way := "forward of"
			if forward < 0 {
				way = "behind"
			}
			r.judge(Finding{Kind: Balance, Place: "shoulder seam", Piece: q.Name, Value: math.Abs(forward), Unit: "mm",
				Limit: neckForward,
				Words: fmt.Sprintf("The shoulder seam lies %.0f mm %s the shoulder at the neck.", math.Abs(forward), way)})
		}
	}
}
