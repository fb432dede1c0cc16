package style_test

import (
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// Every line of a piece lies on it, on bodies of very different shape, except the ends that a side
// seam leaves behind where it is trued.
func TestLinesLieOnPieces(t *testing.T) {
	t.Parallel()
	const off = 1.0 // mm
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		t.Run(s.Head.Slug, func(t *testing.T) {
			t.Parallel()
			panel := proof.Panel(drafting.BlockOf(s.Head.Slug), s.Spec().Requires...)
			for _, f := range proof.Figures(panel) {
				b, faults := body.New(panel[f.Body].Given, s.Spec().Requires)
				if faults != nil {
					t.Fatal(faults)
				}
				p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: s.Spec().Fits[0].Name})
				if err != nil {
					t.Errorf("%s: %v", f.Name, err)
					continue
				}
				for _, q := range p.Pieces {
					outline := q.Outline()
					for _, l := range q.Lines {
						for _, at := range []geom.Point{l.Path.Start(), l.Path.At(l.Path.Length() / 2), l.Path.End()} {
							if _, d, _ := outline.Nearest(at); d > off && !outline.Contains(at) {
								t.Errorf("%s: %s: the line %s lies %.1f mm outside", f.Name, q.Name, l.Name, d)
							}
						}
					}
				}
			}
		})
	}
}
