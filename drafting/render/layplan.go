package render

import (
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/cloth"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// Pens of a lay plan, which differ in black and white.
var (
	clothEdge    = &drawing.Pen{Width: 0.35, Grey: 0.4}
	selvedgeLine = &drawing.Pen{Width: 0.2, Grey: 0.6, Dash: []float64{1, 1}}
	foldEdge     = &drawing.Pen{Width: 0.8, Dash: []float64{6, 1.5}}
)

// LayPlanFormat is a format of lay plans.
type LayPlanFormat struct {
	Name      string // such as svg
	MediaType string // RFC 6838
	write     func(io.Writer, cloth.Plan, body.Unit) error
}

var layPlanFormats = []LayPlanFormat{
	{"json", "application/json", func(w io.Writer, p cloth.Plan, unit body.Unit) error { return LayPlanJSON(w, p) }},
	{"svg", "image/svg+xml", LayPlanSVG},
	{"pdf", "application/pdf", LayPlanPDF},
}

// ParseLayPlanFormat returns the format of a name. The error is a fault.Fault
// that lists the names.
func ParseLayPlanFormat(name string) (LayPlanFormat, error) {
	return find(layPlanFormats, name, func(f LayPlanFormat) string { return f.Name })
}

// Write writes a lay plan with its lengths in the unit. If it returns an error
// other than that of w, it has written nothing.
func (f LayPlanFormat) Write(w io.Writer, p cloth.Plan, unit body.Unit) error {
	return f.write(w, p, unit)
}

// LayPlanSVG writes a picture of a lay plan, as wide as its window: every stretch
// of cloth with its pieces, numbered, their grain along it.
func LayPlanSVG(w io.Writer, p cloth.Plan, unit body.Unit) error {
	return PictureSVG(w, fitLayPicture(p, unit, screenEm))
}

// LayPlanPDF writes the picture of LayPlanSVG on one page of A4, level or upright,
// whichever shows it larger.
func LayPlanPDF(w io.Writer, p cloth.Plan, unit body.Unit) error {
	on := func(page geom.Point) drawing.Picture {
		return fitLayPicture(p, unit, func(b geom.Box) float64 { return pageEm / fit(b, page) })
	}
	pic := on(level)
	if tall := on(upright); fit(tall.Bounds, upright) > fit(pic.Bounds, level) {
		pic = tall
	}
	return writePicturePDF(w, pic)
}

// fitLayPicture lays the picture out with letters as large as a scale asks for.
func fitLayPicture(p cloth.Plan, unit body.Unit, em func(geom.Box) float64) drawing.Picture {
	pic := newLayPicture(p, unit, 20)
	for range 4 {
		pic = newLayPicture(p, unit, em(pic.Bounds))
	}
	return pic
}

// newLayPicture lays out a picture of how pieces lie on cloth, at true scale, its
// letters of an em of size mm. The cloth runs from left to right.
func newLayPicture(p cloth.Plan, unit body.Unit, em float64) drawing.Picture {
	pic := drawing.Picture{Style: p.Style, Label: p.Label, Title: titleOf(p.Style, p.Label), Bounds: geom.EmptyBox()}
	var head []finish.Text
	var sections []drawing.Figure
	var says []string
	y := 0.0
	line := func(size float64, text string) {
		l := finish.Text{At: geom.Pt(0, y), Size: size, Lines: []string{text}}
		y += l.Height()
		head = append(head, l)
	}
	line(1.25*em, pic.Title)
	line(em, "Lay plan, the cloth from left to right. Not to scale: not for cutting.")
	for _, l := range p.Cloths {
		y += 0.8 * em
		line(1.1*em, ClothText(l, unit))
		for _, s := range l.Sections {
			y += 0.3 * em
			f := laySection(l, s, y, em, unit)
			says = append(says, f.Title)
			sections = append(sections, f)
			y = f.Bounds.Max.Y + 0.5*em
			pic.Bounds = pic.Bounds.Union(f.Bounds)
		}
	}
	list := pieceList(p, em)
	arrangeList(list, head, pic.Bounds.Max.X, y+0.8*em, em)
	pic.Description = "Lay plan, not to scale. " + strings.Join(says, "; ") + "."
	pic.Figures = slices.Concat([]drawing.Figure{textFigure("heading", head)}, sections,
		[]drawing.Figure{textFigure("list", list)})
	for _, t := range drawing.Texts(pic.Figures) {
		pic.Bounds = pic.Bounds.Union(boxOfText(t))
	}
	pic.Bounds = pic.Bounds.Grow(em)
	return pic
}

func textFigure(name string, texts []finish.Text) drawing.Figure {
	return drawing.Figure{Name: []string{name}, Parts: []drawing.Part{{Name: "text", Texts: texts}}}
}

// ClothText says in one line what cloth is needed.
func ClothText(l cloth.Lay, unit body.Unit) string {
	c := l.Cloth
	nap, spread := "no nap", "single layer"
	if c.Nap == cloth.OneWay {
		nap = "one-way nap"
	}
	if c.Spread == cloth.Fold {
		spread = "folded lengthwise"
	}
	text := []string{fmt.Sprintf("%s: %s of cloth %s wide", l.Name, lengthText(l.Length, unit), unit.Format(c.Width)),
		fmt.Sprintf("%.1f %% used", 100*l.Used), nap, spread}
	if c.ShrinkageWarp > 0 || c.ShrinkageWeft > 0 {
		text = append(text, fmt.Sprintf("shrinks by %g %% in length and %g %% in width, wash before cutting",
			c.ShrinkageWarp, c.ShrinkageWeft))
	}
	return strings.Join(text, ", ")
}

// lengthText is a length to buy in the unit, rounded up to its tenth.
func lengthText(mm float64, unit body.Unit) string {
	return unit.Format(unit.MM(math.Ceil(unit.From(mm)*10-1e-6) / 10))
}

// laySection lays out a stretch of cloth below y.
func laySection(l cloth.Lay, s cloth.Section, y, em float64, unit body.Unit) drawing.Figure {
	how := "open, right side up"
	if s.Folded {
		how = "folded, right sides together"
	}
	says := fmt.Sprintf("%s, %s: %s long", l.Name, how, lengthText(s.Length, unit))
	caption := finish.Text{At: geom.Pt(0, y), Size: em, Lines: []string{says}}
	y += caption.Height() + 0.2*em
	edge := l.Cloth.Selvedge
	above := edge
	if s.Folded {
		above = 0
	}
	m := geom.Shift(geom.Pt(0, y+above))
	low, high := y, y+above+s.Width+edge
	f := drawing.Figure{Name: []string{"section"}, Title: says, Bounds: geom.BoxOf(geom.Pt(0, low), geom.Pt(s.Length,
		high))}
	level := func(y float64) geom.Path { return geom.Polyline(geom.Pt(0, y), geom.Pt(s.Length, y)) }
	add := func(name string, pen *drawing.Pen, paths ...geom.Path) {
		f.Parts = append(f.Parts, drawing.Part{Name: name, Pen: pen, Shapes: drawing.Lines(paths...)})
	}
	add("cloth", clothEdge, drawing.BoxPath(f.Bounds))
	if edge > 0 {
		add("selvedge", selvedgeLine, level(high-edge))
	}
	if s.Folded {
		add("fold", foldEdge, level(low))
	} else if edge > 0 {
		add("selvedge", selvedgeLine, level(low+edge))
	}
	f.Parts = append(f.Parts, drawing.Part{Name: "caption", Texts: []finish.Text{caption}})
	for _, q := range s.Pieces {
		f.Figures = append(f.Figures, layPiece(q, s.Folded, m, em))
	}
	return f
}

// layPiece lays out a piece on the cloth, its number on a white ground.
func layPiece(q cloth.Placement, folded bool, m geom.Motion, em float64) drawing.Figure {
	text := fmt.Sprint(q.Number)
	words := []string{fmt.Sprintf("piece %d, %s", q.Number, q.Title)}
	if q.OnFold {
		words = append(words, "on the fold")
	} else if q.Layers > 1 {
		words = append(words, "both layers at once")
	} else if folded {
		words = append(words, "from one layer")
		text += " single"
	}
	if q.FaceDown {
		words = append(words, "turned over")
	}
	if q.Turned {
		words = append(words, "end to end")
	}
	cut := q.CutLine.Move(m)
	f := drawing.Figure{Name: []string{"piece"}, Title: strings.Join(words, ", "), Parts: []drawing.Part{
		{Name: "cut-line", Pen: newLine, Shapes: drawing.Lines(cut)},
	}}
	middle := cut.Bounds().Centre()
	if g := q.Grain.Move(m); g.P0 != g.P3 {
		f.Parts = append(f.Parts, drawing.Part{Name: "grain", Pen: drawing.Guide, Shapes: drawing.Lines(geom.Path{g})})
		middle = g.P0.Lerp(g.P3, 0.5)
	}
	number := finish.Text{Size: em, Lines: []string{text}}
	half := geom.Pt(number.Width(), number.Height()).Mul(0.5)
	number.At = middle.Sub(half)
	behind := drawing.BoxPath(geom.BoxOf(middle.Sub(half), middle.Add(half)).Grow(0.1 * em))
	f.Parts = append(f.Parts,
		drawing.Part{Name: "behind", Pen: drawing.White, Shapes: []drawing.Shape{{Path: behind, Filled: true}}},
		drawing.Part{Name: "number", Texts: []finish.Text{number}})
	return f
}

// pieceList names the pieces by their numbers.
func pieceList(p cloth.Plan, em float64) []finish.Text {
	titles := map[int]string{}
	for _, l := range p.Cloths {
		for _, s := range l.Sections {
			for _, q := range s.Pieces {
				titles[q.Number] = q.Title
			}
		}
	}
	var list []finish.Text
	for _, n := range slices.Sorted(maps.Keys(titles)) {
		list = append(list, finish.Text{Size: em, Lines: []string{fmt.Sprintf("%d  %s", n, titles[n])}})
	}
	return list
}

// arrangeList sets the list of pieces in columns below y, about as wide as the
// cloth is long.
func arrangeList(list, head []finish.Text, width, y, em float64) {
	widest := 0.0
	for _, l := range slices.Concat(head, list) {
		width = max(width, l.Width())
	}
	for _, l := range list {
		widest = max(widest, l.Width()+1.5*em)
	}
	columns := max(int(width/widest), 1)
	rows := (len(list) + columns - 1) / columns
	for i := range list {
		l := &list[i]
		l.At = geom.Pt(float64(i/rows)*widest, y+float64(i%rows)*l.Height())
	}
}
