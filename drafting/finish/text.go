package finish

import (
	"fmt"
	"math"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/pattern"
)

// titleScale is how much larger than the rest the title is set.
const titleScale = 4.0 / 3

// What is given in an order can be of any length: a line of lettering keeps at
// most this many runes of it before it is fitted to the piece.
const maxRunes = 200

// text returns the text of a piece: its title and the lines under it, the important
// first.
type text struct {
	title string
	rest  []string
}

// titleOf returns a piece's title as it is lettered.
func titleOf(p pattern.Piece) string {
	if p.Title == "" {
		return clean(p.Name)
	}
	return clean(p.Title)
}

// textOf collects what is lettered on the piece that is number n of m.
func textOf(p pattern.Piece, style string, l Label, n, m int) text {
	t := text{title: titleOf(p)}
	say := func(format, value string) {
		if value = clean(value); value != "" {
			t.rest = append(t.rest, fmt.Sprintf(format, value))
		}
	}
	say("%s", p.Cut.String())
	say("%s", clothInstruction(p))
	for _, note := range p.Notes {
		say("%s", note)
	}
	say("%s", fmt.Sprintf("Piece %d of %d", n, m))
	say("Order %s", l.Reference)
	say("Customer %s", l.Customer)
	say("%s", style)
	for _, s := range l.Measures {
		say("%s", s)
	}
	date := clean(l.Date)
	if date != "" {
		date += ", "
	}
	say("%s", fmt.Sprintf("%srevision %d", date, l.Revision))
	return t
}

// clean returns a value as it can be lettered, cut to a length worth fitting.
func clean(s string) string { return lettering.Regular().Line(s, maxRunes) }

// clothInstruction says what else than the main cloth the piece is cut from.
func clothInstruction(p pattern.Piece) string {
	var parts []string
	if p.Cloth != "" {
		parts = append(parts, "From "+p.Cloth)
	}
	if p.Interfacing > 0 {
		parts = append(parts, fmt.Sprintf("Interfacing: cut %d", p.Interfacing))
	}
	return strings.Join(parts, ". ")
}

// setting is text broken into lines. All measures are in ems of the letters
// under the title, so that it serves every size.
type setting struct {
	title, rest   []string
	width, height float64
}

// set breaks the text so that no line is wider than width ems. Run on, the
// lines under the title follow each other on one line as far as they fit.
func (t text) set(width float64, runOn bool) setting {
	font := lettering.Regular()
	s := setting{title: font.Wrap(t.title, titleScale, width, 2)}
	for _, line := range t.rest {
		s.rest = append(s.rest, font.Wrap(line, 1, width, 2)...)
	}
	if runOn {
		s.rest = pack(s.rest, width)
	}
	for _, line := range s.title {
		s.width = max(s.width, font.Width(line, titleScale))
	}
	for _, line := range s.rest {
		s.width = max(s.width, font.Width(line, 1))
	}
	s.height = float64(len(s.title))*font.LineHeight(titleScale) + float64(len(s.rest))*font.LineHeight(1)
	return s
}

// pack puts lines beside each other, a raised dot between them, as far as they
// fit into width ems.
func pack(lines []string, width float64) []string {
	var packed []string
	for _, line := range lines {
		if n := len(packed); n > 0 {
			if both := packed[n-1] + " · " + line; lettering.Regular().Width(both, 1) <= width {
				packed[n-1] = both
				continue
			}
		}
		packed = append(packed, line)
	}
	return packed
}

// labels sets the block at a size into a box of its own size, upright or
// turned to read upwards.
func (s *setting) labels(b geom.Box, size float64, turned bool) []Text {
	at, angle, down := b.Min, 0.0, geom.Pt(0, 1)
	if turned {
		at, angle, down = geom.Pt(b.Min.X, b.Max.Y), -math.Pi/2, geom.Pt(1, 0)
	}
	title := Text{At: at, Angle: angle, Size: size * titleScale, Lines: s.title}
	if len(s.rest) == 0 {
		return []Text{title}
	}
	return []Text{title, {At: at.Add(down.Mul(title.Height())), Angle: angle, Size: size, Lines: s.rest}}
}
