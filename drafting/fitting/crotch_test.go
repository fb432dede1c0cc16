package fitting

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/body"
	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// TestLengthBetweenLegs: narrow strips that hang from a band at the waist and are joined between the legs, cut
// to the body's own crotch length, are hardly stretched; cut a tenth shorter they are stretched by what
// they lack, wherever front and back meet. Wider ones span the cleft of the seat.
func TestLengthBetweenLegs(t *testing.T) {
	f, b := lone(t)
	waist := f.Landmarks[form.CentreFrontWaist].Y
	whole := b.Value(body.TotalCrotchLength)
	cloth, _ := drape.PresetOf("jersey")
	strained := func(length, ahead float64) float64 {
		strip := func(name string, side, low float64) pattern.Piece {
			points := []geom.Point{{X: 0, Y: 0}, {X: side * 12, Y: 0}, {X: side * 12, Y: 60}, {X: side * 12, Y: low},
				{X: 0, Y: low}}
			names := []string{"top", "side", legOpening, crotchEnd, "centre"}
			if side < 0 { // an outline runs clockwise
				slices.Reverse(points)
				names = []string{crotchEnd, legOpening, "side", "top", "centre"}
			}
			p := edgesOf(name, points, names...)
			p.Grain = geom.Line(geom.Pt(0, low), geom.Pt(0, 0))
			p.Edges[p.EdgeIndex("centre")].Role = pattern.RoleFold
			p.Lines = []pattern.Line{{Name: "waist", Path: geom.Polyline(geom.Pt(0, 0), geom.Pt(side*12, 0))}}
			return p
		}
		ref := func(piece, edge string) pattern.EdgeRef { return pattern.EdgeRef{Piece: piece, Edge: edge} }
		p := pattern.Pattern{Pieces: []pattern.Piece{strip("front", -1, ahead*length), strip("back", 1, (1-ahead)*length),
			edgesOf("waistband", []geom.Point{{X: 0, Y: 0}, {X: 80, Y: 0}, {X: 80, Y: 30}, {X: 0, Y: 30}},
				"top", "end", "bottom", "start")},
			Seams: []pattern.Seam{{A: ref("front", "top"), B: ref("waistband", "bottom")},
				{A: ref("back", "top"), B: ref("waistband", "bottom")}}}
		g, _, err := begin(t.Context(), p, f, waist, waist-b.Value(body.WaistToHip), Options{Cloth: cloth})
		if err != nil {
			t.Fatal(err)
		}
		// Held at the waist off the skin, or narrow strips slide round to one side.
		g.mesh.Pinned = slices.Clone(g.mesh.Hung)
		for _, q := range g.panels {
			side := map[place]float64{front: 1, back: -1}[q.where]
			for k, i := range g.along(q, "top") {
				across := q.across(q.points[q.edges["top"][k]])
				g.mesh.Points[i] = r3.Vec{X: -across, Y: waist, Z: f.Depth(waist, across, side) + side*2*thickness}
			}
		}
		on, err := bodyOf(t.Context(), f, g)
		if err != nil {
			t.Fatal(err)
		}
		rest, err := drape.Settle(t.Context(), g.mesh, on, drape.Options{Residual: atRest / 10,
			Steps: 3 * mostSteps, Standoff: thickness, Still: creep / 10})
		if err != nil || !rest.Settled {
			t.Fatal(rest, err)
		}
		worn, cut := g.middle()
		if math.Abs(cut-length) > 1 {
			t.Errorf("cut %.1f mm long, want %.1f", cut, length)
		}
		return worn/cut - 1
	}
	for _, test := range []struct{ share, ahead, want float64 }{{1, 0.46, 0}, {0.9, 0.46, 1/0.9 - 1},
		{0.9, 0.55, 1/0.9 - 1}} {
		got := strained(test.share*whole, test.ahead)
		t.Logf("cut to %.0f %% of the crotch length, %.0f %% of it in front: stretched by %.2f %%", 100*test.share,
			100*test.ahead, 100*got)
		// The cloth's middle lies 1 mm off the skin, 2 at the waist, where it is held.
		if math.Abs(got-test.want) > 0.022 {
			t.Errorf("stretched by %.2f %%, want %.2f", 100*got, 100*test.want)
		}
	}
}

// middle returns the length of the cloth along the middle of the body, as it hangs and as cut.
func (g *garment) middle() (worn, cut float64) {
	for _, t := range g.mesh.Triangles {
		for k := range 3 {
			i, j := t.Points[k], t.Points[(k+1)%3]
			if g.mesh.OnPlane[i] && g.mesh.OnPlane[j] {
				worn += r3.Norm(r3.Sub(g.mesh.Points[j], g.mesh.Points[i]))
				cut += r2.Norm(r2.Sub(t.Flat[(k+1)%3], t.Flat[k]))
			}
		}
	}
	return worn, cut
}
