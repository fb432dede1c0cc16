package fitting

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/drape"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// The page of a picture, mm: three views of the body at a tenth of its size, and
// the pieces under them.
const (
	viewScale  = 0.1
	viewWidth  = 95.0
	pageMargin = 10.0
	textSize   = 3.2
	lineStep   = 4.6
)

// scale is the colours of strain from none to twice the limit: from pale to dark,
// so that they are told apart without hue and on a grey printer.
var scale = [][3]float64{{238, 234, 224}, {232, 190, 104}, {196, 92, 50}, {112, 24, 44}, {44, 8, 40}}

// color returns the colour of a share of the scale, shaded by how far the surface
// turns away.
func color(share, light float64) [3]uint8 {
	at := max(0, min(1, share)) * float64(len(scale)-1)
	i := min(int(at), len(scale)-2)
	var c [3]uint8
	for k := range c {
		v := scale[i][k] + (at-float64(i))*(scale[i+1][k]-scale[i][k])
		c[k] = uint8(v * (0.88 + 0.12*light))
	}
	return c
}

// Picture draws the garment on the body from the front, the side and the back,
// coloured by its strain, and the same on its pieces. The error is that of ctx.
func (r *Result) Picture(ctx context.Context, title string, o Options) (p drawing.Shaded, err error) {
	limit := o.Cloth.Comfort
	p = drawing.Shaded{Title: title, Width: 2*pageMargin + 3*viewWidth}
	top := 0.0
	for _, q := range r.form.Points {
		top = max(top, q.Y)
	}
	floor := pageMargin + 2*lineStep + top*viewScale
	for i, name := range []string{"Front", "Right side", "Back"} {
		middle := pageMargin + viewWidth*(float64(i)+0.5)
		turn := []float64{0, -math.Pi / 2, math.Pi}[i]
		facets, err := seen(ctx, r.view(turn, geom.Point{X: middle, Y: floor}, limit))
		if err != nil {
			return p, err
		}
		p.Facets = append(p.Facets, facets...)
		p.Texts = append(p.Texts, line(name, middle-8, pageMargin+lineStep))
	}
	y := floor + 2*lineStep
	y = r.flat(&p, y, limit)
	y = key(&p, y, limit)
	for _, text := range r.words(o) {
		p.Texts = append(p.Texts, line(text, pageMargin, y))
		y += lineStep
	}
	p.Height = y + pageMargin
	return p, nil
}

func line(text string, x, y float64) finish.Text {
	return finish.Text{Lines: []string{text}, At: geom.Point{X: x, Y: y}, Size: textSize}
}

// words returns what the picture says under the pieces.
func (r *Result) words(o Options) (lines []string) {
	if !r.Settled {
		lines = append(lines, fmt.Sprintf("Did not settle: %.1f %% of the cloth's weight is not borne.", 100*r.Residual)+
			" Don't judge the fit by this picture.")
	}
	lines = append(lines, fmt.Sprintf("Cloth: %s (%s). A form of the customer's measurements; sew a toile before cutting.",
		o.Cloth.Title, o.Cloth.Name))
	if r.left != nil {
		lines = append(lines, "Left and right were tried each by itself: a step in the middle is no fault of the draft.")
	}
	if r.Banded {
		lines = append(lines, "It hangs level from its band; there a wearer moves it, so its width alone is judged.")
	}
	for _, l := range r.Levels {
		lines = append(lines, fmt.Sprintf("%s: body %.0f mm, garment %.0f mm, ease %.0f mm as worn", l.Name, l.Body, l.Worn,
			l.Worn-l.Body))
	}
	for _, f := range r.Findings {
		lines = append(lines, f.Words)
	}
	if len(r.Findings) == 0 && r.Settled {
		lines = append(lines, "Nothing found that a cutter would alter.")
	}
	return lines
}

// view draws body and garment, turned about the upright axis, above a point of
// the floor.
func (r *Result) view(turn float64, at geom.Point, limit float64) []drawing.Facet {
	sin, cos := math.Sincos(turn)
	type deep struct {
		drawing.Facet
		depth float64
	}
	size := len(r.form.Triangles)
	for _, h := range r.halves() {
		size += len(h.garment.mesh.Triangles)
	}
	all := make([]deep, 0, size)
	add := func(a, b, c r3.Vec, cloth bool, share float64) {
		n := r3.Unit(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
		facing := n.X*sin + n.Z*cos
		if !cloth && facing < 0 {
			return
		}
		var f deep
		for k, p := range []r3.Vec{a, b, c} {
			f.At[k] = geom.Point{X: at.X + viewScale*(p.X*cos-p.Z*sin), Y: at.Y - viewScale*p.Y}
			f.depth += (p.X*sin + p.Z*cos) / 3
		}
		light := math.Abs(0.8*facing + 0.3*n.Y)
		if cloth {
			f.depth += 15 // the body never shows through
			f.Color = color(share, light)
		} else {
			grey := uint8(150 + 60*light)
			f.Color = [3]uint8{grey, grey, grey}
		}
		all = append(all, f)
	}
	for _, t := range r.form.Triangles {
		add(r.form.Points[t[0]], r.form.Points[t[1]], r.form.Points[t[2]], false, 0)
	}
	for _, h := range r.halves() {
		m := h.garment.mesh
		for _, t := range m.Triangles {
			share := (h.strain[t.Points[0]] + h.strain[t.Points[1]] + h.strain[t.Points[2]]) / 3 / (2 * limit)
			a, b, c := m.Points[t.Points[0]], m.Points[t.Points[1]], m.Points[t.Points[2]]
			if h.over {
				a.X, b.X, c.X = -a.X, -b.X, -c.X
				b, c = c, b
			}
			add(a, b, c, true, share)
		}
	}
	slices.SortStableFunc(all, func(a, b deep) int { return cmp.Compare(a.depth, b.depth) })
	facets := make([]drawing.Facet, len(all))
	for i, f := range all {
		facets[i] = f.Facet
	}
	return facets
}

// flat draws the pieces in a row, coloured by their strain, and returns where the
// next thing goes.
func (r *Result) flat(p *drawing.Shaded, y, limit float64) float64 {
	for _, h := range r.halves() {
		if !h.over || h.side != "" {
			y = h.flat(p, y, limit)
		}
	}
	return y
}

func (h half) flat(p *drawing.Shaded, y, limit float64) float64 {
	x, high := pageMargin, 0.0
	for _, q := range h.garment.panels {
		box := geom.EmptyBox()
		for _, at := range q.points {
			box = box.With(geom.Point{X: at.X, Y: at.Y})
		}
		if width := viewScale * box.Width(); x+width > p.Width-pageMargin && x > pageMargin {
			y += high + 2*lineStep
			x, high = pageMargin, 0
		}
		for _, t := range q.triangles {
			var f drawing.Facet
			share := 0.0
			for k, local := range t {
				at := q.points[local]
				f.At[k] = geom.Point{X: x + viewScale*(at.X-box.Min.X), Y: y + lineStep + viewScale*(at.Y-box.Min.Y)}
				share += h.strain[h.garment.moved[q.first+local]] / 3 / (2 * limit)
			}
			f.Color = color(share, 1)
			p.Facets = append(p.Facets, f)
		}
		title := q.Title
		if h.side != "" {
			title += ", " + h.side
		}
		p.Texts = append(p.Texts, line(title, x, y+2))
		x += viewScale*box.Width() + 8
		high = max(high, viewScale*box.Height()+lineStep)
	}
	return y + high + 2*lineStep
}

// key draws the colours with their numbers.
func key(p *drawing.Shaded, y, limit float64) float64 {
	const steps, wide = 40, 1.5
	for i := range steps {
		x := pageMargin + wide*float64(i)
		a, b := geom.Point{X: x, Y: y}, geom.Point{X: x + wide + 0.05, Y: y + 4}
		c := color((float64(i)+0.5)/steps, 1)
		p.Facets = append(p.Facets, drawing.Facet{At: [3]geom.Point{a, {X: b.X, Y: a.Y}, b}, Color: c},
			drawing.Facet{At: [3]geom.Point{a, b, {X: a.X, Y: b.Y}}, Color: c})
	}
	p.Texts = append(p.Texts, line("0 %", pageMargin, y+8),
		line(fmt.Sprintf("%.1f %%", 100*limit), pageMargin+wide*steps/2-3, y+8),
		line(fmt.Sprintf("%.1f %% and more", 200*limit), pageMargin+wide*steps-5, y+8),
		line("stretch of the cloth; the middle is the most that is worn in comfort", pageMargin+wide*steps+6, y))
	return y + 8 + 2*lineStep
}

// Cloth returns the preset of a name, or the one that suits a style: jersey for a
// knit, otherwise medium-woven.
func Cloth(name string, knit bool) (drape.Preset, bool) {
	switch {
	case name != "":
	case knit:
		name = "jersey"
	default:
		name = "medium-woven"
	}
	return drape.PresetOf(name)
}

// ClothNames returns the names of the presets, for an error.
func ClothNames() string {
	var names []string
	for _, p := range drape.Presets() {
		names = append(names, p.Name)
	}
	return strings.Join(names, ", ")
}
