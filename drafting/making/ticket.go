package making

import (
	"fmt"
	"image/color"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/qr"

	"tapeline/drafting/cloth"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

// Ticket holds the text of a job ticket beside the order's pattern.
type Ticket struct {
	Address string // where the order is looked up; its QR code holds it
	Due     string // the day by which the order is due; "" if there is none
	Maker   string // who makes it; "" if nobody was named
	Paper   string // of the pattern
	Pages   int    // of the pattern
	Making  int    // pages of the making sheet
}

// Of the job ticket, mm.
const (
	referenceSize = 9.0
	factSize      = 4.2
	factWidth     = 32.0 // of the names of facts
	codeModule    = 0.9  // a side of the smallest square of the code
	codeQuiet     = 4    // blank squares around the code (ISO/IEC 18004)
	signHigh      = 12.0 // a line to sign on
)

// NewTicket lays out a job ticket on one page: what is to be cut, and a QR code
// that finds the order again. The error is that of an address too long for a code.
func NewTicket(p finish.Pattern, t Ticket, size geom.Point) (Sheet, error) {
	s := newSetter(size)
	code, err := qr.Encode(t.Address, qr.M, qr.Auto)
	if err != nil {
		return Sheet{}, fmt.Errorf("QR code of a job ticket: %w", err)
	}
	side := codeModule * float64(code.Bounds().Dx()+2*codeQuiet)
	corner := geom.Pt(s.right-side, s.top)
	s.draw("code", drawing.Fine, modules(code, corner)...)
	wide := s.right - s.left - side - gap
	s.y += s.text(s.left, s.y, headSize, wide, 1, "Job ticket")
	reference := p.Label.Reference
	if reference == "" {
		reference = "no reference"
	}
	s.y += s.text(s.left, s.y, referenceSize, wide, 3, reference) + gap
	for _, f := range t.facts(p) {
		s.text(s.left, s.y, factSize, factWidth, 1, f[0])
		high := s.text(s.left+factWidth, s.y, factSize, wide-factWidth, 3, f[1])
		s.y += max(high, lettering.Regular().LineHeight(factSize)) + pad
	}
	s.y = max(s.y, s.top+side) + gap
	s.toCut(p)
	s.toSign("Cut", "Sewn", "Checked", "Shipped")
	return Sheet{size, s.pages[:1]}, nil
}

// facts are the lines beside the code.
func (t Ticket) facts(p finish.Pattern) [][2]string {
	customer, due := p.Label.Customer, t.Due
	if customer == "" {
		customer = "not given"
	}
	facts := [][2]string{{"Customer", customer}, {"Garment", p.Style}, {"Revision", fmt.Sprint(p.Label.Revision)}}
	if p.Label.Date != "" {
		facts = append(facts, [2]string{"Date", p.Label.Date})
	}
	if due != "" {
		facts = append(facts, [2]string{"Due", due})
	}
	if t.Maker != "" {
		facts = append(facts, [2]string{"Made by", t.Maker})
	}
	pages := count(t.Pages, "page") + " of pattern on " + paperName(t.Paper)
	if t.Making > 0 {
		pages = count(t.Making, "page") + " of making sheet, " + pages
	}
	return append(facts, [2]string{"Pages", pages})
}

// paperName writes a paper as it is read: A4, letter.
func paperName(name string) string {
	if len(name) == 2 {
		return strings.ToUpper(name)
	}
	return name
}

// count writes a number of things.
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// toCut lists how many pieces are cut from each cloth, and the length that they
// take.
func (s *setter) toCut(p finish.Pattern) {
	unit := unitOf(p.Label)
	t := table{title: "To cut", columns: []column{{name: "Cloth", flexible: true}, {name: "Pieces", number: true},
		{name: "Cut in all", number: true},
		{name: "Length, " + unit.Format(roundTo(ticketWidth, unit, 1)) + " wide", number: true}}}
	for _, n := range cloth.Needs(p, []float64{ticketWidth}) {
		pieces, all := cloth.Count(p, n.Cloth)
		length := "too narrow"
		if n.Lengths[0] > 0 {
			length = unit.Format(roundTo(n.Lengths[0], unit, buyStep[unit]))
		}
		t.row(words(n.Cloth), fmt.Sprint(pieces), fmt.Sprint(all), length)
	}
	t.note = "Pieces laid one after another, as on the making sheet; a lay plan saves some of the length."
	s.table(&t)
}

// ticketWidth is the width of cloth for which a job ticket gives lengths, mm: the
// commonest one of cloth for dresses (common practice).
const ticketWidth = 1400.0

// toSign draws a line for each step at which the order changes hands.
func (s *setter) toSign(steps ...string) {
	s.y += 2 * gap
	wide := (s.right - s.left) / float64(len(steps))
	for i, step := range steps {
		x := s.left + float64(i)*wide
		line := geom.Polyline(geom.Pt(x, s.y+signHigh), geom.Pt(x+wide-gap, s.y+signHigh))
		s.draw("rule", rule, drawing.Line(line))
		s.text(x, s.y+signHigh+pad, smallSize, wide-gap, 1, step+": name, date")
	}
}

// modules are the dark squares of a code, those beside each other as one shape.
func modules(code barcode.Barcode, corner geom.Point) []drawing.Shape {
	var shapes []drawing.Shape
	side := code.Bounds().Dx()
	dark := func(x, y int) bool { return x < side && code.At(x, y) == color.Black }
	for y := range side {
		for x := 0; x < side; x++ {
			start := x
			for dark(x, y) {
				x++
			}
			if x == start {
				continue
			}
			at := func(x, y int) geom.Point {
				return corner.Add(geom.Pt(float64(x+codeQuiet), float64(y+codeQuiet)).Mul(codeModule))
			}
			shapes = append(shapes, drawing.Shape{Filled: true, Path: drawing.BoxPath(geom.BoxOf(at(start, y), at(x, y+1)))})
		}
	}
	return shapes
}
