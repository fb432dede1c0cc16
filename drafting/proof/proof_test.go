package proof_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// Whoever is in the panel has a body: nothing in it is out of limits or
// contradicts itself, and it has all that the blocks ask for.
func TestPanelIsOfBodies(t *testing.T) {
	t.Parallel()
	for _, spec := range block.Specs() {
		panel := proof.Panel(spec.Name, spec.Requires...)
		if len(panel) < 80 {
			t.Errorf("%s: a panel of %d", spec.Name, len(panel))
		}
		names := map[string]bool{}
		for _, b := range panel {
			if names[b.Name] {
				t.Errorf("two bodies are %s", b.Name)
			}
			names[b.Name] = true
			if _, faults := body.New(b.Given, spec.Requires); faults != nil {
				t.Errorf("%s, %s: %v", spec.Name, b.Name, faults)
			}
		}
	}
	// Its smallest and largest are those of the table (EN 13402-3).
	women := proof.Panel("torso")
	if first, last := women[0].Given[body.BustGirth], women[47].Given[body.BustGirth]; first != 760 || last != 1520 {
		t.Errorf("busts from %g to %g mm, want 760 to 1520", first, last)
	}
}

// coat is a style that fails at one end of a choice, and refuses some bodies.
const coat = `
style(slug = "coat", title = "Coat", block = "torso", draft = {"sleeve": "none"}, allowances = {"default": 10},
    choices = [choice("low", "Neck.", length = (0, 400), default = 10),
        choice("kind", "Kind.", options = ["short", "long"])])
def make(body, ease, choose, block):
    require(choose.kind == "short" or body.bust_girth < 1000,
        "a long coat is not cut over a bust of %d mm" % body.bust_girth, about = ["kind"])
    front = block.front
    if choose.low:
        front = drop(front, "neckline" if choose.low < 400 else "pocket", centre_front = choose.low)
    return garment([block.back, front], [seam("back/side", "front/side"), seam("back/shoulder", "front/shoulder",
        ease = length(block.back, "shoulder") - length(front, "shoulder"), how = "eased")], ["Sew."])
`

// coats is a plan for it, with few bodies.
func coats(t *testing.T) proof.Plan {
	t.Helper()
	s, err := style.Compile([]byte(coat))
	if err != nil {
		t.Fatal(err)
	}
	spec, _ := drafting.Find("coat", s)
	panel := proof.Panel("torso")
	return proof.Plan{Bodies: []proof.Body{panel[0], panel[13], panel[24],
		{Name: "line 9", Faults: fault.List{{Code: fault.Type, Field: "/measurements/bust_girth", Value: `"?"`,
			Accepted: "a number"}}}},
		Variants: slices.DeleteFunc(proof.Every(spec, proof.Base("coat", s)), isMix)}
}

func isMix(v proof.Variant) bool { return strings.Contains(v.Name, " mix ") }

func TestEveryVariant(t *testing.T) {
	t.Parallel()
	var names []string
	for _, v := range coats(t).Variants {
		if v.Order.Fit == "regular" {
			names = append(names, v.Name)
		}
	}
	want := []string{"regular", "regular low=0 cm", "regular low=40 cm", "regular kind=long", "regular all at their first",
		"regular all at their last"}
	if !reflect.DeepEqual(names, want) {
		t.Errorf("variants %q, want %q", names, want)
	}
}

// Styles are proved in mixes of choices too, each of them in every proof alike.
func TestMixes(t *testing.T) {
	t.Parallel()
	spec, _ := drafting.Find("shift-dress")
	mixes := func() []proof.Variant {
		every := proof.Every(spec, proof.Base("shift-dress"))
		return slices.DeleteFunc(every, func(v proof.Variant) bool { return !isMix(v) })
	}
	all := mixes()
	if len(all) < 10 || !reflect.DeepEqual(all, mixes()) {
		t.Fatalf("%d mixes, or others the second time", len(all))
	}
	fits, chosen, together := map[string]bool{}, map[string]bool{}, 0
	for _, v := range all {
		fits[v.Order.Fit] = true
		together += len(v.Order.Choices)
		for name := range v.Order.Choices {
			chosen[name] = true
		}
	}
	if len(fits) != len(spec.Fits) || len(chosen) != len(spec.Choices) || together < 3*len(all) {
		t.Errorf("fits %v, choices %v, %d together", fits, chosen, together)
	}
}

// Measurements that are usually estimated are given to some bodies of the panel,
// and differ from their estimates.
func TestPanelVariesEstimates(t *testing.T) {
	t.Parallel()
	given := map[body.Name]int{}
	off := 0
	for _, b := range proof.Panel("torso") {
		for _, n := range []body.Name{body.FrontWaistLength, body.SideNeckToBust, body.BustPointWidth, body.ChestWidth,
			body.ScyeDepth, body.ShoulderSlope} {
			v, ok := b.Given[n]
			if !ok {
				continue
			}
			given[n]++
			without := maps.Clone(b.Given)
			delete(without, n)
			person, faults := body.New(without, nil)
			if len(faults) == 0 && math.Abs(person.Value(n)-v) > 1 {
				off++
			}
		}
	}
	if len(given) != 6 || given[body.FrontWaistLength] < 8 || off < 40 {
		t.Errorf("given %v, %d of them off their estimates", given, off)
	}
}

func TestRun(t *testing.T) {
	t.Parallel()
	p := coats(t)
	tally, next, err := p.Run(t.Context(), 0, proof.Pace{Workers: 2})
	if err != nil || next != p.Len() {
		t.Fatalf("came to %d of %d, %v", next, p.Len(), err)
	}
	r := p.Report(tally)
	// 3 fits: neck too low fails on 3 bodies, and on the one under 1000 mm where it is long too; a long coat is refused to
	// 1; one body can't be read.
	if r.Failed != 3*(3+2) || r.Drafted+r.Refused+r.Failed != p.Len() || r.Refused != 3*(6+2) {
		t.Errorf("%+v", r.Counts)
	}
	if len(r.Failures) == 0 || !strings.Contains(r.Failures[0].Reason, "line 10") ||
		r.Failures[0].Variant != "regular low=40 cm" || r.Failures[0].Body != p.Bodies[0].Name {
		t.Errorf("failures: %+v", r.Failures)
	}
	if len(r.Refusals) != 2 || r.Refusals[0].Body != "line 9" ||
		!strings.Contains(r.Refusals[1].Reason, "over a bust of 1100 mm") {
		t.Errorf("refusals: %+v", r.Refusals)
	}
	if r.Cloth == nil || r.Cloth.Min.Body != p.Bodies[0].Name || r.Cloth.Max.Body != p.Bodies[2].Name || r.Sheets == nil ||
		r.Sheets.Min.Value < 4 {
		t.Errorf("cloth %+v, sheets %+v", r.Cloth, r.Sheets)
	}
	if len(r.Undrafted()) != 3*1 { // low=40 cm
		t.Logf("undrafted: %q", r.Undrafted())
	}
	// The extreme can be drafted again.
	pattern, err := p.Draft(t.Context(), r.Cloth.Max.At)
	if err != nil || proof.Cloth(pattern) != r.Cloth.Max.Value {
		t.Errorf("the largest again: %g m², %v", proof.Cloth(pattern), err)
	}
}

// A proof that is stopped, stored and gone on with comes to the same.
func TestRunInParts(t *testing.T) {
	t.Parallel()
	p := coats(t)
	whole, _, err := p.Run(t.Context(), 0, proof.Pace{})
	if err != nil {
		t.Fatal(err)
	}
	counted := proof.NewTally(len(p.Variants))
	for from := 0; from < p.Len(); {
		begun := 0
		part, next, err := p.Run(t.Context(), from, proof.Pace{Workers: 3, More: func() bool { begun++; return begun <= 7 }})
		if err != nil || next != min(from+7, p.Len()) {
			t.Fatalf("from %d to %d, %v", from, next, err)
		}
		counted.Merge(part)
		stored, err := json.Marshal(counted)
		if err != nil {
			t.Fatal(err)
		}
		counted = &proof.Tally{}
		if err := json.Unmarshal(stored, counted); err != nil {
			t.Fatal(err)
		}
		from = next
	}
	// The sum of areas depends on the order in its last bits.
	whole.Cloth.Sum, counted.Cloth.Sum = 0, 0
	if !reflect.DeepEqual(whole, counted) {
		t.Errorf("whole %+v\nin parts %+v", whole, counted)
	}
}

// Nothing that a report says of known people is one of their measurements.
func TestPrivateReportsHaveNoNumbers(t *testing.T) {
	t.Parallel()
	p := coats(t)
	p.Private = true
	tally, _, err := p.Run(t.Context(), 0, proof.Pace{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	r := p.Report(tally)
	for _, reason := range append(r.Refusals, r.Failures...) {
		text := strings.Replace(reason.Reason, "line 10", "", 1)
		if strings.ContainsAny(text, "0123456789") {
			t.Errorf("says %q", reason.Reason)
		}
	}
}

// A script that gives each body its own reason does not fill the report.
func TestReasonsAreBounded(t *testing.T) {
	t.Parallel()
	source := strings.Replace(coat, `"a long coat is not cut over a bust of %d mm" % body.bust_girth`,
		`"no " + ["b", "c", "d", "f", "g", "h", "k", "l", "m", "n", "p"]`+
			`[int(body.bust_girth) % 10] * (int(body.bust_girth) // 10 % 10)`+
			` + "x" * 350 + "z" * (int(body.bust_girth) // 100)`, 1)
	s, err := style.Compile([]byte(strings.Replace(source, `choose.kind == "short" or body.bust_girth < 1000`, "False",
		1)))
	if err != nil {
		t.Fatal(err)
	}
	o := proof.Base("coat", s)
	p := proof.Plan{Variants: []proof.Variant{{Name: "regular", Order: o}}}
	b := proof.Panel("torso")[13]
	for i := range 220 {
		given := maps.Clone(b.Given)
		given[body.BustGirth] = 860 + float64(i)*20/11
		p.Bodies = append(p.Bodies, proof.Body{Name: fmt.Sprint(i), Given: given})
	}
	tally, _, err := p.Run(t.Context(), 0, proof.Pace{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	if len(tally.Refusals) > 201 || tally.Refused != 220 {
		t.Errorf("%d reasons for %d refusals; failed: %v", len(tally.Refusals), tally.Refused, tally.Failures)
	}
	for _, r := range tally.Refusals {
		if len(r.Reason) > 600 {
			t.Fatalf("a reason of %d bytes", len(r.Reason))
		}
	}
}

func TestRunStops(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := coats(t).Run(ctx, 0, proof.Pace{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error = %v, want that it was cancelled", err)
	}
}

func TestReadCSV(t *testing.T) {
	t.Parallel()
	rows, ignored, err := proof.ReadCSV(strings.NewReader("\ufeffacross,shoulder_slope, bust_girth "+
		",x\n36.5,20,,\n30.48,21,88,\"\n\"\n1,2,NaN,3\n"), map[string]body.Name{"across": body.BackWidth})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(rows[0]), fmt.Sprint(proof.Body{Name: "line 2",
		Given: body.Measures{body.BackWidth: 365, body.ShoulderSlope: 20}}); got != want {
		t.Errorf("first row %v, want %v", got, want)
	}
	if got := rows[1].Given; got[body.BackWidth] != 304.8 || got[body.BustGirth] != 880 {
		t.Errorf("second row %v, want mm", got)
	}
	if rows[2].Name != "line 5" || !reflect.DeepEqual(ignored, []string{"x"}) {
		t.Errorf("third row is %s, ignored %q", rows[2].Name, ignored)
	}
}
