// Package fitting tries a pattern on a body: it sews the shell of the garment,
// hangs it on a form and says where it is tight, stands off or does not hang
// straight.
//
// It sews one half, which stands for both; of a pattern that differs from left to right
// each half is tried by itself, see [Sides]. A front that overlaps is closed at its centre line, up
// to where a lapel or a shawl turns back, a vent along its seam and a pocket along its
// opening. Gathers are drawn in where they are sewn, and pleats that are folded on to the hem are
// closed. A body that ends between the legs is joined there. Set-in sleeves, raglans, and those
// that are cut in one with the body, hang on arms that hang 15 degrees out and 5 forward, with
// cuffs of their own cloth; facings, linings, other bands, cuffs that turn back, collars, hoods
// and pockets' bags are left out and named, but a neckline that they finish lies double. What
// hangs from a band or from elastic hangs level at the waist; there a wearer moves it until it is
// comfortable, so its width alone is judged. Friction holds the rest where its wearer lays it on
// the shoulders.
// Straps are fitted until their corners are as high as they are drawn, and draw them on to the
// body. A fitting is no promise of comfort, and no substitute for a toile.
package fitting

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/body"
	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// Options say how a pattern is tried on.
type Options struct {
	Cloth drape.Preset
	// Quick tries it in triangles of twice the size, for the findings alone.
	Quick bool
	// Close allows a per cent more strain, as a close fit does.
	Close bool
	// Band is the strain round the body that a band of jersey bears in comfort.
	Band float64
	// Along is the strain along the warp that a knit which stretches both ways bears in comfort;
	// 0 for that of the cloth, in both directions.
	Along    float64
	Progress func(steps int, residual float64)
}

// Sizes of triangles, mm, and steps.
const (
	fullSize  = 15.0
	quickSize = 26.0
	// An armhole needs smaller triangles.
	quickSleeved = 20.0
	mostSteps    = 12_000
	atRest       = 0.02 // unbalanced force over load
	slides       = 2.0  // over weight: what is tight bears many times its weight
	thickness    = 1.0  // mm: from the body to the middle of the cloth
)

// A Result is the outcome of a fitting.
type Result struct {
	Settled  bool
	Residual float64 // unbalanced force over load
	Steps    int

	Levels   []Level
	Openings []Opening
	Findings []Finding
	Readings []Reading // of every place that was judged, findings or not
	Left     []string  // pieces left out
	Hang     Hang
	Banded   bool // hangs from a band at the waist: its width alone is judged

	form    *form.Form
	garment *garment
	strain  []float64 // the largest at each point of the garment
	left    *Result   // of the left side, if it differs
}

// Wear tries a pattern on a form. b is the body that the pattern was drafted for.
// The error is a *NotTriedError for a garment of a kind that is not tried on.
func Wear(ctx context.Context, p pattern.Pattern, f *form.Form, b body.Body, o Options) (*Result, error) {
	waist := f.Landmarks[form.CentreFrontWaist].Y
	hip := waist - b.Value(body.WaistToHip)
	g, left, err := begin(ctx, p, f, waist, hip, o)
	if err != nil {
		return nil, err
	}
	if !g.banded && !slices.ContainsFunc(g.panels, (*panel).armhole) {
		return nil, &NotTriedError{"what neither a band, elastic at its upper edge nor the shoulders hold up is not tried on"}
	}
	on, err := bodyOf(ctx, f, g)
	if err != nil {
		return nil, err
	}
	g.gripShoulders(f)
	g.drawByStraps(f)
	// Nothing else rubs: a wearer moves, and what friction would hold elsewhere slides into
	// place.
	rest, err := drape.Settle(ctx, g.mesh, on, drape.Options{Residual: atRest, OfWeight: slides,
		Steps: mostSteps, Standoff: thickness, Still: g.still(), Progress: o.Progress})
	if err != nil {
		return nil, fmt.Errorf("fitting: %w", err)
	}
	r := &Result{Settled: rest.Settled, Residual: rest.Residual, Steps: rest.Steps, Left: left, Banded: g.banded, form: f,
		garment: g}
	if o.Band > 0 {
		g.jersey = o.Cloth.Comfort / o.Band
	}
	r.strain = g.largest()
	r.levels(waist, hip)
	r.find(p, o, waist, hip)
	return r, nil
}

// begin sews a pattern and hangs it near a form, and returns the names of the pieces
// left out.
func begin(ctx context.Context, p pattern.Pattern, f *form.Form, waist, hip float64, o Options) (
	g *garment, left []string, err error,
) {
	p, cutFrom := cutSleeves(layered(p))
	p, yokeOf := cutRaglans(p, f.Landmarks[form.Shoulder].X)
	p, pieceOf := foldPleats(foldCasings(closeVents(p)))
	maps.Copy(pieceOf, cutFrom)
	maps.Copy(pieceOf, yokeOf)
	p = closeCrotch(p)
	p, shown := closePockets(p)
	p, closed := closeCuffs(p)
	panels, left := shell(p, shown, closed, waist, f.Landmarks[form.BustPoint].Y, hip)
	if err := check(p, panels, f.Landmarks[form.Armpit].Y); err != nil {
		return nil, nil, err
	}
	size := fullSize
	if o.Quick {
		size = quickSize
		if slices.ContainsFunc(panels, isSleeve) {
			size = quickSleeved
		}
	}
	drawIn(panels, besideElastic(panels), f.TrunkGirth)
	draw(panels, p.Seams)
	held := heldByElastic(panels, p.Seams)
	drawIn(panels, held, f.TrunkGirth)
	h := newHanger(f, panels, p.Seams, hip, o.Cloth.Cloth, size)
	if g, err = sew(ctx, p, panels, o.Cloth.Cloth, size, held, h.hang); err != nil {
		return nil, nil, err
	}
	g.arm, g.pieceOf = h.arm, pieceOf
	for tier, folds := range h.folds {
		if folds > 0 {
			g.fold = max(g.fold, h.hemWidth(tier)/folds)
		}
	}
	return g, left, nil
}

// A Level is the girth of body and garment at a height.
type Level struct {
	Name   string  `json:"name"`
	Height float64 `json:"height_mm"`     // above the floor
	Body   float64 `json:"body_girth_mm"` // girth of the body as a tape measures it
	Worn   float64 `json:"worn_girth_mm"` // girth of the garment as it hangs
	Cut    float64 `json:"cut_girth_mm"`  // girth of the garment as cut along the same line
}

// levels measures body and garment at the levels of the tape.
func (r *Result) levels(waist, hip float64) {
	bust := r.form.Landmarks[form.BustPoint].Y
	for _, l := range []Level{
		{Name: "bust", Height: bust},
		{Name: "under bust", Height: waist + underBust*(bust-waist)},
		{Name: "waist", Height: waist},
		{Name: "high hip", Height: hip + highHip*(waist-hip)},
		{Name: "hip", Height: hip},
	} {
		if l.Worn, l.Cut = r.garment.girth(l.Height); l.Worn == 0 {
			continue // the garment does not reach there
		}
		l.Body = r.form.TrunkGirth(l.Height)
		r.Levels = append(r.Levels, l)
	}
	r.armLevels()
}

// Where the under bust lies between waist and bust, and the high hip between hip
// and waist, as on the bodies from which the forms were learned.
const (
	underBust = 0.735
	highHip   = 0.333
)

// girth returns the length of the trunk's cloth at a height, as it hangs and as
// cut, of both halves; 0 where it does not go all round.
func (g *garment) girth(y float64) (worn, cut float64) {
	worn, cut = g.across(func(q *panel) bool { return q.where != sleeve }, func(p r3.Vec) float64 { return p.Y - y })
	return 2 * worn, 2 * cut
}

// across returns the length of the line in which a plane cuts the cloth of panels, as it
// hangs and as cut; 0 where the line ends at an edge. A point is over the plane where over
// is positive.
func (g *garment) across(of func(q *panel) bool, over func(p r3.Vec) float64) (worn, cut float64) {
	ends := map[[2]int]int{}
	for _, t := range g.mesh.Triangles {
		if !of(g.panels[t.Piece]) {
			continue
		}
		var at []r3.Vec
		var flat []r2.Vec
		for k := range 3 {
			i, j := t.Points[k], t.Points[(k+1)%3]
			a, b := g.mesh.Points[i], g.mesh.Points[j]
			ha, hb := over(a), over(b)
			if (ha > 0) == (hb > 0) {
				continue
			}
			s := ha / (ha - hb)
			at = append(at, r3.Add(a, r3.Scale(s, r3.Sub(b, a))))
			fa, fb := t.Flat[k], t.Flat[(k+1)%3]
			flat = append(flat, r2.Add(fa, r2.Scale(s, r2.Sub(fb, fa))))
			if !g.mesh.OnPlane[i] || !g.mesh.OnPlane[j] {
				ends[[2]int{min(i, j), max(i, j)}]++
			}
		}
		if len(at) == 2 {
			worn += r3.Norm(r3.Sub(at[1], at[0]))
			cut += r2.Norm(r2.Sub(flat[1], flat[0]))
		}
	}
	for _, n := range ends {
		if n == 1 { // the line ends at an edge of the garment
			return 0, 0
		}
	}
	return worn, cut
}

// along returns the points of the mesh along an edge of a piece.
func (g *garment) along(q *panel, edge string) []int {
	var line []int
	for _, i := range q.edges[edge] {
		if p := g.moved[q.first+i]; p >= 0 {
			line = append(line, p)
		}
	}
	return slices.Compact(line)
}
