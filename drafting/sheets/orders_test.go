package sheets_test

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/nesting"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/sheets"
)

// On a roll, every order is no longer than packed bottom-left, with the legend as
// one more piece, or than its pieces side by side. Each order goes on one roll,
// with TAPELINE_WHOLE=1 on three:
//
//	TAPELINE_WHOLE=1 go test ./drafting/sheets -run RollOfEveryOrder -v
func TestRollOfEveryOrder(t *testing.T) {
	t.Parallel()
	patterns := ordertest.Patterns(t)
	for i, name := range slices.Sorted(maps.Keys(patterns)) {
		p := patterns[name]
		for _, roll := range sampled([]string{"roll-24in", "roll-36in", "roll-1600"}, i) {
			o := sheets.On(paper(t, roll))
			l, err := sheets.Plan(t.Context(), p, o)
			if err != nil {
				if !strings.Contains(err.Error(), "needs a roll at least") {
					t.Errorf("%s on %s: %v", name, roll, err)
				}
				continue
			}
			o.Placing = sheets.InRow
			row := plan(t, p, o)
			if len(l.Pages) > 1 || len(row.Pages) > 1 {
				continue // longer than a page of a PDF: the legend has one of its own
			}
			outlines := []nesting.Item{upright(l.Legend.Box)}
			for _, piece := range p.Pieces {
				var outline nesting.Polygon
				for _, q := range piece.CutLine.Flatten(0.5) {
					outline = append(outline, geom.Pt(q.Y, q.X))
				}
				outlines = append(outlines, nesting.Item{Outline: outline, Turns: []float64{0, math.Pi}})
			}
			on := nesting.Strip{Width: o.Paper.Width - 2*o.Margin - 2, Gap: sheets.Gap + 1.2}
			plain, err := nesting.Pack(t.Context(), outlines, on, nesting.Budget{})
			if err != nil {
				t.Fatalf("%s on %s: %v", name, roll, err)
			}
			length := plain.Length + 2*o.Margin + 2
			t.Logf("%-16s %-10s %5.0f mm, bottom-left %5.0f, side by side %5.0f", name, roll, l.PageHeight, length,
				row.PageHeight)
			// The packed outlines have fewer corners and differ by about a millimetre.
			if l.PageHeight > length+2 || l.PageHeight > row.PageHeight {
				t.Errorf("%s on %s: %.1f mm long, bottom-left %.1f, side by side %.1f", name, roll, l.PageHeight, length,
					row.PageHeight)
			}
		}
	}
}

// upright returns a box that may not turn.
func upright(b geom.Box) nesting.Item {
	w, h := b.Width(), b.Height()
	return nesting.Item{Outline: nesting.Polygon{{}, geom.Pt(h, 0), geom.Pt(h, w), geom.Pt(0, w)}, Turns: []float64{0}}
}

// On sheets, every order takes at most as many pages as its pieces side by side,
// and at least their area over that of a page:
//
//	go test ./drafting/sheets -run SheetsOfEveryOrder -v
func TestSheetsOfEveryOrder(t *testing.T) {
	t.Parallel()
	total, rows, bounds := 0, 0, 0
	for name, p := range ordertest.Patterns(t) {
		for _, sheet := range []string{"a4", "letter", "a3", "a0"} {
			o := sheets.On(paper(t, sheet))
			l := plan(t, p, o)
			o.Placing = sheets.InRow
			row, err := sheets.PageCount(t.Context(), p, o)
			if err != nil {
				t.Fatal(err)
			}
			area := 0.0
			for _, piece := range p.Pieces {
				area += math.Abs(piece.CutLine.Area())
			}
			bound := int(math.Ceil(area / ((l.PageWidth - 2*l.Margin) * (l.PageHeight - 2*l.Margin))))
			total, rows, bounds = total+len(l.Pages), rows+row, bounds+bound
			t.Logf("%-16s %-7s %3d pages, side by side %3d, by area at least %3d", name, sheet, len(l.Pages), row, bound)
			if len(l.Pages) > row || len(l.Pages) < bound {
				t.Errorf("%s on %s: %d pages, side by side %d, by area at least %d", name, sheet, len(l.Pages), row, bound)
			}
		}
	}
	t.Logf("together %d pages, side by side %d, by area at least %d", total, rows, bounds)
}
