package render

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/cloth"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// layPicture is a picture of how pieces lie on cloth, at true scale in mm; its
// writers scale it. The cloth runs from left to right.
type layPicture struct {
	title    string
	head     []finish.Text
	sections []laySection
	list     []finish.Text // the pieces by number
	bounds   geom.Box
}

// laySection is a stretch of cloth.
type laySection struct {
	says      string
	caption   finish.Text
	cloth     geom.Path   // from edge to edge
	selvedges []geom.Path // where what is not cut from begins
	fold      geom.Path   // none on open cloth
	pieces    []layPiece
}

// layPiece is a piece on the cloth, with its number on a white ground.
type layPiece struct {
	says   string
	cut    geom.Path
	grain  geom.Path // none where the piece has none
	number finish.Text
	behind geom.Path
}

// newLayPicture lays out the picture, its letters of an em of size mm.
func newLayPicture(p cloth.Plan, unit body.Unit, em float64) layPicture {
	pic := layPicture{title: titleOf(p.Style, p.Label)}
	y := 0.0
	line := func(size float64, text string) finish.Text {
		l := finish.Text{At: geom.Pt(0, y), Size: size, Lines: []string{text}}
		y += l.Height()
		return l
	}
	pic.head = append(pic.head, line(1.25*em, pic.title), line(em, "Lay plan, the cloth from left to right. Not to scale: not for cutting."))
	for _, l := range p.Cloths {
		y += 0.8 * em
		pic.head = append(pic.head, line(1.1*em, ClothText(l, unit)))
		for _, s := range l.Sections {
			y += 0.3 * em
			added := newLaySection(l, s, y, em, unit)
			pic.sections = append(pic.sections, added)
			y = added.cloth.Bounds().Max.Y + 0.5*em
		}
	}
	y += 0.8 * em
	pic.list = pieceList(p, em)
	pic.arrangeList(y, em)
	pic.bounds = geom.EmptyBox()
	for _, l := range pic.labels() {
		pic.bounds = pic.bounds.Union(boxOfLabel(l))
	}
	for _, s := range pic.sections {
		pic.bounds = pic.bounds.Union(s.cloth.Bounds())
	}
	pic.bounds = pic.bounds.Grow(em)
	return pic
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
		text = append(text, fmt.Sprintf("shrinks by %g %% in length and %g %% in width, wash before cutting", c.ShrinkageWarp, c.ShrinkageWeft))
	}
	return strings.Join(text, ", ")
}

// lengthText is a length to buy in the unit, rounded up to its tenth.
func lengthText(mm float64, unit body.Unit) string {
	return unit.Format(unit.MM(math.Ceil(unit.From(mm)*10-1e-6) / 10))
}

// newLaySection lays out a stretch of cloth below y.
func newLaySection(l cloth.Lay, s cloth.Section, y, em float64, unit body.Unit) laySection {
	how := "open, right side up"
	if s.Folded {
		how = "folded, right sides together"
	}
	pic := laySection{says: fmt.Sprintf("%s, %s: %s long", l.Name, how, lengthText(s.Length, unit))}
	pic.caption = finish.Text{At: geom.Pt(0, y), Size: em, Lines: []string{pic.says}}
	y += pic.caption.Height() + 0.2*em
	edge := l.Cloth.Selvedge
	above := edge
	if s.Folded {
		above = 0
	}
	m := geom.Shift(geom.Pt(0, y+above))
	low, high := y, y+above+s.Width+edge
	pic.cloth = geom.Polyline(geom.Pt(0, low), geom.Pt(s.Length, low), geom.Pt(s.Length, high), geom.Pt(0, high), geom.Pt(0, low))
	level := func(y float64) geom.Path { return geom.Polyline(geom.Pt(0, y), geom.Pt(s.Length, y)) }
	if s.Folded {
		pic.fold = level(low)
	} else if edge > 0 {
		pic.selvedges = append(pic.selvedges, level(low+edge))
	}
	if edge > 0 {
		pic.selvedges = append(pic.selvedges, level(high-edge))
	}
	for _, q := range s.Pieces {
		pic.pieces = append(pic.pieces, newLayPiece(q, s.Folded, m, em))
	}
	return pic
}

func newLayPiece(q cloth.Placement, folded bool, m geom.Motion, em float64) layPiece {
	pic := layPiece{cut: q.CutLine.Move(m)}
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
	pic.says = strings.Join(words, ", ")
	middle := pic.cut.Bounds().Centre()
	if g := q.Grain.Move(m); g.P0 != g.P3 {
		pic.grain = geom.Path{g}
		middle = g.P0.Lerp(g.P3, 0.5)
	}
	pic.number = finish.Text{Size: em, Lines: []string{text}}
	half := geom.Pt(pic.number.Width(), pic.number.Height()).Mul(0.5)
	pic.number.At = middle.Sub(half)
	b := geom.BoxOf(middle.Sub(half), middle.Add(half)).Grow(0.1 * em)
	pic.behind = geom.Polyline(b.Min, geom.Pt(b.Max.X, b.Min.Y), b.Max, geom.Pt(b.Min.X, b.Max.Y), b.Min)
	return pic
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
func (pic *layPicture) arrangeList(y, em float64) {
	width, widest := 0.0, 0.0
	for _, s := range pic.sections {
		width = max(width, s.cloth.Bounds().Max.X)
	}
	for _, l := range slices.Concat(pic.head, pic.list) {
		width = max(width, l.Width())
	}
	for _, l := range pic.list {
		widest = max(widest, l.Width()+1.5*em)
	}
	columns := max(int(width/widest), 1)
	rows := (len(pic.list) + columns - 1) / columns
	for i := range pic.list {
		l := &pic.list[i]
		l.At = geom.Pt(float64(i/rows)*widest, y+float64(i%rows)*l.Height())
	}
}

// labels are all that is lettered.
func (pic *layPicture) labels() []finish.Text {
	labels := slices.Clone(pic.head)
	for _, s := range pic.sections {
		labels = append(labels, s.caption)
		for _, q := range s.pieces {
			labels = append(labels, q.number)
		}
	}
	return append(labels, pic.list...)
}

// layLayPicture lays the picture out with letters as large as a scale asks for.
func layLayPicture(p cloth.Plan, unit body.Unit, em func(geom.Box) float64) layPicture {
	pic := newLayPicture(p, unit, 20)
	for range 4 {
		pic = newLayPicture(p, unit, em(pic.bounds))
	}
	return pic
}
