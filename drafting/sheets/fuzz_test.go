package sheets_test

import (
	"testing"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// Boxes of any size on any paper: an error, or a layout that holds them all.
func FuzzPlan(f *testing.F) {
	f.Add("a4", 10.0, 0.0, 300.0, 700.0, 250.0, 90.0)
	f.Add("letter", 40.0, 40.0, 1.0, 1.0, 0.1, 3000.0)
	f.Add("full", 0.0, 5.0, 5080.0, 5080.0, 1.0, 1.0)
	f.Add("roll-914", 20.0, 0.0, 800.0, 5500.0, 874.0, 100.0)
	f.Fuzz(func(t *testing.T, name string, margin, overlap, w1, h1, w2, h2 float64) {
		p, err := sheets.ParsePaper(name)
		if err != nil {
			return
		}
		for _, side := range []float64{w1, h1, w2, h2} {
			if !(side >= 0.1 && side <= 8000) {
				return // far outside anything that is drafted
			}
		}
		boxes := plain(geom.Pt(w1, h1), geom.Pt(w2, h2))
		for i := range boxes.Pieces {
			boxes.Pieces[i].Texts = []finish.Text{{At: geom.Pt(1, 1), Size: 4, Lines: []string{name}}}
		}
		o := sheets.Options{Paper: p, Margin: margin, Overlap: overlap}
		l, err := sheets.Plan(t.Context(), boxes, o)
		if err != nil {
			_ = faults(t, err)
			return
		}
		fail := func(format string, args ...any) { t.Errorf(format, args...) }
		checkPieces(boxes, l, fail)
		checkPages(l, fail)
		checkLegend(l, fail)
		checkJoins(l, overlap, fail)
	})
}
