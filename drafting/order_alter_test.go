package drafting

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/fault"
)

const alteredOrder = `{"reference": "A-1", "unit": "cm", "block": "torso", "measurements": {"bust_girth": 92, "waist_girth": 74,
 "hip_girth": 99, "neck_base_girth": 37, "shoulder_length": 12.4, "back_width": 35, "nape_to_waist": 41, "waist_to_hip": 20,
 "upper_arm_girth": 28.5, "wrist_girth": 16, "arm_length": 58}, "alterations": `

func TestAlterationsOfAnOrder(t *testing.T) {
	t.Parallel()
	o, err := ParseOrder([]byte(alteredOrder + `{"sway_back": 1.2, "left": {"shoulder_height": -0.8}}}`))
	if err != nil {
		t.Fatal(err)
	}
	p, err := Draft(o)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, q := range p.Pieces {
		names = append(names, q.Name)
	}
	if got, want := strings.Join(names, " "), "back front right_sleeve left_sleeve"; got != want {
		t.Errorf("pieces %s, want %s", got, want)
	}
}

func TestFaultyAlterations(t *testing.T) {
	t.Parallel()
	_, err := ParseOrder([]byte(alteredOrder + `{"sway_back": 9, "sway_bak": 1, "round_back": "1", "left": {"sway_back": 1, "upper_arm": -2}, "right": 3}}`))
	var faults fault.List
	if !errors.As(err, &faults) {
		t.Fatalf("error %v, want faults", err)
	}
	got := map[string]fault.Code{}
	for _, f := range faults {
		got[f.Field] = f.Code
	}
	want := map[string]fault.Code{
		"/alterations/sway_back": fault.Range, "/alterations/sway_bak": fault.Unknown, "/alterations/round_back": fault.Type,
		"/alterations/left/sway_back": fault.Unknown, "/alterations/left/upper_arm": fault.Range, "/alterations/right": fault.Type,
	}
	for field, code := range want {
		if got[field] != code {
			t.Errorf("%s: fault %q, want %q", field, got[field], code)
		}
	}
	if len(got) != len(want) {
		t.Errorf("faults %v, want %v", got, want)
	}
}

// An order may be for a style instead of a block.
func TestOrderOfAStyle(t *testing.T) {
	t.Parallel()
	order := strings.Replace(strings.TrimSuffix(alteredOrder, `, "alterations": `), `"block": "torso"`, `"style": "shift-dress", "choices": {"sleeve": "short", "flare": 4}`, 1) + "}"
	o, err := ParseOrder([]byte(order))
	if err != nil {
		t.Fatal(err)
	}
	p, err := Draft(o)
	if err != nil {
		t.Fatal(err)
	}
	if p.Instructions == nil || len(p.Instructions.Sewing) == 0 || len(p.Pieces) < 5 {
		t.Errorf("%d pieces, making %+v", len(p.Pieces), p.Instructions)
	}
	for change, field := range map[string]string{
		`"style": "shift-dress"`:                   "",
		`"style": "ball-gown"`:                     "/style",
		`"block": "torso", "style": "shift-dress"`: "/block",
	} {
		_, err := ParseOrder([]byte(strings.Replace(order, `"style": "shift-dress"`, change, 1)))
		var faults fault.List
		if field == "" && err == nil {
			continue
		}
		if !errors.As(err, &faults) || faults[0].Field != field {
			t.Errorf("%s: %v", change, err)
		}
	}
}

// Of what is kept for a customer a draft takes what its block knows, and says
// what it was altered by and what it left out.
func TestKeptAlterations(t *testing.T) {
	t.Parallel()
	kept, err := ParseAlterations([]byte(`{"unit": "inch", "alterations": {"sway_back": 0.5, "round_back": 0, "left": {"shoulder_height": -0.25}}}`))
	if err != nil {
		t.Fatal(err)
	}
	const body = `{"reference": "A-1", "unit": "cm", "measurements": {"waist_girth": 74, "hip_girth": 99, "waist_to_hip": 20}, "block": `
	torso, skirt := alteredOrder+`{"sway_back": 3}}`, body+`"circle_skirt"}`
	for _, tt := range []struct {
		order string
		want  []string
	}{
		{torso, []string{"altered for this customer: sway back 1.27 cm, left shoulder height -0.635 cm"}},
		{skirt, []string{"kept for this customer, but no alteration of the circle_skirt block: sway_back, shoulder_height"}},
	} {
		o, err := ParseOrder([]byte(tt.order))
		if err != nil {
			t.Fatal(err)
		}
		p, err := Draft(o.WithKept(kept))
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(p.Warnings, tt.want) {
			t.Errorf("%s says %q, want %q", o.Block, p.Warnings, tt.want)
		}
	}
}

func TestFaultyKeptAlterations(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		file string
		want []string
	}{
		{`{"unit": "cm"}`, []string{"/alterations"}},
		{`{"unit": "ell", "alterations": {"sway_bak": 1, "sway_back": 900}}`, []string{"/unit", "/alterations/sway_bak"}},
		{`{"unit": "cm", "alterations": []}`, []string{"/alterations"}},
		{`{"unit": "cm", "alterations": {"left": {"bust_height": 1}, "upper_arm": -1}, "note": ""}`,
			[]string{"/note", "/alterations/upper_arm", "/alterations/left/bust_height"}},
		{`{"unit": "cm", "alterations": {}}`, nil},
	} {
		_, err := ParseAlterations([]byte(tt.file))
		faults, _ := errors.AsType[fault.List](err)
		var got []string
		for _, f := range faults {
			got = append(got, f.Field)
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s: faults at %v, want %v", tt.file, got, tt.want)
		}
	}
}
