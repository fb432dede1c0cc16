package render

import (
	"image"
	"image/draw"
	"math"

	"golang.org/x/image/vector"

	"tapeline/drafting/geom"
)

// picturePainter collects shapes and paints them in one tone, again and again.
// Shapes that overlap do not darken each other: outlines and strokes are all
// walked in one sense.
type picturePainter struct {
	w, h   int
	pix    []uint8    // 0 black, 255 white
	origin geom.Point // of the sheet, in the upper left corner of the picture
	scale  float64    // pixels in a mm
	weight float64    // what strokes and letters are multiplied by
	raster *vector.Rasterizer
	mask   *image.Alpha
}

// pictureStroke is how a line is drawn; lengths in pixels.
type pictureStroke struct {
	width float64
	tone  uint8
	dash  []float64 // on and off; nil for a solid line
}

// weightOf returns the factor for strokes and letters on a picture w
// pixels wide.
func weightOf(w int) float64 { return max(1, float64(w)/DefaultPixels) }

func newPicture(w, h int, origin geom.Point, scale float64) *picturePainter {
	c := &picturePainter{
		w: w, h: h, origin: origin, scale: scale, weight: weightOf(w),
		pix: make([]uint8, w*h), raster: vector.NewRasterizer(w, h), mask: image.NewAlpha(image.Rect(0, 0, w, h)),
	}
	for i := range c.pix {
		c.pix[i] = 255
	}
	return c
}

// paint lays the shapes collected on the picture in a tone.
func (c *picturePainter) paint(tone uint8) {
	c.raster.DrawOp = draw.Src
	c.raster.Draw(c.mask, c.mask.Rect, image.Opaque, image.Point{})
	for i, a := range c.mask.Pix {
		if a != 0 {
			c.pix[i] = uint8((int(c.pix[i])*(255-int(a)) + int(tone)*int(a) + 127) / 255)
		}
	}
	c.raster.Reset(c.w, c.h)
}

// fill adds what a closed line encloses.
func (c *picturePainter) fill(p geom.Path) { c.loop(c.flat(p)) }

// flat is a path as points in pixels.
func (c *picturePainter) flat(p geom.Path) []geom.Point {
	const tol = 0.1 // pixels
	points := p.Flatten(tol / c.scale)
	for i, q := range points {
		points[i] = q.Sub(c.origin).Mul(c.scale)
	}
	return points
}

func (c *picturePainter) loop(points []geom.Point) {
	for i, p := range points {
		if i == 0 {
			c.raster.MoveTo(float32(p.X), float32(p.Y))
		} else {
			c.raster.LineTo(float32(p.X), float32(p.Y))
		}
	}
	c.raster.ClosePath()
}

// stroke adds the strip along a path.
func (c *picturePainter) stroke(p geom.Path, s pictureStroke) {
	points := c.flat(p)
	half := s.width * c.weight / 2
	if s.dash == nil {
		c.strip(points, half)
		return
	}
	for _, dash := range dashes(points, s.dash[0]*c.weight, s.dash[1]*c.weight) {
		c.strip(dash, half)
	}
}

// strip adds what lies within half pixels of a run of straight lines: out
// along its left side and back along its right, so that it is always walked
// clockwise.
func (c *picturePainter) strip(points []geom.Point, half float64) {
	points = distinct(points)
	n := len(points)
	if n < 2 {
		return
	}
	closed := n > 3 && points[0].Near(points[n-1], 1e-6)
	left, right := make([]geom.Point, n), make([]geom.Point, n)
	for i, p := range points {
		var before, after geom.Point
		switch {
		case i > 0:
			before = p.Sub(points[i-1]).Unit()
		case closed:
			before = p.Sub(points[n-2]).Unit()
		}
		switch {
		case i < n-1:
			after = points[i+1].Sub(p).Unit()
		case closed:
			after = points[1].Sub(p).Unit()
		}
		out := mitre(before, after).Mul(half)
		left[i], right[n-1-i] = p.Add(out), p.Sub(out)
	}
	if closed {
		c.loop(left)
		c.loop(right)
		return
	}
	c.loop(append(left, right...))
}

// mitre is the step to the left from a corner between two directions to the
// corner of lines a unit away from both, at most two units long. One of the
// directions is zero at the end of a line.
func mitre(before, after geom.Point) geom.Point {
	middle := before.Add(after).Unit()
	if middle == (geom.Point{}) {
		return before.Left()
	}
	cos := middle.Dot(after)
	if after == (geom.Point{}) {
		cos = middle.Dot(before)
	}
	return middle.Left().Mul(1 / max(cos, 0.5))
}

// distinct is the points without those on top of the one before.
func distinct(points []geom.Point) []geom.Point {
	var kept []geom.Point
	for _, p := range points {
		if len(kept) == 0 || !p.Near(kept[len(kept)-1], 1e-6) {
			kept = append(kept, p)
		}
	}
	return kept
}

// dashes cuts a run of straight lines into dashes of a length with gaps
// between them.
func dashes(points []geom.Point, on, off float64) [][]geom.Point {
	var all [][]geom.Point
	var dash []geom.Point
	left, drawing := on, true // of the present dash or gap
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		length := a.Dist(b)
		for done := 0.0; done < length; {
			step := math.Min(left, length-done)
			from, to := a.Lerp(b, done/length), a.Lerp(b, (done+step)/length)
			if drawing {
				if len(dash) == 0 {
					dash = append(dash, from)
				}
				dash = append(dash, to)
			}
			done += step
			if left -= step; left <= 1e-9 {
				if drawing {
					all, dash = append(all, dash), nil
					left = off
				} else {
					left = on
				}
				drawing = !drawing
			}
		}
	}
	if len(dash) > 1 {
		all = append(all, dash)
	}
	return all
}
