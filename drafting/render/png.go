package render

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/pattern"
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
func PNG(w io.Writer, p finish.Pattern, o PNGOptions) error {
	if o.Width == 0 {
		o.Width = DefaultPixels
	}
	if err := o.check(); err != nil {
		return err
	}
	l, err := inARow(p)
	if err != nil {
		return err
	}
	bounds := boundsOf(l.Pieces)
	scale := float64(o.Width) / (bounds.Width() + 2*rowMargin)
	bounds = caption(l.Pieces, bounds, legiblePixels*weightOf(o.Width)/scale).Grow(rowMargin)
	height := int(math.Ceil(bounds.Height() * scale))
	area := float64(o.Width) * float64(height)
	if height > maxHeight || area > maxArea {
		const room = 0.95 // for captions, which don't shrink with the picture
		most := int(float64(o.Width) * room * min(maxHeight/float64(height), math.Sqrt(maxArea/area)))
		return fault.List{{Code: fault.Range, Field: "/width", Value: fmt.Sprintf("%d pixels", o.Width),
			Accepted: fmt.Sprintf("at most %d pixels: the pattern is so much higher than it is wide", most)}}
	}
	c := newPicture(o.Width, max(height, 1), bounds.Min, scale)
	c.pieces(l.Pieces)
	return (&png.Encoder{CompressionLevel: png.DefaultCompression}).Encode(w, c.image())
}

// pieces draws everything, what is common to the pieces at a time: a pass over
// the whole picture costs more than all that is drawn in it.
func (c *picturePainter) pieces(pieces []finish.Piece) {
	for i := range pieces {
		c.fill(pieces[i].CutLine)
	}
	c.paint(clothTone)
	for i := range pieces {
		for _, l := range pieces[i].Lines {
			c.stroke(l.Path, pictureGuide)
		}
	}
	c.paint(pictureGuide.tone)
	for i := range pieces {
		p := &pieces[i]
		for k, e := range p.Edges {
			if p.Allowances[k]*c.scale >= leastInside {
				c.stroke(e.Path, pictureSeam)
			}
		}
		for _, d := range p.Darts {
			c.stroke(d.Legs[0], pictureSeam)
			c.stroke(d.Legs[1], pictureSeam)
		}
	}
	c.paint(pictureSeam.tone)
	for i := range pieces {
		c.stroke(pieces[i].CutLine, pictureCut)
		c.fittings(&pieces[i])
	}
	c.paint(pictureCut.tone)
	for i := range pieces { // apart from the lines, which letters may cross
		c.letter(pieces[i].Texts)
	}
	c.paint(0)
}

// fittings draws grain, fold brackets, notches and the bust point. Drill holes
// are too small to be seen.
func (c *picturePainter) fittings(p *finish.Piece) {
	c.stroke(geom.Path{p.Grain}, pictureFine)
	for _, b := range p.Brackets {
		c.stroke(b, pictureFine)
	}
	for _, a := range p.Arrows {
		c.fill(a)
	}
	for _, t := range p.Ticks {
		c.stroke(geom.Path{t.Stroke}, pictureFine)
	}
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkBustPoint {
			for _, r := range []geom.Point{{X: bustRadius}, {Y: bustRadius}} {
				c.stroke(geom.Path{geom.Line(m.At.Sub(r), m.At.Add(r))}, pictureFine)
			}
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
