package making

import (
	"context"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// Of the picture of the pieces, mm on the page.
const (
	pictureHigh = 105.0
	captionSize = 2.7
)

// Pens of the picture, where a pattern's own are too strong.
var (
	smallCut    = &drawing.Pen{Width: 0.3}
	smallInside = &drawing.Pen{Width: 0.12, Grey: 0.4}
)

// picture draws all pieces with their names and how they are cut.
func (s *setter) picture(ctx context.Context, p finish.Pattern) error {
	width := s.right - s.left
	scaleOf := func(b geom.Box) float64 { return min(width/b.Width(), pictureHigh/b.Height()) }
	pieces, bounds, err := sheets.Captioned(ctx, p, func(b geom.Box) float64 { return captionSize / scaleOf(b) })
	if err != nil {
		return err
	}
	scale := scaleOf(bounds)
	s.room(bounds.Height() * scale)
	pic := drawing.Picture{Bounds: bounds}
	for i := range pieces {
		pic.Figures = append(pic.Figures, small(&pieces[i]))
	}
	at := geom.Pt(s.left+(width-bounds.Width()*scale)/2, s.y)
	s.page().Figures = append(s.page().Figures, pic.Scaled(scale, at).Figures...)
	s.y += bounds.Height()*scale + gap
	return nil
}

// small draws what is recognized of a piece on a small picture.
func small(p *finish.Piece) drawing.Figure {
	f := drawing.Piece(p)
	var parts []drawing.Part
	for _, part := range f.Parts {
		switch part.Layer {
		case drawing.LayerCut:
			part.Pen = smallCut
		case drawing.LayerInternal, drawing.LayerGrain:
			part.Pen = smallInside
		case drawing.LayerSeam:
			if part.Name != "darts" {
				continue
			}
			part.Pen = smallInside
		case drawing.LayerText:
		default:
			continue
		}
		parts = append(parts, part)
	}
	f.Parts = parts
	return f
}
