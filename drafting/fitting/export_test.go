package fitting

import (
	"context"
	"slices"

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
