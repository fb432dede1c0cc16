package proof_test

import (
	"encoding/json"
	"testing"

	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/proof"
)

// worn is a plan of a sleeveless dress on some women of the panel.
func worn(n int) proof.Worn {
	women, _ := proof.Panels()
	o := proof.Base("shift-dress")
	o.Fit = "regular"
	return proof.Worn{Plan: proof.Plan{Bodies: proof.Sample(women, n),
		Variants: []proof.Variant{{Name: "regular", Order: o}}}}
}

// Small, middling and large women have the dress tried on; on each the cloth comes to
// rest. A proof that is stopped goes on to the same end.
func TestWorn(t *testing.T) {
	t.Parallel()
	plan := worn(4)
	whole, next, err := plan.Run(t.Context(), 0, proof.Pace{Workers: 2})
	if err != nil || next != 4 {
		t.Fatalf("%d tried on, %v", next, err)
	}
	if whole.Tried() != 4 || whole.Unsettled > 0 || whole.Failed+whole.Refused > 0 {
		t.Errorf("counts %+v: %+v, %+v", whole.WornCounts, whole.Reasons, whole.Residual)
	}
	stopped, next, err := plan.Run(t.Context(), 0, proof.Pace{More: moreThan(1)})
	if err != nil || next != 1 {
		t.Fatalf("stopped at %d, %v", next, err)
	}
	stored, err := json.Marshal(stopped)
	if err != nil {
		t.Fatal(err)
	}
	again := proof.NewWornTally(1)
	if err := json.Unmarshal(stored, again); err != nil {
		t.Fatal(err)
	}
	rest, _, err := plan.Run(t.Context(), next, proof.Pace{})
	if err != nil {
		t.Fatal(err)
	}
	rest.Merge(again)
	if got, want := encoded(t, plan.Report(rest)), encoded(t, plan.Report(whole)); got != want {
		t.Errorf("in two parts:\n%s\nat once:\n%s", got, want)
	}
}

// A toile that hangs lower behind than in front is counted as one that fits with its cures, and
// a slip whose armholes stand off as one that does not.
func TestWornCured(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	for _, tt := range []struct {
		style string
		row   int
		cured int
	}{{"torso-toile", 605, 1}, {"bias-slip", 526, 0}} {
		o := proof.Base(tt.style)
		o.Fit = "regular"
		plan := proof.Worn{Cures: true, Plan: proof.Plan{Bodies: []proof.Body{{Name: "one", Given: people[tt.row]}},
			Variants: []proof.Variant{{Name: "regular", Order: o}}}}
		tally, _, err := plan.Run(t.Context(), 0, proof.Pace{})
		if err != nil {
			t.Fatal(err)
		}
		r := plan.Report(tally)
		if r.Found != 1 || r.Cured != tt.cured || (len(r.Uncured) == 0) != (tt.cured == 1) || len(r.Findings) == 0 {
			t.Errorf("%s: %+v", tt.style, r)
		}
	}
}

// moreThan permits n drafts.
func moreThan(n int) func() bool {
	return func() bool { n--; return n >= 0 }
}

func encoded(t *testing.T, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// What cannot be tried on is counted with the reason.
func TestWornRefused(t *testing.T) {
	t.Parallel()
	plan := worn(2)
	plan.Cloth = "no such cloth"
	tally, _, err := plan.Run(t.Context(), 0, proof.Pace{})
	if err != nil || tally.Refused != 2 || tally.Tried() != 0 {
		t.Fatalf("counts %+v, %v", tally, err)
	}
	if r := plan.Report(tally); len(r.Reasons) != 1 || r.Reasons[0].Count != 2 || r.Reasons[0].Variant != "regular" {
		t.Errorf("report: %+v", r)
	}
}

// BenchmarkWorn tries a dress on in large triangles.
func BenchmarkWorn(b *testing.B) {
	plan := worn(1)
	for b.Loop() {
		if _, _, err := plan.Run(b.Context(), 0, proof.Pace{}); err != nil {
			b.Fatal(err)
		}
	}
}
