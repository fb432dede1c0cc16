package render

import (
	"context"
	"io"

	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sizes"
)

// sizesDXF writes a size run as one style of ASTM D6673-10: a block for each piece in each
// size, named by both, the sizes of a piece inserted on each other as drafted. There is no
// table of grade rules: every size is drafted to its own measurements.
func sizesDXF(ctx context.Context, w io.Writer, r sizes.Run, _ body.Unit, o Options) error {
	options, err := o.dxf().filled()
	if err != nil {
		return err
	}
	var bySize [][]dxfPiece
	for _, s := range r.Sizes {
		if err := cost.Step(ctx); err != nil {
			return err
		}
		pieces, err := dxfPieces(s.Pattern.Lettered(), options)
		if err != nil {
			return err
		}
		bySize = append(bySize, pieces)
	}
	nested := map[string][]dxfPiece{}
	var order []string
	for _, pieces := range bySize {
		for _, p := range pieces {
			if nested[p.Name] == nil {
				order = append(order, p.Name)
			}
			nested[p.Name] = append(nested[p.Name], p)
		}
	}
	var all []dxfPiece
	x := 0.0
	for _, name := range order {
		bounds := geom.EmptyBox()
		for _, p := range nested[name] {
			bounds = bounds.Union(p.Bounds())
		}
		for _, p := range nested[name] {
			p.insert = geom.Pt(x+p.corner.X-bounds.Min.X, p.corner.Y-bounds.Max.Y)
			all = append(all, p)
		}
		x += bounds.Width() + dxfGap
	}
	names := make([]string, len(all))
	for i, p := range all {
		names[i] = p.called + "-" + p.sizeName
	}
	for i, name := range dxfNames(names) {
		all[i].block = name
	}
	label := finish.Label{Reference: r.Sizes[len(r.Sizes)/2].Name, Date: r.Sizes[0].Pattern.Label.Date}
	return writeDXFPieces(w, r.Title, label, all, options)
}
