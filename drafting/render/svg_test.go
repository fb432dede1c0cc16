package render

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/pattern"
	"tapeline/drafting/sheets"
)

// svgVariants are all the ways to write an SVG file.
var svgVariants = []Options{
	{}, {Text: TextLetters}, {For: ForScreens}, {For: ForScreens, Text: TextLetters},
}

// Each piece is a group with its sub-groups, a title and a description; the
// size is in mm for editing and open for screens.
func TestSVGStructure(t *testing.T) {
	t.Parallel()
	for _, g := range garments(t) {
		for _, o := range svgVariants {
			data, _ := rendered(t, g.Pattern, "svg", o)
			root := parseSVG(t, data)
			root.ids(t)
			name := fmt.Sprintf("%s %+v", g.name, o)
			if root.XMLName.Space != "http://www.w3.org/2000/svg" || root.XMLName.Local != "svg" ||
				root.Children[0].XMLName.Local != "title" || root.Children[1].XMLName.Local != "desc" {
				t.Errorf("%s: root %v, then %v and %v", name, root.XMLName, root.Children[0].XMLName, root.Children[1].XMLName)
			}
			var w, h float64
			if n, err := fmt.Sscanf(root.attr("viewBox"), "0 0 %g %g", &w, &h); n != 2 || err != nil {
				t.Fatalf("%s: viewBox %q", name, root.attr("viewBox"))
			}
			width := ""
			if o.For != ForScreens {
				width = strconv.FormatFloat(w, 'f', -1, 64) + "mm"
			}
			if root.attr("width") != width {
				t.Errorf("%s: width %q for viewBox %q", name, root.attr("width"), root.attr("viewBox"))
			}
			for _, p := range g.Pieces {
				checkGroup(t, name, root, p)
			}
		}
	}
}

// checkGroup checks the group of a piece.
func checkGroup(t *testing.T, name string, root *svgElement, p finish.Piece) {
	t.Helper()
	var group *svgElement
	root.each(func(e *svgElement) {
		if e.attr("id") == "piece-"+p.Name {
			group = e
		}
	})
	if group == nil {
		t.Errorf("%s: no group for %s", name, p.Name)
		return
	}
	if group.Children[0].Text != p.Title || !strings.HasPrefix(group.Children[1].Text, "Cut "+strconv.Itoa(p.Cut.Count)) {
		t.Errorf("%s: %s says %q, %q", name, p.Name, group.Children[0].Text, group.Children[1].Text)
	}
	want := []string{"cut-line", "seam-line", "darts", "internal-lines", "signs", "notches", "marks", "grain", "text"}
	var got []string
	for _, c := range group.Children[2:] {
		got = append(got, strings.TrimPrefix(c.attr("id"), "piece-"+p.Name+"-"))
	}
	signs := 0
	for _, l := range p.Lines {
		if finish.IsButtonhole(l) || finish.IsArrow(l) {
			signs++
		}
	}
	missing := map[string]bool{
		"darts": len(p.Darts) == 0, "internal-lines": len(p.Lines) == signs, "signs": signs == 0,
		"notches": len(p.Ticks) == 0,
		"marks":   len(p.Drills)+len(p.Marks) == 0,
	}
	want = slices.DeleteFunc(want, func(s string) bool { return missing[s] })
	if !slices.Equal(got, want) {
		t.Errorf("%s: %s has groups %v, want %v", name, p.Name, got, want)
	}
}

// Another body and another revision have the same ids.
func TestSVGStableIDs(t *testing.T) {
	t.Parallel()
	var all [][]string
	for _, change := range []func(*drafting.Order){
		nil,
		func(o *drafting.Order) { o.Measurements["bust_girth"] -= 10; o.Revision = 2 },
		func(o *drafting.Order) { o.Measurements["nape_to_waist"] += 10; o.Reference = "other" },
	} {
		data, _ := rendered(t, torso(t, change), "svg", Options{Text: TextLetters})
		all = append(all, parseSVG(t, data).ids(t))
	}
	for _, ids := range all[1:] {
		if !slices.Equal(ids, all[0]) {
			t.Errorf("ids %v, were %v", ids, all[0])
		}
	}
}

// So it is with every style: a body 1 % larger is no reason for other ids.
func TestSVGStableIDsOfStyles(t *testing.T) {
	t.Parallel()
	for _, slug := range drafting.Styles() {
		var all [][]string
		for _, larger := range []float64{1, 1.01} {
			o, err := styleOrder(slug)
			if err != nil {
				t.Fatal(err)
			}
			for name, v := range o.Measurements {
				if info, ok := body.Lookup(name); ok && info.Unit != body.Degree {
					o.Measurements[name] = v * larger
				}
			}
			p, err := drafting.Draft(t.Context(), o)
			if err != nil {
				t.Fatalf("%s: %v", slug, err)
			}
			data, _ := rendered(t, p, "svg", Options{Text: TextLetters})
			all = append(all, parseSVG(t, data).ids(t))
		}
		if !slices.Equal(all[0], all[1]) {
			t.Errorf("%s: ids %v, were %v", slug, all[1], all[0])
		}
	}
}

// The document type of SVG 1.1 (W3C Recommendation, second edition) holds.
func TestSVGValid(t *testing.T) {
	t.Parallel()
	const dtd = "/usr/share/xml/w3c-sgml-lib/schema/dtd/REC-SVG11-20110816/svg11.dtd" // Debian's w3c-sgml-lib
	if _, err := os.Stat(dtd); errors.Is(err, os.ErrNotExist) {
		read(t, "the document type "+dtd) // skips, or fails where readers are required
	}
	patterns := []finish.Pattern{hostile(t)}
	for _, g := range garments(t) {
		patterns = append(patterns, g.Pattern)
	}
	var files []string
	for i, p := range patterns {
		for k, o := range svgVariants {
			if i > 2 && i%4 != k && !whole() {
				continue
			}
			_, file := rendered(t, p, "svg", o)
			files = append(files, file)
		}
	}
	read(t, "xmllint", append([]string{"--noout", "--nonet", "--dtdvalid", dtd}, files...)...)
}

// hostile is a pattern whose words try to be something else.
func hostile(t testing.TB) finish.Pattern {
	p := torso(t, nil).Lettered()
	evil := "\"><script>alert('&amp;')</script><!-- ]]> \x00\x1b\xff\r\n  0\r\nENDBLK\r\n\\U+000A^J%%u" +
		strings.Repeat("Ж", 300)
	p.Label.Reference, p.Style, p.Label.Customer, p.Label.Date = evil, evil, evil, evil
	for i := range p.Pieces {
		q := &p.Pieces[i]
		q.Title = evil
		q.Texts = append(q.Texts[:0:0], q.Texts...)
		q.Texts[0].Lines = []string{evil}
		q.Lines = append(q.Lines[:0:0], q.Lines...)
		for k := range q.Lines {
			q.Lines[k].Name = evil
		}
	}
	p.Pieces[0].Name, p.Pieces[1].Name = evil, evil
	return p
}

// Hostile strings stay text: they add no element and no attribute.
func TestSVGHostile(t *testing.T) {
	t.Parallel()
	known := map[string]bool{"svg": true, "title": true, "desc": true, "defs": true, "g": true, "path": true,
		"circle": true, "rect": true, "text": true, "use": true}
	for _, o := range svgVariants {
		p := hostile(t)
		data, _ := rendered(t, p, "svg", o)
		root := parseSVG(t, data)
		root.ids(t)
		root.each(func(e *svgElement) {
			if !known[e.XMLName.Local] {
				t.Errorf("an element %s", e.XMLName.Local)
			}
			for _, a := range e.Attrs {
				if strings.HasPrefix(strings.ToLower(a.Name.Local), "on") {
					t.Errorf("an attribute %s", a.Name.Local)
				}
			}
		})
		if title := root.Children[0].Text; !strings.HasPrefix(title, `"><script>alert('&amp;')</script><!-- ]]> `) {
			t.Errorf("title %q", title)
		}
	}
}

// What is lettered can be read out of either lettering; for screens no letter
// is smaller than legible.
func TestSVGText(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, o := range svgVariants {
		data, _ := rendered(t, p, "svg", o)
		root := parseSVG(t, data)
		lines := make(map[string]int)
		width, _ := strconv.ParseFloat(strings.Fields(root.attr("viewBox"))[2], 64)
		least := math.Inf(1)
		root.each(func(e *svgElement) {
			switch {
			case e.XMLName.Local == "text":
				lines[e.Text]++
				size, err := strconv.ParseFloat(e.attr("font-size"), 64)
				if err != nil {
					t.Errorf("font-size: %v", err)
				}
				least = min(least, size)
			case e.XMLName.Local == "g" && strings.Contains(e.attr("transform"), "scale("):
				lines[e.Children[0].Text]++
				_, scale, _ := strings.Cut(e.attr("transform"), "scale(")
				size, err := strconv.ParseFloat(strings.TrimSuffix(scale, ")"), 64)
				if err != nil {
					t.Errorf("scale: %v", err)
				}
				least = min(least, size*glyphUnits)
			}
		})
		if o.For == ForScreens {
			if least < legiblePixels/screenPixels*width*0.999 {
				t.Errorf("%+v: letters of %.2f mm in %.0f mm", o, least, width)
			}
			for i, piece := range p.Pieces {
				if lines[fmt.Sprintf("%d %s", i+1, piece.Title)] == 0 {
					t.Errorf("%+v: %s is not named", o, piece.Title)
				}
			}
			continue
		}
		l, err := sheets.Row(t.Context(), p)
		if err != nil {
			t.Fatal(err)
		}
		labels := slices.Clone(l.Legend.Texts)
		for _, piece := range p.Pieces {
			labels = append(labels, piece.Texts...)
		}
		for _, label := range labels {
			for _, line := range label.Lines {
				if lines[line]--; lines[line] < 0 {
					t.Errorf("%+v: %q is not lettered", o, line)
				}
			}
		}
	}
}

// The glyphs used are defined, letter by letter of the line that they spell.
func TestSVGGlyphs(t *testing.T) {
	t.Parallel()
	data, _ := rendered(t, hostile(t), "svg", Options{})
	root := parseSVG(t, data)
	ids := root.ids(t)
	root.each(func(e *svgElement) {
		if e.XMLName.Local != "g" || !strings.Contains(e.attr("transform"), "scale(") {
			return
		}
		var want, got []string
		for _, r := range e.Children[0].Text {
			if len(lettering.Regular().Outline(string(r), 1)) > 0 {
				want = append(want, fmt.Sprintf("#glyph-%04x", r))
			}
		}
		for _, u := range e.Children[1:] {
			got = append(got, u.attr("href"))
			if _, ok := slices.BinarySearch(ids, strings.TrimPrefix(u.attr("href"), "#")); !ok {
				t.Errorf("%s is used but not defined", u.attr("href"))
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%q is spelled %v", e.Children[0].Text, got)
		}
	})
}

// The hip-length torso stays under 150 kB, however it is written.
func TestSVGSize(t *testing.T) {
	t.Parallel()
	p := torso(t, func(o *drafting.Order) { o.Choices["length"] = block.Value{Word: "hip"} })
	for _, o := range svgVariants {
		data, _ := rendered(t, p, "svg", o)
		t.Logf("%+v: %d bytes", o, len(data))
		if len(data) > 150_000 {
			t.Errorf("%+v: %d bytes", o, len(data))
		}
	}
}

// A pattern that needs more than one page of a PDF has no legend beside it,
// but all its pieces.
func TestSVGOfAVeryLongPattern(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	long := geom.Polyline(geom.Pt(0, 0), geom.Pt(200, 0), geom.Pt(200, 6000), geom.Pt(0, 6000), geom.Pt(0, 0))
	p.Pieces = append(p.Pieces, finish.Piece{Piece: pattern.Piece{Name: "train", Title: "Train",
		Edges: []pattern.Edge{{Name: "all", Path: long}}}, Allowances: []float64{0}, CutLine: long})
	l, err := sheets.Plan(t.Context(), p, sheets.Options{Paper: sheets.Full, Placing: sheets.InRow})
	if err != nil || !l.Pages[0].Cover {
		t.Fatalf("not a long pattern: %v", err)
	}
	data, _ := rendered(t, p, "svg", Options{})
	root := parseSVG(t, data)
	ids := root.ids(t)
	if slices.Contains(ids, "legend") || !slices.Contains(ids, "piece-train-cut-line-path") ||
		!slices.Contains(ids, "piece-back-cut-line-path") {
		t.Errorf("ids %v", ids)
	}
}

func FuzzSVGText(f *testing.F) {
	for _, s := range []string{"A-1", "<&>\"'", "\x00\xff\ufffe", "]]>", strings.Repeat("漢", 9)} {
		f.Add(s)
	}
	p := torso(f, nil)
	f.Fuzz(func(t *testing.T, s string) {
		q := p
		q.Label.Reference = s
		q.Pieces = slices.Clone(p.Pieces)
		q.Pieces[0].Name, q.Pieces[0].Title = s, s
		var b bytes.Buffer
		if err := SVG(t.Context(), &b, q, SVGOptions{For: ForScreens, Text: TextLetters}); err != nil {
			t.Fatal(err)
		}
		d := xml.NewDecoder(&b)
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				return
			} else if err != nil {
				t.Fatalf("%q: %v", s, err)
			}
		}
	})
}
