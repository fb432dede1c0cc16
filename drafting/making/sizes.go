package making

import (
	"fmt"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/sizes"
)

// sizesInTable is the most sizes side by side in a table.
const sizesInTable = 8

// NewSizeTable lays out the tables of a size run on pages of a size, upright: the
// finished measurements, what each size adds, and the bodies that the sizes are for.
func NewSizeTable(run sizes.Run, unit body.Unit, size geom.Point) Sheet {
	s := newSetter(size)
	s.paragraph(titleSize, run.Title)
	s.paragraph(headSize, run.Span())
	s.y += gap
	worn := map[string]string{}
	for _, sized := range run.Sizes {
		for check, title := range wornTitles(sized.Pattern) {
			worn[check] = title
		}
	}
	ofBlock := false
	var finished, adds []sizeRow
	for _, m := range run.Finished() {
		title, block := finishedTitle(m.Name, worn)
		ofBlock = ofBlock || block
		finished = append(finished, sizeRow{title, m.Values, unit.Tape})
		adds = append(adds, sizeRow{title, m.Steps(), func(mm float64) string { return signedLength(mm, unit) }})
	}
	note := fmt.Sprintf("Lengths in %s.", unitName[unit])
	if ofBlock {
		note += blockNote
	}
	s.sizeTables("Finished measurements", run.Names(), 0, finished, note)
	if len(run.Sizes) > 1 {
		s.sizeTables("What each size adds", run.Names(), 1, adds, "To the size before. Every size is drafted to its own "+
			"measurements, so the steps need not be even.")
	}
	var bodies []sizeRow
	for _, m := range run.Bodies() {
		info, _ := body.Lookup(body.Name(m.Name))
		show := unit.Tape
		if info.Unit == body.Degree {
			show = func(v float64) string { return fmt.Sprintf("%.1f°", v) }
		}
		bodies = append(bodies, sizeRow{measureTitle(m.Name), m.Values, show})
	}
	s.sizeTables("Bodies of the sizes", run.Names(), 0, bodies, "What the table of sizes does not give is estimated.")
	s.footers(run.Title+" · "+run.Span(), "size table")
	return Sheet{size, s.pages}
}

// A sizeRow is a measure of every size, by the number of the size.
type sizeRow struct {
	title  string
	values map[int]float64
	show   func(float64) string
}

// sizeTables sets rows for the sizes from the first on, in as many tables as they need.
func (s *setter) sizeTables(title string, names []string, first int, rows []sizeRow, note string) {
	for from := first; from < len(names); from += sizesInTable {
		to := min(from+sizesInTable, len(names))
		t := table{title: title, columns: []column{{name: "Measure", flexible: true}}, note: note}
		if to-from < len(names)-first {
			t.title = fmt.Sprintf("%s, %s to %s", title, names[from], names[to-1])
		}
		for _, n := range names[from:to] {
			t.columns = append(t.columns, column{name: n, number: true})
		}
		for _, r := range rows {
			cells, filled := []string{r.title}, false
			for i := from; i < to; i++ {
				text := ""
				if v, ok := r.values[i]; ok {
					text, filled = r.show(v), true
				}
				cells = append(cells, text)
			}
			if filled {
				t.row(cells...)
			}
		}
		s.table(&t)
	}
}
