package render

import (
	"io"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/cloth"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// Strokes of a lay plan, which differ in black and white.
var (
	clothEdge    = &style{width: 0.35, grey: 0.4}
	selvedgeLine = &style{width: 0.2, grey: 0.6, dash: []float64{1, 1}}
	foldEdge     = &style{width: 0.8, dash: []float64{6, 1.5}}
)

// LayPlanFormat is a form that a lay plan leaves the program in.
type LayPlanFormat struct {
	Name      string // as asked for: svg
	MediaType string // RFC 6838
	write     func(io.Writer, cloth.Plan, body.Unit) error
}

var layPlanFormats = []LayPlanFormat{
	{"json", "application/json", func(w io.Writer, p cloth.Plan, unit body.Unit) error { return LayPlanJSON(w, p) }},
	{"svg", "image/svg+xml", LayPlanSVG},
	{"pdf", "application/pdf", LayPlanPDF},
}

// ParseLayPlanFormat finds a format by its name. The error is a fault.Fault
// that lists the names.
func ParseLayPlanFormat(name string) (LayPlanFormat, error) {
	var names []string
	for _, f := range layPlanFormats {
		if f.Name == name {
			return f, nil
		}
		names = append(names, f.Name)
	}
	return LayPlanFormat{}, fault.Fault{Code: fault.Choice, Field: "/format", Value: fault.Shorten(name), Accepted: joined(names)}
}

// Write writes a lay plan, lengths that are lettered in the unit. Nothing is
// written if an error is returned, but by w itself.
func (f LayPlanFormat) Write(w io.Writer, p cloth.Plan, unit body.Unit) error {
	return f.write(w, p, unit)
}

// LayPlanSVG writes a picture of a lay plan, as wide as its window: every
// stretch of cloth with its pieces, numbered, their grain along it. Lengths are
// said in the unit. Nothing is written if an error is returned, but by w itself.
func LayPlanSVG(w io.Writer, p cloth.Plan, unit body.Unit) error {
	pic := layLayPicture(p, unit, func(b geom.Box) float64 {
		return legiblePixels / screenPixels * max(b.Width(), b.Height())
	})
	s := svgWriter{b: make([]byte, 0, 1<<16), ids: map[string]bool{}, inked: map[rune]bool{}, screen: true, origin: pic.bounds.Min}
	s.layPlan(&pic)
	if s.broken {
		return errNowhere
	}
	_, err := w.Write(s.b)
	return err
}

func (w *svgWriter) layPlan(pic *layPicture) {
	w.raw("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" version=\"1.1\" viewBox=\"0 0 ")
	w.number(pic.bounds.Width())
	w.raw(" ")
	w.number(pic.bounds.Height())
	w.raw("\">\n")
	w.element("title", pic.title)
	var says []string
	for _, s := range pic.sections {
		says = append(says, s.says)
	}
	w.element("desc", "Lay plan, not to scale. "+strings.Join(says, "; ")+".")
	w.glyphs(pic.labels())
	w.lettering(w.id("heading"), pic.head, true)
	for i := range pic.sections {
		s := &pic.sections[i]
		id := w.id("section")
		w.group(id, `fill="none" stroke="#000"`)
		w.element("title", s.says)
		w.strokes(w.id(id, "cloth"), []geom.Path{s.cloth}, clothEdge)
		w.strokes(w.id(id, "selvedge"), s.selvedges, selvedgeLine)
		if s.fold != nil {
			w.strokes(w.id(id, "fold"), []geom.Path{s.fold}, foldEdge)
		}
		w.lettering(w.id(id, "caption"), []finish.Text{s.caption}, true)
		for j := range s.pieces {
			q := &s.pieces[j]
			w.group(w.id(id, "piece"), `fill="none" stroke="#000"`)
			w.element("title", q.says)
			w.strokes("", []geom.Path{q.cut}, newLine)
			if q.grain != nil {
				w.strokes("", []geom.Path{q.grain}, guideLine)
			}
			w.raw(`<g fill="#fff" stroke="none">` + "\n")
			w.path("", q.behind)
			w.end()
			w.lettering(w.id(id, "number"), []finish.Text{q.number}, true)
			w.end()
		}
		w.end()
	}
	w.lettering(w.id("list"), pic.list, true)
	w.raw("</svg>\n")
}

// LayPlanPDF writes the picture of LayPlanSVG on one page of A4, level or
// upright as it comes out larger.
func LayPlanPDF(w io.Writer, p cloth.Plan, unit body.Unit) error {
	paper, err := sheets.ParsePaper("a4")
	if err != nil {
		return err
	}
	level, upright := geom.Pt(paper.Height, paper.Width), geom.Pt(paper.Width, paper.Height)
	on := func(page geom.Point) layPicture {
		return layLayPicture(p, unit, func(b geom.Box) float64 { return overlayEm / fit(b, page) })
	}
	pic, page := on(level), level
	if tall := on(upright); fit(tall.bounds, upright) > fit(pic.bounds, level) {
		pic, page = tall, upright
	}
	return onePage(w, page, p.Style, p.Label, pic.bounds, func(c *canvas, s scaling) error { return c.layPlan(&pic, s) })
}

// layPlan draws the picture.
func (c *canvas) layPlan(pic *layPicture, s scaling) error {
	each := func(st *style, paths func(*laySection) []geom.Path) {
		c.set(st)
		for i := range pic.sections {
			for _, p := range paths(&pic.sections[i]) {
				c.path(s.path(p))
			}
		}
	}
	each(clothEdge, func(l *laySection) []geom.Path { return []geom.Path{l.cloth} })
	each(selvedgeLine, func(l *laySection) []geom.Path { return l.selvedges })
	each(foldEdge, func(l *laySection) []geom.Path { return []geom.Path{l.fold} })
	each(newLine, func(l *laySection) []geom.Path {
		return pathsOf(l.pieces, func(q layPiece) geom.Path { return q.cut })
	})
	each(guideLine, func(l *laySection) []geom.Path {
		return pathsOf(l.pieces, func(q layPiece) geom.Path { return q.grain })
	})
	c.set(paper)
	for _, l := range pic.sections {
		for _, q := range l.pieces {
			c.fill(s.path(q.behind))
		}
	}
	c.set(ink)
	labels := pic.labels()
	for i := range labels {
		labels[i].At, labels[i].Size = s.point(labels[i].At), labels[i].Size*s.by
	}
	return c.letter(labels)
}

func pathsOf(pieces []layPiece, of func(layPiece) geom.Path) []geom.Path {
	var paths []geom.Path
	for _, q := range pieces {
		paths = append(paths, of(q))
	}
	return paths
}
