package drafting_test

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/ordertest"
)

const alteredOrder = `{"reference": "A-1", "unit": "cm", "block": "torso", "measurements": {"bust_girth": 92,
 "waist_girth": 74, "hip_girth": 99, "neck_base_girth": 37, "shoulder_length": 12.4, "back_width": 35,
 "nape_to_waist": 41, "waist_to_hip": 20, "upper_arm_girth": 28.5, "wrist_girth": 16,
 "arm_length": 58}, "alterations": `

func TestAlterationsOfAnOrder(t *testing.T) {
	t.Parallel()
	o, err := ordertest.Parse([]byte(alteredOrder + `{"sway_back": 1.2, "left": {"shoulder_height": -0.8}}}`))
	if err != nil {
		t.Fatal(err)
	}
	p, err := drafting.Draft(t.Context(), o)
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
	_, err := ordertest.Parse([]byte(alteredOrder +
		`{"sway_back": 9, "sway_bak": 1, "round_back": "1", "left": {"sway_back": 1, "upper_arm": -2}, "right": 3}}`))
	got := map[string]fault.Code{}
	for _, f := range faultsOf(t, err) {
		got[f.Field] = f.Code
	}
	want := map[string]fault.Code{
		"/alterations/sway_back": fault.Range, "/alterations/sway_bak": fault.Unknown, "/alterations/round_back": fault.Type,
		"/alterations/left/sway_back": fault.Unknown, "/alterations/left/upper_arm": fault.Range,
		"/alterations/right": fault.Type,
	}
	if !maps.Equal(got, want) {
		t.Errorf("faults %v, want %v", got, want)
	}
}

// An order may be for a style instead of a block.
func TestOrderOfAStyle(t *testing.T) {
	t.Parallel()
	order := strings.Replace(strings.TrimSuffix(alteredOrder, `, "alterations": `), `"block": "torso"`,
		`"style": "shift-dress", "choices": {"sleeve": "short", "flare": 4}`, 1) + "}"
	o, err := ordertest.Parse([]byte(order))
	if err != nil {
		t.Fatal(err)
	}
	p, err := drafting.Draft(t.Context(), o)
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
		_, err := ordertest.Parse([]byte(strings.Replace(order, `"style": "shift-dress"`, change, 1)))
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
	customer, faults := drafting.NewAlterations(body.Inch, map[string]any{"sway_back": 0.5, "round_back": 0.0,
		"left": map[string]any{"shoulder_height": -0.25}})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	const measures = `{"reference": "A-1", "unit": "cm",
 "measurements": {"waist_girth": 74, "hip_girth": 99, "waist_to_hip": 20}, "block": `
	torso, skirt := alteredOrder+`{"sway_back": 3}}`, measures+`"circle_skirt"}`
	for _, tt := range []struct {
		order string
		want  []string
	}{
		{torso, []string{"altered for this customer: sway back 1.27 cm, left shoulder height -0.635 cm"}},
		{skirt, []string{"kept for this customer, but no alteration of the circle_skirt block: sway_back, shoulder_height"}},
	} {
		o, err := ordertest.Parse([]byte(tt.order))
		if err != nil {
			t.Fatal(err)
		}
		p, err := drafting.Draft(t.Context(), o.Altered(customer))
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(p.Warnings, tt.want) {
			t.Errorf("%s says %q, want %q", o.Block, p.Warnings, tt.want)
		}
	}
}

func TestFaultyAlterationsOfACustomer(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		unit  body.Unit
		given map[string]any
		want  []string
	}{
		{"ell", map[string]any{"sway_bak": 1.0, "sway_back": 900.0}, []string{"/unit", "/alterations/sway_bak"}},
		{body.Centimetre, map[string]any{"left": map[string]any{"bust_height": 1.0}, "upper_arm": -1.0},
			[]string{"/alterations/upper_arm", "/alterations/left/bust_height"}},
		{body.Centimetre, map[string]any{"left": 3.0, "upper_arm": "1"},
			[]string{"/alterations/upper_arm", "/alterations/left"}},
		{body.Centimetre, map[string]any{}, nil},
	} {
		_, faults := drafting.NewAlterations(tt.unit, tt.given)
		var got []string
		for _, f := range faults {
			got = append(got, f.Field)
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%v: faults at %v, want %v", tt.given, got, tt.want)
		}
	}
}
