package style_test

import (
	"errors"
	"maps"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// Every requirement of the garments holds for an ordinary body as the choices
// stand, and is found broken, with its numbers, by a body or a choice that
// breaks it.
func TestGarmentRequirements(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		slug    string
		body    body.Measures // over the standard one
		choices map[string]block.Value
		refused bool
		says    string // with what breaks it in numbers
	}{
		{"straight-skirt", nil, map[string]block.Value{"walking": word("none"), "length": word("ankle")}, false,
			"1050 mm round where it stops opening; an ordinary step there takes about"},
		{"straight-skirt", body.Measures{"waist_girth": 560, "hip_girth": 1080},
			map[string]block.Value{"walking": word("vent"), "length": number(360)}, true, "remain for the opening at the back"},
		{"straight-skirt", nil, map[string]block.Value{"walking": word("kick_pleat"), "length": number(1000)}, false,
			"an ordinary step there takes about"},
		{"flared-skirt", nil, map[string]block.Value{"part": word("full"), "length": word("ankle")}, false,
			"in cloth of 1400 mm it must be pieced"},
		{"shift-dress", nil, map[string]block.Value{"length": number(1000), "flare": number(0)}, false,
			"an ordinary step there takes about"},
		{"princess-dress", nil, map[string]block.Value{"length": number(1000), "flare": number(0)}, false,
			"an ordinary step there takes about"},
		{"gathered-skirt-dress", body.Measures{"head_girth": 640},
			map[string]block.Value{"waist": word("elastic"), "neck_depth": number(20), "neck_width": number(10)}, false,
			"deeper than chosen, to pass the head"},
		{"gathered-skirt-dress", body.Measures{"bust_girth": 1250, "waist_girth": 1150, "hip_girth": 1250},
			map[string]block.Value{"fullness": number(2.5)}, false, "takes cloth of"},
		{"knit-top", body.Measures{"head_girth": 620}, map[string]block.Value{"stretch": number(15), "neck_depth": number(10),
			"neck_width": number(5)}, false, "its band must stretch over the head, 620 mm"},
		{"knit-top", body.Measures{"head_girth": 700}, map[string]block.Value{"stretch": number(15), "neck_depth": number(10),
			"neck_width": number(5)}, true, "the head is 700 mm"},
		{"knit-top", body.Measures{"hand_girth": 340}, map[string]block.Value{"stretch": number(15), "bands": yes(),
			"sleeve": word("full")}, false, "the hand, about 340 mm,"},
		{"button-shirt", nil, map[string]block.Value{"buttons": number(4), "length": number(600)}, false,
			"over 110 mm a front gapes"},
		{"button-shirt", body.Measures{"nape_to_waist": 300, "height": 1300, "arm_length": 440},
			map[string]block.Value{"buttons": number(10), "length": number(200)}, true, "mm apart: choose fewer"},
		{"button-shirt", body.Measures{"bust_girth": 660, "waist_girth": 560, "hip_girth": 700, "back_width": 260,
			"neck_base_girth": 300, "shoulder_length": 90, "upper_arm_girth": 190, "wrist_girth": 125, "chest_width": 205},
			map[string]block.Value{"pocket": yes()}, false, "The pocket is left out"},
		{"wrap-robe", body.Measures{"bust_girth": 1300, "waist_girth": 1250, "hip_girth": 1350},
			map[string]block.Value{"wrap": number(120)}, false, "to stay closed when walking they need a third"},
		{"wrap-robe", body.Measures{"hand_girth": 300}, map[string]block.Value{"sleeve_width": number(320)}, false,
			"The sleeve is cut 340 mm round at its end"},
		{"wrap-robe", nil, map[string]block.Value{"worn": word("nightwear")}, false, "Nightwear falls under burning rules"},
		{"dolman-jacket", body.Measures{"hand_girth": 300}, nil, false, "for the arm to move in it"},
		{"dolman-jacket", body.Measures{"front_waist_length": 510}, map[string]block.Value{"bust": word("none")}, false,
			"the fronts have no dart"},
		{"wrap-robe", body.Measures{"front_waist_length": 510}, map[string]block.Value{"bust": word("none")}, false,
			"the fronts have no dart"},
		{"dolman-jacket", nil, map[string]block.Value{"length": number(120), "hem": word("curved")}, false,
			"The pockets are left out"},
		{"button-shirt", nil, map[string]block.Value{"bust": word("none")}, false, "the front has no dart"},
		{"button-shirt", body.Measures{"elbow_girth": 330}, map[string]block.Value{"cuff": number(90)}, false,
			"must clear the arm above the wrist"},
		{"knit-top", nil, map[string]block.Value{"bust": word("none")}, false, "the front takes up 0 mm of it"},
		{"hooded-sweatshirt", nil, map[string]block.Value{"bust": word("none")}, false, "the front takes up 0 mm of it"},
		{"hooded-sweatshirt", nil, map[string]block.Value{"drawcord": yes()}, false,
			"Never put a cord into a hood for a child"},
		{"hooded-sweatshirt", body.Measures{"nape_to_waist": 300, "height": 1300, "arm_length": 440},
			map[string]block.Value{"length": number(170)}, false, "The pocket is left out"},
	} {
		m := maps.Clone(standard)
		maps.Copy(m, c.body)
		p, err := draftOf(t, c.slug, m, c.choices)
		said := strings.Join(p.Warnings, "\n")
		refusal, refused := errors.AsType[fault.List](err)
		if refused {
			said = refusal.Error()
		} else if err != nil {
			t.Errorf("%s %v: %v", c.slug, c.choices, err)
			continue
		}
		if refused != c.refused || !strings.Contains(said, c.says) {
			t.Errorf("%s %v %v: refused %t, says %q; want refused %t, %q", c.slug, c.body, c.choices, refused, said, c.refused,
				c.says)
		}
		plain, err := draftOf(t, c.slug, standard, nil)
		if err != nil || strings.Contains(strings.Join(plain.Warnings, "\n"), c.says) {
			t.Errorf("%s says %q of an ordinary body: %v %v", c.slug, c.says, plain.Warnings, err)
		}
	}
}

// A sleeve too close for its band is refused: the ease of the arm is the
// order's to set.
func TestPuffNeedsCloth(t *testing.T) {
	t.Parallel()
	s, _ := style.Builtin("gathered-skirt-dress")
	b, faults := body.New(standard, s.Spec().Requires)
	if faults != nil {
		t.Fatal(faults)
	}
	_, err := s.Draft(t.Context(), block.Request{Body: b, Fit: "close", Ease: map[string]float64{"upper_arm_girth": 5},
		Choices: map[string]block.Value{"sleeve": word("puffed"), "puff": number(40)}})
	if err == nil || !strings.Contains(err.Error(), "leaves nothing to gather") {
		t.Errorf("drafted: %v", err)
	}
}
