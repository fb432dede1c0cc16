package sizes_test

import (
	"context"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/sizes"
	"tapeline/drafting/style"
)

func standard(t *testing.T, table, garment string) []sizes.Size {
	t.Helper()
	spec, ok := drafting.Find(garment)
	if !ok {
		t.Fatalf("no garment %s", garment)
	}
	all, ok := sizes.Standard(table, spec.Requires...)
	if !ok {
		t.Fatalf("no table %s", table)
	}
	return all
}

func draft(t *testing.T, garment string, table []sizes.Size) sizes.Run {
	t.Helper()
	run, err := sizes.Draft(t.Context(), proof.Base(garment), table)
	if err != nil {
		t.Fatalf("%s: %v", garment, err)
	}
	return run
}

// Every built-in garment is drafted to every size of the standard tables, and each size
// equals an order of its measurements.
func TestEveryGarmentInEverySize(t *testing.T) {
	t.Parallel()
	builtin, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range builtin {
		garment := s.Head.Slug
		table := standard(t, sizes.EN13402, garment)
		run := draft(t, garment, table)
		if len(run.Sizes) != 16 {
			t.Errorf("%s: %d sizes, want the 16 of the table", garment, len(run.Sizes))
		}
		o := proof.Base(garment)
		o.Reference, o.Measurements = table[4].Name, table[4].Given
		p, err := drafting.Draft(t.Context(), o)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(p.Pieces, run.Sizes[4].Pattern.Pieces) {
			t.Errorf("%s: size %s differs from an order of its measurements", garment, table[4].Name)
		}
		for _, n := range run.Nest() {
			for _, s := range n.Sizes {
				if s.Piece.Outline().Area() < n.Smallest().Outline().Area() {
					t.Errorf("%s: %s in size %s is smaller than the smallest", garment, n.Name, run.Sizes[s.Size].Name)
				}
			}
		}
	}
	draft(t, "button-shirt", standard(t, sizes.EN13402Men, "button-shirt"))
}

// What a size of 4 cm bust adds to the torso is what a handbook's chart adds (W. Aldrich,
// Metric Pattern Cutting for Women's Wear, from memory): bust, waist and hip 4 cm, back
// width 1, chest 1.2, neck 1, nape to waist 0.5, armscye depth 0.5. Its steps are rounded
// for the hand: 4 mm are allowed where the model of bodies predicts the measure.
func TestStepsAreThoseOfAHandbook(t *testing.T) {
	t.Parallel()
	table, faults := sizes.Only(standard(t, sizes.EN13402, "torso"), []string{"84", "88", "92", "96"})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	run := draft(t, "torso", table)
	want := map[string]struct{ step, within float64 }{"bust_girth": {40, 0.1}, "waist_girth": {40, 0.1},
		"hip_girth": {40, 0.1}, "back_width": {10, 4}, "chest_width": {12, 4}, "neck_base_girth": {10, 4},
		"nape_to_waist": {5, 4}, "scye_depth": {5, 4}, "shoulder_length": {2.5, 4}}
	found := 0
	for _, m := range run.Finished() {
		w, ok := want[m.Name]
		if !ok {
			continue
		}
		found++
		steps := m.Steps()
		if len(steps) != 3 {
			t.Errorf("%s: %d steps of four sizes", m.Name, len(steps))
		}
		for i, s := range steps {
			if math.Abs(s-w.step) > w.within {
				t.Errorf("%s: size %s adds %.1f mm, want %.1f within %.1f", m.Name, run.Sizes[i].Name, s, w.step, w.within)
			}
		}
	}
	if found != len(want) {
		t.Errorf("%d of %d measures are in the table", found, len(want))
	}
	for _, m := range run.Bodies() {
		if m.Name == "bust_girth" && m.Values[1] != 880 {
			t.Errorf("the body of size 88 has a bust of %g mm", m.Values[1])
		}
	}
}

func TestBadTables(t *testing.T) {
	t.Parallel()
	rows := "size,bust_girth,waist_girth,shade\nS,84,68,x\nS,?,72,x\n,92,76,x\n"
	table, _, err := sizes.ReadCSV(strings.NewReader(rows), nil)
	if err != nil {
		t.Fatal(err)
	}
	got := sizes.Check(table)
	want := fault.List{
		{Code: fault.Duplicate, Field: "/table/2/size", Value: `"S"`, Accepted: "a name that no other size has"},
		{Code: fault.Type, Field: "/table/2/measurements/bust_girth", Value: `"?"`, Accepted: "a number"},
		{Code: fault.Format, Field: "/table/3/size", Value: `""`, Accepted: "a name of 1 to 20 characters"},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("faults = %v, want %v", got, want)
	}
	for _, table := range [][]sizes.Size{nil, make([]sizes.Size, sizes.MaxSizes+1)} {
		if got := sizes.Check(table); len(got) == 0 || got[0].Field != "/table" {
			t.Errorf("%d sizes: faults = %v", len(table), got)
		}
	}
	// All sizes that cannot be drafted are named at once.
	all := standard(t, sizes.EN13402, "torso")[:3]
	all[0].Given, all[2].Given = body.Measures{body.BustGirth: 760}, body.Measures{body.BustGirth: 99_000}
	_, err = sizes.Draft(t.Context(), proof.Base("torso"), all)
	list, ok := errors.AsType[fault.List](err)
	fields := map[string]bool{}
	for _, f := range list {
		fields[strings.Split(f.Field, "/")[2]] = true
	}
	if !ok || len(fields) != 2 || !fields["76"] || !fields["84"] {
		t.Errorf("error = %v, want faults of sizes 76 and 84", err)
	}
	if _, faults := sizes.Only(all, []string{"80", "81"}); len(faults) != 1 || faults[0].Value != `"81"` {
		t.Errorf("faults = %v, want one of size 81", faults)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := sizes.Draft(ctx, proof.Base("torso"), all[1:2]); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: error = %v", err)
	}
}
