package fitting

import (
	"context"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/body"
	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// Begin returns the cloth of a pattern's trunk as it is hung near a form before it settles.
func Begin(ctx context.Context, p pattern.Pattern, f *form.Form, b body.Body, o Options) (*drape.Mesh, error) {
	waist := f.Landmarks[form.CentreFrontWaist].Y
	g, _, err := begin(ctx, p, f, waist, waist-b.Value(body.WaistToHip), o)
	if err != nil {
		return nil, err
	}
	onArm := func(t drape.Triangle) bool { return isSleeve(g.panels[t.Piece]) }
	g.mesh.Triangles = slices.DeleteFunc(g.mesh.Triangles, onArm)
	return g.mesh, nil
}

// HeldLength returns the length of the edge of the whole garment that is held at the waist, as
// worn.
func HeldLength(r *Result) (length float64) {
	m := r.garment.mesh
	sides := map[[2]int]int{}
	for _, t := range m.Triangles {
		for k, i := range t.Points {
			j := t.Points[(k+1)%3]
			sides[[2]int{min(i, j), max(i, j)}]++
		}
	}
	for s, n := range sides {
		if n == 1 && m.Hung[s[0]] && m.Hung[s[1]] {
			length += 2 * r3.Norm(r3.Sub(m.Points[s[0]], m.Points[s[1]]))
		}
	}
	return length
}

// Corners returns the corners of a panel at which straps are sewn, as worn.
func Corners(r *Result, piece string) (corners []r3.Vec) {
	q := r.garment.panel(piece)
	for _, c := range q.strapped() {
		line := r.garment.along(q, c[0])
		corners = append(corners, r.garment.mesh.Points[line[len(line)-1]])
	}
	return corners
}

// Spanned returns where a tape from breast to breast lies before a point.
func Spanned(f *form.Form, at r3.Vec) float64 { return (&Result{form: f}).spanned(at) }
