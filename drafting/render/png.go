package render

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"tapeline/drafting/drawing"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/sheets"
)

// Sizes of a picture, pixels.
const (
	DefaultPixels = 800
	minPixels     = 64
	maxPixels     = 2400
	maxHeight     = 8192
	maxArea       = 6e6 // seven bytes of memory each while it is drawn
)

// PNGOptions say how a picture is drawn; the zero value gives the default width.
type PNGOptions struct {
	Width int // pixels
}

// check returns a fault.List if the width is outside the limits.
func (o PNGOptions) check() error {
	if o.Width < minPixels || o.Width > maxPixels {
		return fault.List{widthFault(float64(o.Width))}
	}
	return nil
}

func widthFault(pixels float64) fault.Fault {
	return fault.Fault{Code: fault.Range, Field: "/width", Value: fmt.Sprintf("%g pixels", pixels),
		Accepted: fmt.Sprintf("%d to %d pixels, a whole number", minPixels, maxPixels)}
}

// Strokes of a picture DefaultPixels wide or less, in pixels; wider ones have
// them in proportion.
var (
	pictureCut   = pictureStroke{width: 1.8}
	pictureFine  = pictureStroke{width: 1}
	pictureSeam  = pictureStroke{width: 0.9, tone: 70, dash: []float64{6, 3}}
	pictureGuide = pictureStroke{width: 0.9, tone: 110, dash: []float64{1.5, 2.5}}
)

const (
	clothTone   = 243 // of the pieces, 255 being white
	leastInside = 3.0 // pixels from the cut line at which a seam line can be told from it
)

// PNG draws a picture of the pattern for shop pages and mails: the pieces side
// by side, as high as they need at the width given, with only what can be read
// at that size. The same pattern gives the same picture. Nothing is written if
// an error is returned, but by w itself; the error is a fault.List where the
// options are at fault.
func PNG(ctx context.Context, w io.Writer, p finish.Pattern, o PNGOptions) error {
	if o.Width == 0 {
		o.Width = DefaultPixels
	}
	if err := o.check(); err != nil {
		return err
	}
	c, pieces, err := layOutPNG(ctx, p, o)
	if err != nil {
		return err
	}
	c.pieces(pieces)
	return (&png.Encoder{CompressionLevel: png.DefaultCompression}).Encode(w, c.image())
}

// layOutPNG lays out an empty picture and the pieces that go on it. The error is
// a fault.List if the picture would be too large.
func layOutPNG(ctx context.Context, p finish.Pattern, o PNGOptions) (*picturePainter, []finish.Piece, error) {
	pieces, bounds, err := sheets.Captioned(ctx, p, func(b geom.Box) float64 {
		return legiblePixels * weightOf(o.Width) / float64(o.Width) * (b.Width() + 2*rowMargin)
	})
	if err != nil {
		return nil, nil, err
	}
	bounds = bounds.Grow(rowMargin)
	scale := float64(o.Width) / bounds.Width()
	height := int(math.Ceil(bounds.Height() * scale))
	area := float64(o.Width) * float64(height)
	if height > maxHeight || area > maxArea {
		const room = 0.95 // for captions, which don't shrink with the picture
		most := int(float64(o.Width) * room * min(maxHeight/float64(height), math.Sqrt(maxArea/area)))
		return nil, nil, fault.List{{Code: fault.Range, Field: "/width", Value: fmt.Sprintf("%d pixels", o.Width),
			Accepted: fmt.Sprintf("at most %d pixels: the pattern is so much higher than it is wide", most)}}
	}
	return newPicture(o.Width, max(height, 1), bounds.Min, scale), pieces, nil
}

// picturePens are the strokes of the pens, in the order of painting: a pass over
// the whole picture costs more than all that is drawn in it, and so everything in
// one tone is painted at once.
var picturePens = [...]struct {
	pen    *drawing.Pen
	stroke pictureStroke
	paint  bool // the last pen of a tone
}{
	{drawing.Guide, pictureGuide, true}, {drawing.Seam, pictureSeam, true}, {drawing.Cut, pictureCut, false},
	{drawing.Fine, pictureFine, true},
}

// pieces draws pieces: their cloth, their lines and then their texts, which may
// cross lines.
func (c *picturePainter) pieces(pieces []finish.Piece) {
	figures := drawing.Pieces(pieces)
	for i := range pieces {
		c.fill(pieces[i].CutLine)
	}
	c.paint(clothTone)
	for _, p := range picturePens {
		for _, f := range figures {
			for _, part := range f.Parts {
				if part.Pen == p.pen {
					c.part(part, p.stroke)
				}
			}
		}
		if p.paint {
			c.paint(p.stroke.tone)
		}
	}
	c.letter(drawing.Texts(figures))
	c.paint(0)
}

// part draws what can be seen of a part: not drill holes and other circles, which
// are too small, nor a seam line that can't be told from the cut line.
func (c *picturePainter) part(p drawing.Part, s pictureStroke) {
	for _, shape := range p.Shapes {
		switch {
		case shape.Radius > 0, p.Name == "seam-line" && shape.Allowance*c.scale < leastInside:
		case shape.Filled:
			c.fill(shape.Path)
		default:
			c.stroke(shape.Path, s)
		}
	}
}

// letter sets labels in outlines.
func (c *picturePainter) letter(labels []finish.Text) {
	font := lettering.Regular()
	for i := range labels {
		l := &labels[i]
		for j, line := range l.Lines {
			m := geom.Turn(geom.Point{}, l.Angle).Then(geom.Shift(l.Baseline(j)))
			for _, contour := range font.Outline(line, l.Size) {
				c.fill(contour.Move(m))
			}
		}
	}
}

// greys are the tones of a picture: 16, so that a pixel takes half a byte.
var greys = func() color.Palette {
	p := make(color.Palette, 16)
	for i := range p {
		p[i] = color.Gray{Y: uint8(i * 17)}
	}
	return p
}()

// image is the picture in 16 greys.
func (c *picturePainter) image() image.Image {
	img := image.NewPaletted(image.Rect(0, 0, c.w, c.h), greys)
	for i, v := range c.pix {
		img.Pix[i] = uint8((int(v) + 8) / 17)
	}
	return img
}
