package sheets_test

import (
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// On every paper, the pages show all of a draft and none is empty, the pieces keep
// their shapes and distances, and nothing covers the legend. Each paper gets a
// third of the drafts, with TAPELINE_WHOLE=1 all of them.
func TestPlanOfDrafts(t *testing.T) {
	t.Parallel()
	patterns := drafts(t)
	names := slices.Sorted(maps.Keys(patterns))
	for i, name := range allPapers() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for j, what := range sampled(names, i) {
				o := sheets.On(paper(t, name))
				o.Overlap = float64(j%2) * 12
				checkPlan(t, what, patterns[what], o)
			}
		})
	}
}

func checkPlan(t *testing.T, what string, p finish.Pattern, o sheets.Options) {
	l := plan(t, p, o)
	fail := func(format string, args ...any) {
		t.Helper()
		t.Errorf(what+": "+format, args...)
	}
	checkPieces(p, l, fail)
	checkPages(l, fail)
	checkLegend(l, fail)
	checkJoins(l, o.Overlap, fail)
	checkLabels(p, l, fail)
	if n, err := sheets.PageCount(t.Context(), p, o); err != nil || n != len(l.Pages) {
		fail("PageCount %d, %v, but %d pages", n, err, len(l.Pages))
	}
}

type failer func(format string, args ...any)

// checkPieces: every piece is moved rigidly, its grain upright, and keeps its
// distance from the others.
func checkPieces(p finish.Pattern, l sheets.Layout, fail failer) {
	for i, got := range l.Pieces {
		want := p.Pieces[i]
		if math.Abs(got.CutLine.Area()-want.CutLine.Area()) > 1e-6*want.CutLine.Area() {
			fail("%s: area %g, was %g", got.Name, got.CutLine.Area(), want.CutLine.Area())
		}
		if math.Abs(got.CutLine.Length()-want.CutLine.Length()) > 1e-6*want.CutLine.Length() {
			fail("%s: cut line %g mm, was %g", got.Name, got.CutLine.Length(), want.CutLine.Length())
		}
		g, h := got.Grain.P3.Sub(got.Grain.P0), want.Grain.P3.Sub(want.Grain.P0)
		if math.Abs(math.Abs(g.Dot(h))-h.Dot(h)) > 1e-6*h.Dot(h) || math.Abs(g.Cross(h)) > 1e-6*h.Dot(h) {
			fail("%s: the grain is not kept: %v, was %v", got.Name, g, h)
		}
		for _, other := range l.Pieces[i+1:] {
			if d := distance(got.CutLine, other.CutLine); d < sheets.Gap-0.5 {
				fail("%s and %s are %.2f mm apart", got.Name, other.Name, d)
			}
		}
	}
}

// distance is that between two outlines, 0 where one holds the other or they
// cross; measured from points 2 mm apart and so too long by 1 mm at most.
func distance(a, b geom.Path) float64 {
	if !a.Bounds().Grow(2 * sheets.Gap).Overlaps(b.Bounds()) {
		return math.Inf(1)
	}
	d := math.Inf(1)
	for _, pair := range [][2]geom.Path{{a, b}, {b, a}} {
		near := pair[1].Bounds().Grow(2 * sheets.Gap)
		for at := 0.0; at < pair[0].Length(); at += 6 {
			q := pair[0].At(at)
			if !near.Contains(q) {
				continue
			}
			if pair[1].Contains(q) {
				return 0
			}
			_, e, _ := pair[1].Nearest(q)
			d = min(d, e)
		}
	}
	return d
}

// checkPages: the pages fit the paper, every point of every piece is on one of
// them, and each bears a line of a piece or lies inside one.
func checkPages(l sheets.Layout, fail failer) {
	names := make(map[string]bool)
	for _, page := range l.Pages {
		if math.Abs(page.Window.Width()-(l.PageWidth-2*l.Margin)) > 1e-6 ||
			math.Abs(page.Window.Height()-(l.PageHeight-2*l.Margin)) > 1e-6 {
			fail("page %s: window %v on a page of %g × %g", page.Name, page.Window, l.PageWidth, l.PageHeight)
		}
		if page.Cover {
			continue
		}
		if names[page.Name] {
			fail("two pages %q", page.Name)
		}
		names[page.Name] = true
		if !inked(l, page.Window) {
			fail("page %s bears nothing of any piece", page.Name)
		}
	}
	if a, b := math.Min(l.PageWidth, l.PageHeight), math.Max(l.PageWidth, l.PageHeight); l.Paper.Height > 0 &&
		(a != l.Paper.Width || b != l.Paper.Height) {
		fail("a page is %g × %g mm", l.PageWidth, l.PageHeight)
	}
	for _, piece := range l.Pieces {
		for _, q := range piece.CutLine.Flatten(2) {
			if !slices.ContainsFunc(l.Pages, func(p sheets.Page) bool { return !p.Cover && p.Window.Contains(q) }) {
				fail("%s: %v is on no page", piece.Name, q)
				break
			}
		}
	}
}

func inked(l sheets.Layout, w geom.Box) bool {
	for _, piece := range l.Pieces {
		for _, s := range piece.CutLine {
			if len(s.ClipToBox(w)) > 0 {
				return true
			}
		}
		if piece.CutLine.Contains(w.Centre()) {
			return true
		}
	}
	return false
}

// checkLegend: the test squares are true and everything the legend says stands
// on the first page, clear of the pieces.
func checkLegend(l sheets.Layout, fail failer) {
	first := l.Pages[0]
	for i, side := range []float64{50, 50.8} {
		if s := l.Legend.Squares[i]; math.Abs(s.Width()-side) > 1e-9 || math.Abs(s.Height()-side) > 1e-9 {
			fail("test square of %g × %g mm", s.Width(), s.Height())
		}
	}
	inside := func(what string, b geom.Box) {
		if !first.Window.Grow(1e-6).Holds(b) || !l.Legend.Box.Grow(1e-6).Holds(b) {
			fail("%s at %v, legend %v, page %v", what, b, l.Legend.Box, first.Window)
		}
	}
	text := ""
	for _, label := range l.Legend.Texts {
		c := label.Corners()
		inside("lettering "+label.Lines[0], geom.BoxOf(c[:]...))
		text += strings.Join(label.Lines, " ") + "\n"
	}
	for _, want := range []string{"50 mm", "2 in", "Print at 100 %", "no scaling", "Sew a toile first"} {
		if !strings.Contains(text, want) {
			fail("the legend does not say %q", want)
		}
	}
	tiles := 0
	for _, page := range l.Pages {
		if !page.Cover {
			tiles++
		}
	}
	if tiles > 1 && (len(l.Legend.MapPages) != tiles || len(l.Legend.MapLines) != len(l.Pieces)) {
		fail("a map of %d pages and %d pieces for %d and %d", len(l.Legend.MapPages), len(l.Legend.MapLines), tiles,
			len(l.Pieces))
	}
	for _, b := range l.Legend.MapPages {
		inside("a page of the map", b)
	}
	if first.Cover {
		return
	}
	for _, piece := range l.Pieces {
		for _, s := range piece.CutLine {
			if len(s.ClipToBox(l.Legend.Box)) > 0 {
				fail("%s runs through the legend", piece.Name)
				break
			}
		}
	}
}

// checkJoins: neighbours bear the same numbers at the same places, the two
// halves making up one mark.
func checkJoins(l sheets.Layout, overlap float64, fail failer) {
	type half struct {
		page sheets.Page
		join sheets.Join
	}
	halves := make(map[int][]half)
	for _, page := range l.Pages {
		for _, j := range page.Joins {
			halves[j.Number] = append(halves[j.Number], half{page, j})
			if !page.Window.Grow(1e-6).Holds(j.Shape.Bounds()) {
				fail("join %d leaves page %s", j.Number, page.Name)
			}
			if j.Label.Lines[0] == "" {
				fail("join without a number")
			}
		}
	}
	neighbours := 0
	for i, a := range l.Pages {
		for _, b := range l.Pages[i+1:] {
			if a.Cover || b.Cover {
				continue
			}
			d := b.Window.Min.Sub(a.Window.Min)
			step := geom.Pt(a.Window.Width()-overlap, a.Window.Height()-overlap)
			if d.Near(geom.Pt(step.X, 0), 1e-6) || d.Near(geom.Pt(0, step.Y), 1e-6) {
				neighbours++
			}
		}
	}
	if len(halves) != neighbours {
		fail("%d joins between %d pairs of neighbours", len(halves), neighbours)
	}
	for n, h := range halves {
		if len(h) != 2 {
			fail("join %d is on %d pages", n, len(h))
			continue
		}
		a, b := h[0].join.Shape.Bounds(), h[1].join.Shape.Bounds()
		whole := a.Union(b)
		if math.Abs(whole.Width()-8) > 1e-6 || math.Abs(whole.Height()-8) > 1e-6 {
			fail("join %d: the halves make up %v", n, whole)
		}
		if overlap == 0 && math.Abs(h[0].join.Shape.Area()+h[1].join.Shape.Area()-32) > 1e-6 {
			fail("join %d: the halves do not meet", n)
		}
	}
}

// checkLabels: no label but an allowance's width is lost or changed but in place, each lies in its own
// piece, and every spot of it is on a page.
func checkLabels(p finish.Pattern, l sheets.Layout, fail failer) {
	for i, piece := range l.Pieces {
		// Of the widths of allowances those that a page's edge would cut are left out.
		var all []finish.Text
		for _, was := range p.Pieces[i].Texts {
			c := was.Corners()
			width := was.Fixed && !p.Pieces[i].Outline().Contains(geom.BoxOf(c[:]...).Centre())
			if n := len(all); !width || n < len(piece.Texts) && piece.Texts[n].Angle == was.Angle &&
				reflect.DeepEqual(piece.Texts[n].Lines, was.Lines) {
				all = append(all, was)
			}
		}
		if len(piece.Texts) != len(all) {
			fail("%s has %d labels, had %d", piece.Name, len(piece.Texts), len(all))
			continue
		}
		for j, label := range piece.Texts {
			was := all[j]
			if label.Size != was.Size || label.Angle != was.Angle || !reflect.DeepEqual(label.Lines, was.Lines) {
				fail("%s: label %v became %v", piece.Name, was, label)
			}
			for _, c := range label.Corners() {
				if !piece.CutLine.Contains(c) {
					fail("%s: label %q leaves its piece at %v", piece.Name, label.Lines, c)
				}
			}
			for _, line := range piece.Lines {
				if label.Lines[0] == strings.ToUpper(line.Name) {
					c := label.Corners()
					if _, d, _ := line.Path.Nearest(geom.BoxOf(c[:]...).Centre()); d > label.Height() {
						fail("%s: the name of the %s line is %.1f mm from it", piece.Name, line.Name, d)
					}
				}
			}
			if !shown(l, label) {
				fail("%s: label %q is not wholly on any pages", piece.Name, label.Lines)
			}
		}
	}
}

// shown reports whether every spot of a label is in some window.
func shown(l sheets.Layout, label finish.Text) bool {
	c := label.Corners()
	for x := 0.0; x <= 1; x += 0.125 {
		for y := 0.0; y <= 1; y += 0.125 {
			q := c[0].Add(c[1].Sub(c[0]).Mul(x)).Add(c[3].Sub(c[0]).Mul(y))
			if !slices.ContainsFunc(l.Pages, func(p sheets.Page) bool { return !p.Cover && p.Window.Contains(q) }) {
				return false
			}
		}
	}
	return true
}

// The search never needs more pages than the pieces in a row, and on small paper
// at least 5 % fewer. The log has the numbers.
func TestPlanSavesPages(t *testing.T) {
	t.Parallel()
	patterns := drafts(t)
	names := slices.Sorted(maps.Keys(patterns))
	for i, name := range allPapers() {
		row, found := 0, 0
		for _, what := range sampled(names, i) {
			p := patterns[what]
			o := sheets.On(paper(t, name))
			n, err := sheets.PageCount(t.Context(), p, o)
			if err != nil {
				t.Fatal(err)
			}
			o.Placing = sheets.InRow
			m, err := sheets.PageCount(t.Context(), p, o)
			if err != nil {
				t.Fatal(err)
			}
			if n > m {
				t.Errorf("%s, %s: %d pages, %d in a row", name, what, n, m)
			}
			row, found = row+m, found+n
		}
		t.Logf("%s: %d patterns: %d pages in a row, %d found", name, len(patterns), row, found)
		if (name == "a4" || name == "letter" || name == "a3") && float64(found) > 0.96*float64(row) {
			t.Errorf("%s: %d pages for %d in a row: under 4 %% saved", name, found, row)
		}
	}
}

func TestPlanIsDeterministic(t *testing.T) {
	t.Parallel()
	p := torso(t)
	for _, name := range allPapers() {
		o := sheets.On(paper(t, name))
		if a, b := plan(t, p, o), plan(t, p, o); !reflect.DeepEqual(a, b) {
			t.Errorf("%s: laid out twice, it differs", name)
		}
	}
}

// Plan must not write into the pattern that it is given.
func TestPlanLeavesThePatternAlone(t *testing.T) {
	t.Parallel()
	p, untouched := torso(t), torso(t)
	plan(t, p, sheets.On(paper(t, "a4")))
	if !reflect.DeepEqual(p, untouched) {
		t.Error("the pattern was changed")
	}
}

func TestOrientation(t *testing.T) {
	t.Parallel()
	p := torso(t)
	o := sheets.On(paper(t, "a4"))
	count := func() int { return len(plan(t, p, o).Pages) }
	auto := count()
	o.Orientation = sheets.Portrait
	if l := plan(t, p, o); l.PageWidth > l.PageHeight {
		t.Errorf("portrait is %g × %g", l.PageWidth, l.PageHeight)
	}
	upright := count()
	o.Orientation = sheets.Landscape
	if l := plan(t, p, o); l.PageWidth < l.PageHeight {
		t.Errorf("landscape is %g × %g", l.PageWidth, l.PageHeight)
	}
	// Looking at both, each gets less of the search.
	if level := count(); auto > min(upright, level)+1 {
		t.Errorf("%d pages by choice, %d portrait, %d landscape", auto, upright, level)
	}
}

// A piece as large as a tile takes exactly one page of paper, whatever the
// margin, and one a little larger two.
func TestExactTiles(t *testing.T) {
	t.Parallel()
	for _, margin := range []float64{0, 10, 25} {
		o := sheets.On(paper(t, "a3"))
		o.Margin, o.Orientation = margin, sheets.Portrait
		inside := geom.Pt(297-2*margin-2.1, 420-2*margin-2.1)
		for _, c := range []struct {
			size geom.Point
			want int
		}{
			{inside, 1},
			{inside.Add(geom.Pt(2, 0)), 2},
			{inside.Add(geom.Pt(2, 2)), 4},
		} {
			l := plan(t, plain(c.size), o)
			tiles := len(l.Pages)
			if l.Pages[0].Cover {
				tiles--
			}
			if tiles != c.want {
				t.Errorf("margin %g, a box of %v: %d tiles, want %d", margin, c.size, tiles, c.want)
			}
		}
	}
}

func TestRoll(t *testing.T) {
	t.Parallel()
	for name, most := range map[string]float64{"roll-610": 1500, "roll-762": 1400, "roll-914": 1300, "roll-1067": 800} {
		p, o := torso(t), sheets.On(paper(t, name))
		l := plan(t, p, o)
		if l.PageWidth != o.Paper.Width || len(l.Pages) != 1 || l.Pages[0].Name != "" {
			t.Errorf("%s: %d pages %g mm wide", name, len(l.Pages), l.PageWidth)
		}
		o.Placing = sheets.InRow
		if row := plan(t, p, o); l.PageHeight > row.PageHeight || l.PageHeight > most {
			t.Errorf("%s: %g mm long, in rows %g, want at most %g", name, l.PageHeight, row.PageHeight, most)
		}
	}
	_, err := sheets.Plan(t.Context(), plain(geom.Pt(500, 300), geom.Pt(800, 300), geom.Pt(900, 300)),
		sheets.On(paper(t, "roll-610")))
	list := faults(t, err)
	if len(list) != 2 || !strings.Contains(list[0].Accepted, "piece 2 of 3, box2, needs a roll at least 822 mm wide") ||
		!strings.Contains(list[1].Accepted, "box3") {
		t.Errorf("got %v", err)
	}
}

// A page of a PDF is no longer than 5080 mm: a longer sheet becomes pages that
// join like any others.
func TestLongerThanAPage(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"full", "roll-914"} {
		l := plan(t, plain(geom.Pt(400, 6000), geom.Pt(300, 500)), sheets.On(paper(t, name)))
		if len(l.Pages) != 3 || !l.Pages[0].Cover || l.Pages[2].Name != "A2" || len(l.Pages[2].Joins) != 1 {
			t.Errorf("%s: %d pages: %+v", name, len(l.Pages), l.Pages)
		}
		if l.PageHeight > sheets.MaxSide {
			t.Errorf("%s: a page of %g mm", name, l.PageHeight)
		}
	}
}

func TestFullSheetHoldsNoMoreThanThePattern(t *testing.T) {
	t.Parallel()
	p := torso(t)
	l := plan(t, p, sheets.On(sheets.Full))
	bounds := geom.EmptyBox()
	for _, piece := range l.Pieces {
		bounds = bounds.Union(piece.Bounds())
	}
	bounds = bounds.Union(l.Legend.Box.Grow(3))
	if w := l.Pages[0].Window; len(l.Pages) != 1 || !w.Holds(bounds) || w.Max.Dist(bounds.Max) > 2 {
		t.Errorf("window %v for %v", w, bounds)
	}
}

func TestPlanRefusesEmptyPatterns(t *testing.T) {
	t.Parallel()
	for _, p := range []finish.Pattern{{}, {Pieces: make([]finish.Piece, 1)}} {
		if _, err := sheets.Plan(t.Context(), p, sheets.On(sheets.Full)); err == nil {
			t.Errorf("%d pieces without lines are laid out", len(p.Pieces))
		}
	}
}

func BenchmarkPlan(b *testing.B) {
	p := torso(b)
	for _, name := range []string{"a4", "letter", "a0", "roll-914", "full"} {
		o := sheets.On(paper(b, name))
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := sheets.Plan(b.Context(), p, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkPageCount(b *testing.B) {
	p := torso(b)
	o := sheets.On(paper(b, "a4"))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := sheets.PageCount(b.Context(), p, o); err != nil {
			b.Fatal(err)
		}
	}
}
