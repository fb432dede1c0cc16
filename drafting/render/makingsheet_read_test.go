package render

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/finish"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// word is a word on a page as poppler reads it, in points.
type word struct {
	X0   float64 `xml:"xMin,attr"`
	Y0   float64 `xml:"yMin,attr"`
	X1   float64 `xml:"xMax,attr"`
	Y1   float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

// letters returns the word's box less the room above and below its letters.
func (w word) letters() word {
	high := w.Y1 - w.Y0
	return word{w.X0 + 0.3, w.Y0 + 0.25*high, w.X1 - 0.3, w.Y1 - 0.25*high, w.Text}
}

func (w word) meets(o word) bool { return w.X0 < o.X1 && o.X0 < w.X1 && w.Y0 < o.Y1 && o.Y0 < w.Y1 }

// wordPage is a page with its words.
type wordPage struct {
	Width  float64 `xml:"width,attr"`
	Height float64 `xml:"height,attr"`
	Words  []word  `xml:"word"`
}

// wordsOf returns the words of a PDF by its pages, as poppler reads them.
func wordsOf(t *testing.T, file string) []wordPage {
	t.Helper()
	var doc struct {
		Pages []wordPage `xml:"body>doc>page"`
	}
	d := xml.NewDecoder(bytes.NewReader(read(t, "pdftotext", "-bbox", file, "-")))
	d.Strict, d.Entity = false, xml.HTMLEntity
	if err := d.Decode(&doc); err != nil {
		t.Fatal(err)
	}
	return doc.Pages
}

// flat returns text with single spaces: poppler breaks lines where the sheet does.
func flat(text string) string { return strings.Join(strings.Fields(text), " ") }

// The making sheet of every garment, for a small and a large body of the panel and in
// both units, is read by poppler whole and in its order, within the page, no word on
// another.
func TestMakingSheetReadBack(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		bodies := proof.Panel(s.Head.Block, s.Head.Measures...)
		for i, paper := range []string{paperA4, paperLetter} {
			b := bodies[i*(len(bodies)-1)]
			t.Run(fmt.Sprintf("%s/%s", s.Head.Slug, paper), func(t *testing.T) {
				t.Parallel()
				o := proof.Base(s.Head.Slug)
				o.Unit, o.Measurements = "cm", b.Given
				p, err := drafting.Draft(t.Context(), o)
				if err != nil {
					t.Fatalf("%s: %v", b.Name, err)
				}
				if paper == paperLetter {
					p.Label.OrderUnit = "inch"
				}
				readMakingSheet(t, p, paper)
			})
		}
	}
}

// readMakingSheet checks the making sheet of a pattern on paper by poppler.
func readMakingSheet(t *testing.T, p finish.Pattern, paper string) {
	t.Helper()
	var pdf bytes.Buffer
	if err := writeMakingSheet(t.Context(), &pdf, p, Options{Paper: paper}); err != nil {
		t.Fatal(err)
	}
	file := save(t, pdf.Bytes())
	checkWords(t, wordsOf(t, file))
	text := flat(string(read(t, "pdftotext", "-raw", file, "-")))
	at := 0
	next := func(what string) {
		t.Helper()
		i := strings.Index(text[at:], flat(what))
		if i < 0 {
			t.Errorf("%q does not stand whole behind %q", what, text[max(0, at-80):at])
			return
		}
		at += i
	}
	for _, heading := range []string{"Making sheet", "Order", "Revision"} {
		next(heading)
	}
	next("Cut from")
	listed := text[at:]
	next("Cloth to buy")
	listed = listed[:len(listed)-len(text[at:])]
	for i, q := range p.Pieces { // the list goes by cloth; the picture's texts are drawn last
		piece := fmt.Sprintf("%d %s %s", i+1, q.Title, q.Cut)
		if !strings.Contains(listed, piece) {
			t.Errorf("%q is not in the cutting list: %q", piece, listed)
		}
		if strings.Count(text, piece) < 2 {
			t.Errorf("%q is not in the picture too", piece)
		}
	}
	for _, line := range slices.Concat([]string{"Notions"}, p.Instructions.Notions, []string{"Finished measurements"}) {
		next(line)
	}
	next("Measurements used")
	for _, m := range p.Measurements {
		next(m.Title)
	}
	for _, line := range slices.Concat([]string{"Cautions"}, p.Instructions.Cautions, []string{"Sewing order"},
		p.Instructions.Sewing) {
		next(line)
	}
}

// checkWords checks that every word lies on its page and on no other word.
func checkWords(t *testing.T, pages []wordPage) {
	t.Helper()
	const margin = 20.0 // points
	if len(pages) == 0 {
		t.Error("no pages")
	}
	for n, page := range pages {
		if len(page.Words) == 0 {
			t.Errorf("page %d has no words", n+1)
		}
		for i, w := range page.Words {
			if w.X0 < margin || w.Y0 < margin || w.X1 > page.Width-margin || w.Y1 > page.Height-margin {
				t.Errorf("page %d: %q lies outside the margins: %+v", n+1, w.Text, w)
			}
			for _, other := range page.Words[:i] {
				if w.letters().meets(other.letters()) {
					t.Errorf("page %d: %q and %q overlap", n+1, w.Text, other.Text)
				}
			}
		}
	}
}
