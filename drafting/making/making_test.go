package making

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/pattern"
)

var (
	a4     = geom.Pt(210, 297)
	letter = geom.Pt(215.9, 279.4)
)

// laidOut lays out a making sheet.
func laidOut(t *testing.T, p finish.Pattern, size geom.Point) Sheet {
	t.Helper()
	s, err := New(t.Context(), p, size)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// boxOf returns the box of a text, less what the letters leave free of it above.
func boxOf(l finish.Text) geom.Box {
	c := l.Corners()
	return geom.BoxOf(c[:]...).Grow(-0.05)
}

// checkPages checks that no text leaves its page's margins or meets another, and that
// every page has its number.
func checkPages(t *testing.T, name string, s Sheet) {
	t.Helper()
	within := geom.Box{Min: geom.Pt(margin, margin), Max: s.Size.Sub(geom.Pt(margin, margin))}.Grow(0.1)
	for i := range s.Pages {
		texts := drawing.Texts(s.Pages[i : i+1])
		for k, l := range texts {
			box := boxOf(l)
			if !within.Holds(box) {
				t.Errorf("%s: page %d: %q lies at %v", name, i+1, l.Lines, box)
			}
			for _, other := range texts[:k] {
				if boxOf(other).Overlaps(box) {
					t.Errorf("%s: page %d: %q and %q overlap", name, i+1, l.Lines, other.Lines)
				}
			}
		}
		if want := fmt.Sprintf("making sheet, page %d of %d", i+1, len(s.Pages)); !strings.Contains(said(texts), want) {
			t.Errorf("%s: page %d is not numbered", name, i+1)
		}
	}
}

// said joins all lines.
func said(texts []finish.Text) string {
	var all []string
	for _, l := range texts {
		all = append(all, l.Lines...)
	}
	return strings.Join(all, " ")
}

// Every sample order on both papers: each piece is shown and listed, and nothing of
// the instructions is missing or off the page.
func TestEveryOrder(t *testing.T) {
	t.Parallel()
	patterns := ordertest.Patterns(t)
	for _, name := range slices.Sorted(maps.Keys(patterns)) {
		p := patterns[name]
		for _, size := range []geom.Point{a4, letter} {
			s := laidOut(t, p, size)
			checkPages(t, name, s)
			all := said(drawing.Texts(s.Pages))
			missing := func(what string) {
				if !strings.Contains(all, what) {
					t.Errorf("%s: %q is not on the sheet", name, what)
				}
			}
			for i, q := range p.Pieces {
				missing(fmt.Sprintf("%d %s", i+1, q.Title))
				missing(q.Cut.String())
			}
			for _, m := range p.Measurements {
				missing(m.Title)
			}
			if in := p.Instructions; in != nil {
				for _, line := range slices.Concat(in.Cloths, in.Notions, in.Sewing, in.Cautions, in.Built) {
					missing(line)
				}
			}
			missing(p.Label.Reference)
			missing("revision 1")
		}
	}
}

// Long texts of a customer and a style wrap, a table that breaks has its head on each
// page, and a word without spaces is broken.
func TestLongTexts(t *testing.T) {
	t.Parallel()
	p := ordertest.Pattern(t, "button-shirt")
	p.Label.Customer = strings.Repeat("W", 64)
	p.Label.Reference = strings.Repeat("Wide ", 12)
	p.Style = strings.Repeat("A shirt with a long name ", 8)
	in := *p.Instructions
	for i := range 90 {
		in.Sewing = append(in.Sewing, fmt.Sprintf("Step %d: %s", i, strings.Repeat("sew ", 30+i)))
	}
	in.Notions = append(in.Notions, strings.Repeat("x", 400))
	p.Instructions = &in
	for i := range 80 {
		title := fmt.Sprintf("measure %d", i)
		p.Measurements = append(p.Measurements, pattern.Measurement{Name: "m", Title: title, Value: 10})
	}
	p.Pieces[0].Notes = append(p.Pieces[0].Notes, strings.Repeat("Mind the grain. ", 30))
	s := laidOut(t, p, a4)
	checkPages(t, "long", s)
	heads := 0
	for i := range s.Pages {
		all := said(drawing.Texts(s.Pages[i : i+1]))
		if strings.Contains(all, "estimated") || strings.Contains(all, "measured") {
			if strings.Contains(all, "How it is known") {
				heads++
			} else {
				t.Errorf("page %d has rows without the head of their table", i+1)
			}
		}
	}
	if heads < 3 {
		t.Errorf("the table breaks over %d pages, want 3 at least", heads)
	}
}

// The grain is told by what it runs along.
func TestGrain(t *testing.T) {
	t.Parallel()
	p := ordertest.Pattern(t, "button-shirt")
	got := map[string]string{}
	for i := range p.Pieces {
		got[p.Pieces[i].Name] = grainOf(&p.Pieces[i])
	}
	for name, want := range map[string]string{"front": "along its length", "yoke": "along the fold",
		"sleeve": "along its length", "cuff": "along its length"} {
		if got[name] != want {
			t.Errorf("%s: %s, want %s", name, got[name], want)
		}
	}
	if sleeve, ok := shortSleeve(t); !ok || grainOf(&sleeve) != "from cap to hem" {
		t.Errorf("short sleeve: %s", grainOf(&sleeve))
	}
	q := p.Pieces[0]
	at := q.Grain.P0
	q.Grain = geom.Line(at, at.Add(geom.Polar(100, q.Grain.Tangent(0).Angle()+0.785)))
	if got := grainOf(&q); got != "bias" {
		t.Errorf("turned by 45 degrees: %s", got)
	}
}

// Only a long edge tells a bias: a panel of curves with a short slanted shoulder
// hangs on the straight grain, and so does a flared skirt of which one side slants.
func TestGrainOfCurvedPieces(t *testing.T) {
	t.Parallel()
	down := geom.Line(geom.Pt(60, 100), geom.Pt(60, 500))
	curved := func(x, bow float64, from, to geom.Point) geom.Path {
		return geom.Path{geom.Cubic(from, geom.Pt(x+bow, 200), geom.Pt(x-bow, 400), to)}
	}
	shoulder := geom.Pt(60, -60)
	panel := finish.Piece{Piece: pattern.Piece{Grain: down}, CutLine: geom.Join(
		geom.Path{geom.Line(geom.Pt(0, 0), shoulder)}, curved(120, 20, shoulder, geom.Pt(120, 600)),
		curved(60, 0, geom.Pt(120, 600), geom.Pt(0, 600)), curved(0, 20, geom.Pt(0, 600), geom.Pt(0, 0)))}
	panel.Edges = []pattern.Edge{{Path: panel.CutLine[:1]}, {Path: panel.CutLine[1:]}}
	if got := grainOf(&panel); got != "along its length" {
		t.Errorf("panel: %s", got)
	}
	corners := []geom.Point{geom.Pt(0, 0), geom.Pt(600, 0), geom.Pt(570, 30), geom.Pt(-30, 30)}
	strip := finish.Piece{Piece: pattern.Piece{Grain: geom.Line(geom.Pt(300, 0), geom.Pt(320, 20))}}
	for i, c := range corners {
		side := geom.Path{geom.Line(c, corners[(i+1)%len(corners)])}
		strip.CutLine = append(strip.CutLine, side...)
		strip.Edges = append(strip.Edges, pattern.Edge{Path: side})
	}
	if got := grainOf(&strip); got != "bias" {
		t.Errorf("bias strip: %s", got)
	}
	skirt := ordertest.Pattern(t, "flared-skirt")
	for i := range skirt.Pieces {
		if got := grainOf(&skirt.Pieces[i]); got == "bias" || got == "as marked" {
			t.Errorf("%s: %s", skirt.Pieces[i].Name, got)
		}
	}
}

// shortSleeve returns a sleeve that is wider than long.
func shortSleeve(t *testing.T) (finish.Piece, bool) {
	t.Helper()
	for _, q := range ordertest.Pattern(t, "shift-dress").Pieces {
		if q.Name == "sleeve" {
			return q, true
		}
	}
	return finish.Piece{}, false
}

// What a person passes on the way into a garment is named in a maker's words, and an
// order in inches has its lengths in sixteenths.
func TestWornTitles(t *testing.T) {
	t.Parallel()
	for name, want := range map[string][]string{
		"shift-dress":   {"Neck opening, over the head", "Sleeve end, over the hand", "Sleeve where it is tightest"},
		"knit-top":      {"Sleeve end, over the hand: cuff band", "Body, over the shoulders: hem band"},
		"trousers":      {"Waist opening, over the hips", "Leg end, over the foot"},
		"wrap-robe":     {"Neck opening, over the head", "opens whole"},
		"straight-inch": {"40 1/2", "Lengths in inches.", "16 3/4"},
	} {
		s := laidOut(t, ordertest.Pattern(t, name), a4)
		all := said(drawing.Texts(s.Pages))
		for _, title := range want {
			if !strings.Contains(all, title) {
				t.Errorf("%s: no %q in %s", name, title, all)
			}
		}
		if strings.Contains(all, " through ") && strings.Contains(all, "/neckline") || strings.Contains(all, "Room for the") {
			t.Errorf("%s: names of edges on the sheet: %s", name, all)
		}
	}
}

func BenchmarkSheet(b *testing.B) {
	for name, p := range ordertest.Patterns(b) {
		p = p.Lettered()
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := New(b.Context(), p, a4); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
