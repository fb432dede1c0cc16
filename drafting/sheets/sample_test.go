package sheets_test

import (
	"errors"
	"fmt"
	"os"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/pattern"
	"tapeline/drafting/sheets"
)

// sampled returns the values with index i in a third of the cases, or all of them
// with TAPELINE_WHOLE=1.
func sampled[T any](values []T, i int) []T {
	if os.Getenv("TAPELINE_WHOLE") != "" {
		return values
	}
	var some []T
	for j, v := range values {
		if (i+j)%3 == 0 {
			some = append(some, v)
		}
	}
	return some
}

// torso is the project's sample order, drafted.
func torso(t testing.TB) finish.Pattern { return draft(t, nil) }

// draft drafts the sample order after a change.
func draft(t testing.TB, change func(*drafting.Order)) finish.Pattern {
	t.Helper()
	o := ordertest.Order(t, "torso")
	if change != nil {
		change(&o)
	}
	p, err := drafting.Draft(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	return p.Lettered()
}

// drafts are torsos of different sizes and lengths, by what they are.
func drafts(t testing.TB) map[string]finish.Pattern {
	all := make(map[string]finish.Pattern)
	for _, size := range []float64{0.9, 1, 1.3} {
		for _, length := range []string{"waist", "hip", "knee"} {
			for _, sleeve := range []string{"full", "none"} {
				name := fmt.Sprintf("%s length, sleeve %s, %.2f of the sample's girths", length, sleeve, size)
				all[name] = draft(t, func(o *drafting.Order) {
					o.Choices["length"] = block.Value{Word: length}
					o.Choices["sleeve"] = block.Value{Word: sleeve}
					for _, girth := range girths {
						o.Measurements[girth] *= size
					}
				})
			}
		}
	}
	return all
}

// plain is a pattern of upright boxes, width by height mm, without allowances.
func plain(sizes ...geom.Point) finish.Pattern {
	p := finish.Pattern{Label: finish.Label{Reference: "BOX", Revision: 1}}
	for i, s := range sizes {
		outline := geom.Polyline(geom.Pt(0, 0), geom.Pt(s.X, 0), s, geom.Pt(0, s.Y), geom.Pt(0, 0))
		p.Pieces = append(p.Pieces, finish.Piece{
			Piece: pattern.Piece{
				Name:  fmt.Sprintf("box%d", i+1),
				Title: "Box",
				Cut:   pattern.Cut{Count: 1},
				Edges: []pattern.Edge{{Name: "all", Role: pattern.RoleSeam, Path: outline}},
				Grain: geom.Line(geom.Pt(s.X/2, s.Y*0.2), geom.Pt(s.X/2, s.Y*0.8)),
			},
			Allowances: []float64{0},
			CutLine:    outline,
			Texts:      []finish.Text{{At: geom.Pt(s.X*0.6, s.Y*0.4), Size: 4, Lines: []string{"Box", "Cut 1"}}},
		})
	}
	return p
}

// paper reads a paper's name.
func paper(t testing.TB, name string) sheets.Paper {
	t.Helper()
	p, err := sheets.ParsePaper(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// plan lays a pattern out, or fails the test.
func plan(t testing.TB, p finish.Pattern, o sheets.Options) sheets.Layout {
	t.Helper()
	l, err := sheets.Plan(t.Context(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// faults are the faults of an error.
func faults(t testing.TB, err error) fault.List {
	t.Helper()
	var list fault.List
	if errors.As(err, &list) {
		return list
	}
	var one fault.Fault
	if errors.As(err, &one) {
		return fault.List{one}
	}
	t.Fatalf("got %v, want faults", err)
	return nil
}

// allPapers are the names of every paper, and two rolls.
func allPapers() []string {
	names := []string{"roll-914", "roll-36in", "full"}
	for _, p := range sheets.Papers() {
		names = append(names, p.Name)
	}
	return names
}

// girths are what the sizes of drafts change together.
var girths = []body.Name{body.BustGirth, body.UnderBustGirth, body.WaistGirth, body.HipGirth, body.UpperArmGirth}
