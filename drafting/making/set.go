package making

import (
	"cmp"
	"fmt"
	"slices"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// Sizes of the page, mm. The letters are ems; 3.2 mm is 9 points.
const (
	margin    = 15.0
	titleSize = 7.0
	headSize  = 4.2
	textSize  = 3.2
	smallSize = 2.7
	gap       = 3.0
	pad       = 0.7 // above and below the text of a row
	between   = 3.5 // columns
	footRoom  = 7.0
)

// Pens of the page.
var (
	rule  = &drawing.Pen{Width: 0.15, Grey: 0.5}
	heavy = &drawing.Pen{Width: 0.35}
)

// setter sets text and tables on one page after another.
type setter struct {
	size                     geom.Point
	left, right, top, bottom float64
	y                        float64 // where the next line begins
	pages                    []drawing.Figure
}

func newSetter(size geom.Point) *setter {
	s := &setter{size: size, left: margin, right: size.X - margin, top: margin, bottom: size.Y - margin - footRoom}
	s.newPage()
	return s
}

// newPage starts a page.
func (s *setter) newPage() {
	number := fmt.Sprint(len(s.pages) + 1)
	s.pages = append(s.pages, drawing.Figure{Name: []string{"page", number}, Bounds: geom.Box{Max: s.size}})
	s.y = s.top
}

// room starts a page if there are not height mm left on this one.
func (s *setter) room(height float64) {
	if s.y+height > s.bottom && s.y > s.top {
		s.newPage()
	}
}

func (s *setter) page() *drawing.Figure { return &s.pages[len(s.pages)-1] }

// draw adds shapes to the page.
func (s *setter) draw(name string, pen *drawing.Pen, shapes ...drawing.Shape) {
	s.page().Parts = append(s.page().Parts, drawing.Part{Name: name, Pen: pen, Shapes: shapes})
}

// level draws a level line across the page.
func (s *setter) level(y float64, pen *drawing.Pen) {
	s.draw("rule", pen, drawing.Line(geom.Polyline(geom.Pt(s.left, y), geom.Pt(s.right, y))))
}

// letter adds a text to the page.
func (s *setter) letter(t finish.Text) {
	p := s.page()
	if n := len(p.Parts); n > 0 && p.Parts[n-1].Texts != nil {
		p.Parts[n-1].Texts = append(p.Parts[n-1].Texts, t)
		return
	}
	p.Parts = append(p.Parts, drawing.Part{Name: "text", Texts: []finish.Text{t}})
}

// text sets text at a position in at most limit lines of a width, and returns its
// height.
func (s *setter) text(x, y, size, width float64, limit int, text string) float64 {
	lines := lettering.Regular().Wrap(text, size, width, limit)
	if len(lines) == 0 {
		return 0
	}
	t := finish.Text{At: geom.Pt(x, y), Size: size, Lines: lines}
	s.letter(t)
	return t.Height()
}

// paragraph sets text across the page, over as many pages as it needs.
func (s *setter) paragraph(size float64, text string) {
	s.lines(size, s.left, lettering.Regular().Wrap(text, size, s.right-s.left, 0))
}

// lines sets lines below each other.
func (s *setter) lines(size, x float64, lines []string) {
	high := lettering.Regular().LineHeight(size)
	for len(lines) > 0 {
		s.room(high)
		n := max(1, min(len(lines), int((s.bottom-s.y)/high)))
		s.letter(finish.Text{At: geom.Pt(x, s.y), Size: size, Lines: lines[:n]})
		s.y += float64(n) * high
		lines = lines[n:]
	}
}

// heading sets the title of a section, with room for more below it.
func (s *setter) heading(title string, more float64) {
	high := lettering.Regular().LineHeight(headSize)
	if s.y > s.top {
		s.y += gap
	}
	s.room(high + gap + more)
	s.letter(finish.Text{At: geom.Pt(s.left, s.y), Size: headSize, Lines: []string{title}})
	s.y += high + pad
	s.level(s.y, heavy)
	s.y += pad
}

// list sets items with a dash before each.
func (s *setter) list(title string, items []string) {
	s.items(title, items, func(int) string { return "–" })
}

// steps sets items with a number before each.
func (s *setter) steps(title string, items []string) {
	s.items(title, items, func(i int) string { return fmt.Sprintf("%d.", i+1) })
}

func (s *setter) items(title string, items []string, sign func(i int) string) {
	if len(items) == 0 {
		return
	}
	font := lettering.Regular()
	high := font.LineHeight(textSize)
	indent := font.Width(sign(len(items)-1), textSize) + 2
	s.heading(title, 2*high)
	for i, item := range items {
		lines := font.Wrap(item, textSize, s.right-s.left-indent, 0)
		if len(lines) == 0 {
			continue
		}
		s.room(high * float64(min(len(lines), 3))) // a short item stays together
		s.letter(finish.Text{At: geom.Pt(s.left, s.y), Size: textSize, Lines: []string{sign(i)}})
		s.lines(textSize, s.left+indent, lines)
		s.y += pad
	}
}

// column is a column of a table.
type column struct {
	name     string
	number   bool // set to the right
	flexible bool // takes up the width that the others leave
}

// table is a table to be set.
type table struct {
	title   string
	columns []column
	rows    [][]string
	note    string // set below the last row, on its page
	widths  []float64
}

func (t *table) row(cells ...string) { t.rows = append(t.rows, cells) }

// dropEmpty removes the columns that have no cell with text.
func (t *table) dropEmpty() {
	for i := len(t.columns) - 1; i >= 0; i-- {
		if slices.ContainsFunc(t.rows, func(row []string) bool { return row[i] != "" }) {
			continue
		}
		t.columns = slices.Delete(t.columns, i, i+1)
		for r := range t.rows {
			t.rows[r] = slices.Delete(t.rows[r], i, i+1)
		}
	}
}

// fit gives the columns their widths: what their widest cell needs, at most a third
// of the whole. The flexible ones share what the others leave: those that need less
// than an equal share get what they need, and the last one what is over.
func (t *table) fit(whole float64) {
	font := lettering.Regular()
	t.widths = make([]float64, len(t.columns))
	left := whole - between*float64(len(t.columns)-1)
	var flexible []int
	for i, c := range t.columns {
		w := font.Width(c.name, smallSize)
		for _, row := range t.rows {
			w = max(w, font.Width(row[i], textSize))
		}
		t.widths[i] = w + 0.01 // so that the widest one is not broken
		if c.flexible {
			flexible = append(flexible, i)
			continue
		}
		t.widths[i] = min(t.widths[i], whole/3)
		left -= t.widths[i]
	}
	slices.SortStableFunc(flexible, func(a, b int) int { return cmp.Compare(t.widths[a], t.widths[b]) })
	for k, i := range flexible {
		share := left / float64(len(flexible)-k)
		t.widths[i] = min(t.widths[i], share)
		left -= t.widths[i]
	}
	if n := len(flexible); n > 0 {
		t.widths[slices.Max(flexible)] += left
	}
}

// maxCell is the most lines of a cell: no cell is higher than a page.
const maxCell = 20

// table sets a table. Where a page ends within it, its head stands on the next one
// too.
func (s *setter) table(t *table) {
	if len(t.rows) == 0 {
		return
	}
	t.dropEmpty()
	t.fit(s.right - s.left)
	font := lettering.Regular()
	note := font.Wrap(t.note, smallSize, s.right-s.left, 0)
	noteHigh := float64(len(note)) * font.LineHeight(smallSize)
	high := font.LineHeight(textSize) + 2*pad
	s.heading(t.title, font.LineHeight(smallSize)+2*high)
	s.tableHead(t)
	for r, row := range t.rows {
		cells := make([][]string, len(row))
		lines := 1
		for i, c := range row {
			cells[i] = font.Wrap(c, textSize, t.widths[i], maxCell)
			lines = max(lines, len(cells[i]))
		}
		rowHigh := float64(lines)*font.LineHeight(textSize) + 2*pad
		needed := rowHigh
		if r == len(t.rows)-1 {
			needed += noteHigh + pad
		}
		if s.y+needed > s.bottom {
			s.newPage()
			s.heading(t.title+", continued", rowHigh)
			s.tableHead(t)
		}
		s.cells(t, cells, textSize)
		s.y += rowHigh
		s.level(s.y, rule)
	}
	s.y += pad
	s.lines(smallSize, s.left, note)
}

// tableHead sets the names of the columns.
func (s *setter) tableHead(t *table) {
	cells := make([][]string, len(t.columns))
	for i, c := range t.columns {
		cells[i] = []string{c.name}
	}
	s.cells(t, cells, smallSize)
	s.y += lettering.Regular().LineHeight(smallSize) + 2*pad
	s.level(s.y, rule)
}

// cells sets the cells of a row.
func (s *setter) cells(t *table, cells [][]string, size float64) {
	font := lettering.Regular()
	x := s.left
	for i, lines := range cells {
		if !t.columns[i].number && len(lines) > 0 {
			s.letter(finish.Text{At: geom.Pt(x, s.y+pad), Size: size, Lines: lines})
		}
		for k, line := range lines {
			if t.columns[i].number {
				at := geom.Pt(x+t.widths[i]-font.Width(line, size), s.y+pad+float64(k)*font.LineHeight(size))
				s.letter(finish.Text{At: at, Size: size, Lines: []string{line}})
			}
		}
		x += t.widths[i] + between
	}
}

// footers sets the foot of every page with what the pages are and its number.
func (s *setter) footers(foot, what string) {
	font := lettering.Regular()
	count := len(s.pages)
	for i := range s.pages {
		number := fmt.Sprintf("%s, page %d of %d", what, i+1, count)
		wide := font.Width(number, smallSize)
		y := s.size.Y - margin - font.LineHeight(smallSize)
		line := geom.Polyline(geom.Pt(s.left, y-pad), geom.Pt(s.right, y-pad))
		texts := []finish.Text{{At: geom.Pt(s.right-wide, y), Size: smallSize, Lines: []string{number}}}
		if lines := font.Wrap(foot, smallSize, s.right-s.left-wide-gap, 1); len(lines) > 0 {
			texts = append(texts, finish.Text{At: geom.Pt(s.left, y), Size: smallSize, Lines: lines})
		}
		s.pages[i].Parts = append(s.pages[i].Parts,
			drawing.Part{Name: "rule", Pen: rule, Shapes: []drawing.Shape{drawing.Line(line)}},
			drawing.Part{Name: "foot", Texts: texts})
	}
}
