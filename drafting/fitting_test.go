package drafting_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/pattern"
	"tapeline/drafting/render"
)

// sampled returns a third of the cases, or all if TAPELINE_WHOLE is set: trying a
// garment on takes seconds.
func sampled[T any](all []T) []T {
	if os.Getenv("TAPELINE_WHOLE") != "" {
		return all
	}
	var some []T
	for i := 0; i < len(all); i += 3 {
		some = append(some, all[i])
	}
	return some
}

// tried is an order of a woman of ordinary measures, of a style and with choices.
func tried(t testing.TB, style, choices string) drafting.Order {
	t.Helper()
	o, err := ordertest.Parse([]byte(`{"reference": "F-1", "unit": "cm", "fit": "regular", "measurements": {"height": 168,
		"bust_girth": 94.5, "under_bust_girth": 79, "waist_girth": 76, "hip_girth": 102, "neck_base_girth": 37.5,
		"shoulder_length": 12.6, "back_width": 35.5, "nape_to_waist": 42, "waist_to_hip": 20.5, "upper_arm_girth": 29,
		"wrist_girth": 16, "arm_length": 59, "inside_leg": 78, "head_girth": 56.5},
		"style": "` + style + `", "choices": {` + choices + `}}`))
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// TestTryOn hangs a sleeveless dress on its body: it comes to rest, its cloth is
// hardly stretched, and at every level the ease is that of the cut.
func TestTryOn(t *testing.T) {
	f, err := drafting.TryOn(t.Context(), tried(t, "shift-dress", `"sleeve": "none"`), drafting.FittingOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !f.Settled {
		t.Errorf("did not settle: %.3f", f.Residual)
	}
	var levels []string
	for _, l := range f.Levels {
		levels = append(levels, l.Name)
		if math.Abs(l.Worn/l.Cut-1) > 0.01 {
			t.Errorf("%s: worn %.1f mm, cut %.1f", l.Name, l.Worn, l.Cut)
		}
	}
	if want := []string{"bust", "under bust", "waist", "high hip", "hip"}; !slices.Equal(levels, want) {
		t.Errorf("levels %v, want %v", levels, want)
	}
	for _, m := range f.Form.Measures(f.Body) {
		if !m.Estimated && strings.HasSuffix(string(m.Name), "_girth") && math.Abs(m.Form-m.Body) > 2 {
			t.Errorf("%s: form %.1f mm, body %.1f", m.Name, m.Form, m.Body)
		}
	}
	for _, x := range f.Findings {
		if x.Kind == fitting.Tight {
			t.Errorf("a dress of ordinary ease: %s", x.Words)
		}
	}
}

// ofLengths gives an order the lengths and widths of a body, so that it differs in girths
// alone.
func ofLengths(o drafting.Order, b body.Body) drafting.Order {
	for _, n := range []body.Name{body.FrontWaistLength, body.SideNeckToBust, body.BustPointWidth, body.ChestWidth} {
		o.Measurements[n] = b.Value(n)
	}
	return o
}

// TestTryOnTight tries a dress of 102 cm round the bust on a body of 108: the bust
// is found tight, and stretched to what the body measures.
func TestTryOnTight(t *testing.T) {
	larger := tried(t, "shift-dress", `"sleeve": "none"`)
	larger.Measurements["bust_girth"], larger.Measurements["under_bust_girth"] = 1080, 880
	on, err := drafting.TryOn(t.Context(), larger, drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	f, err := drafting.TryOn(t.Context(), ofLengths(tried(t, "shift-dress", `"sleeve": "none"`), on.Body),
		drafting.FittingOptions{Quick: true, Form: on.Form})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(f.Findings, func(x fitting.Finding) bool {
		return x.Kind == fitting.Tight && x.Place == "bust"
	}) {
		t.Errorf("60 mm narrower than the body: findings %+v", f.Findings)
	}
	// It is stretched to the body's girth, less what the coarse triangles cut off.
	if l := f.Levels[0]; l.Name != "bust" || math.Abs(l.Worn-l.Body) > 0.015*l.Body {
		t.Errorf("%s: %.0f mm worn, %.0f cut, on a body of %.0f", l.Name, l.Worn, l.Cut, l.Body)
	}
}

// TestTryOnSmaller tries two dresses on a body larger than both, one cut 20 mm smaller
// round the bust than the other: it is stretched by 20 mm of its girth more.
func TestTryOnSmaller(t *testing.T) {
	larger := tried(t, "shift-dress", `"sleeve": "none"`)
	larger.Measurements["bust_girth"], larger.Measurements["under_bust_girth"] = 1080, 880
	on, err := drafting.TryOn(t.Context(), larger, drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	strain := func(bust float64) (cut, strain float64) {
		o := ofLengths(tried(t, "shift-dress", `"sleeve": "none"`), on.Body)
		o.Measurements["bust_girth"] = bust
		f, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Form: on.Form})
		if err != nil {
			t.Fatal(err)
		}
		l := f.Levels[0]
		return l.Cut, l.Worn/l.Cut - 1
	}
	cut, before := strain(945)
	smaller, after := strain(925)
	// Where the bust of the form lies; the sides may be taken in there.
	if less := cut - smaller; less < 12 || less > 45 {
		t.Errorf("cut %.0f and %.0f mm, want 20 less or a little more", cut, smaller)
	}
	if more, want := after-before, (1+before)*(cut/smaller-1); math.Abs(more-want) > 0.004 {
		t.Errorf("stretched by %.2f %% and %.2f %%: %.2f more, want %.2f", 100*before, 100*after, 100*more, 100*want)
	}
	t.Logf("%.2f %% of %.0f mm and %.2f %% of %.0f mm", 100*before, cut, 100*after, smaller)
}

// TestTryOnRefined tries a dress on a body too large for it in triangles of 26 and of 15
// mm: each place where it is tight is found stretched by a tenth more or less at most.
func TestTryOnRefined(t *testing.T) {
	larger := tried(t, "shift-dress", `"sleeve": "none"`)
	larger.Measurements["bust_girth"], larger.Measurements["under_bust_girth"] = 1080, 880
	on, err := drafting.TryOn(t.Context(), larger, drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	strains := map[string][2]float64{}
	for i, quick := range []bool{true, false} {
		f, err := drafting.TryOn(t.Context(), tried(t, "shift-dress", `"sleeve": "none"`),
			drafting.FittingOptions{Quick: quick, Form: on.Form})
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range f.Findings {
			if x.Kind == fitting.Tight {
				s := strains[x.Place]
				s[i] = x.Value
				strains[x.Place] = s
			}
		}
	}
	for place, s := range strains {
		t.Logf("%s: %.2f %% and %.2f %%", place, s[0], s[1])
		if math.Abs(s[0]-s[1]) > 0.1*s[1] {
			t.Errorf("%s: stretched by %.2f %% in coarse triangles, by %.2f %% in fine ones", place, s[0], s[1])
		}
	}
	if len(strains) < 4 {
		t.Errorf("tight at %d places, want bust, chest, upper back and the back at bust level", len(strains))
	}
}

// TestTryOnPanels hangs dresses of flared panels: their hems are level within 15 mm,
// whatever the flare and wherever the panels begin.
func TestTryOnPanels(t *testing.T) {
	for _, choices := range []string{"", `, "flare": 0`, `, "flare": 12, "seams_from": "armhole", "length": 100`} {
		f, err := drafting.TryOn(t.Context(), tried(t, "princess-dress", `"sleeve": "none"`+choices),
			drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Errorf("%s: %v", choices, err)
			continue
		}
		if !f.Settled {
			t.Errorf("%s: did not settle: %.3f", choices, f.Residual)
		}
		for _, x := range f.Findings {
			if x.Kind == fitting.Hangs && x.Value > 15 {
				t.Errorf("%s: %s", choices, x.Words)
			}
		}
	}
}

// TestTryOnGathered hangs a skirt that is gathered to its bodice: it comes to rest, hides
// no pull of the gathers on the waist, and is as full below it as it is cut.
func TestTryOnGathered(t *testing.T) {
	f, err := drafting.TryOn(t.Context(), tried(t, "gathered-skirt-dress", `"sleeve": "none"`),
		drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	if want := []string{"neck_strip", "arm_strip"}; !f.Settled || !slices.Equal(f.Left, want) {
		t.Errorf("settled %v with a residual of %.3f, left out %v, want %v", f.Settled, f.Residual, f.Left, want)
	}
	full := 0.0
	for _, l := range f.Levels {
		if math.Abs(l.Worn/l.Cut-1) > 0.015 {
			t.Errorf("%s: worn %.1f mm, cut %.1f", l.Name, l.Worn, l.Cut)
		}
		if l.Name == "hip" {
			full = l.Worn
		}
	}
	i := slices.IndexFunc(f.Pattern.Checks, func(c pattern.Check) bool { return c.Name == "skirt at the waist, gathered" })
	if want := f.Pattern.Checks[i].Drafted; math.Abs(full/want-1) > 0.01 {
		t.Errorf("the skirt is %.0f mm round at the hip, want %.0f", full, want)
	}
	for _, x := range f.Findings {
		if x.Kind == fitting.Tight {
			t.Errorf("a dress of ordinary ease: %s", x.Words)
		}
	}
}

// TestTryOnSides tries a dress on whose left shoulder alone is lowered: its right half hangs
// as that of the dress without alterations, and what is found names its side.
func TestTryOnSides(t *testing.T) {
	quick := drafting.FittingOptions{Quick: true}
	even, err := drafting.TryOn(t.Context(), tried(t, "shift-dress", `"sleeve": "none"`), quick)
	if err != nil {
		t.Fatal(err)
	}
	o := tried(t, "shift-dress", `"sleeve": "none"`)
	o.Alterations.Left = map[string]float64{"shoulder_height": -15}
	f, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true, Form: even.Form})
	if err != nil {
		t.Fatal(err)
	}
	if !f.Settled || len(f.Levels) != len(even.Levels) {
		t.Errorf("settled %v, levels %v", f.Settled, f.Levels)
	}
	values := func(list []fitting.Reading, side string) map[string]float64 {
		all := map[string]float64{}
		for _, r := range list {
			if place, ok := strings.CutPrefix(r.Place, side); ok {
				all[string(r.Kind)+" "+place] = r.Value
			}
		}
		return all
	}
	isOpening := func(r fitting.Reading) bool { return r.Kind == fitting.NotPutOn }
	before := values(slices.DeleteFunc(even.Readings, isOpening), "")
	right, left := values(f.Readings, "right "), values(f.Readings, "left ")
	if !maps.Equal(before, right) {
		t.Errorf("the right half reads %v, without alterations %v", right, before)
	}
	if len(left) == 0 || maps.Equal(left, right) {
		t.Errorf("the left half, its shoulder lower, reads %v as the right", left)
	}
	for _, x := range f.Findings {
		if !strings.HasPrefix(x.Words, "On the ") && x.Kind != fitting.NotPutOn {
			t.Errorf("does not say which side: %s", x.Words)
		}
	}
	if p, err := f.Picture(t.Context(), "", f.Options); err != nil || len(p.Facets) < 2000 {
		t.Errorf("a picture of %d facets: %v", len(p.Facets), err)
	}
}

// TestTryOnIsDeterministic tries an order on twice and compares the pictures.
func TestTryOnIsDeterministic(t *testing.T) {
	picture := func() []byte {
		f, err := drafting.TryOn(t.Context(), tried(t, "princess-dress", ""), drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		p, err := f.Picture(t.Context(), "", f.Options)
		if err == nil {
			err = render.ShadedSVG(t.Context(), &b, p)
		}
		if err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	if !bytes.Equal(picture(), picture()) {
		t.Error("two fittings of one order differ")
	}
}

// TestTryOnOthers hangs shirts, skirts and trousers on orders that give only what these
// need: they come to rest, and their width is that of the cut.
func TestTryOnOthers(t *testing.T) {
	for _, test := range []struct{ name, choices string }{
		{"button-shirt", ""}, {"straight-skirt", ""}, {"trousers", ""}, {"trousers", "none"},
	} {
		data, err := os.ReadFile("../testdata/orders/" + test.name + ".json")
		if err != nil {
			t.Fatal(err)
		}
		if test.choices != "" {
			data = bytes.Replace(data, []byte(`"pockets": "slant"`), []byte(`"pockets": "none"`), 1)
		}
		o, err := ordertest.Parse(data)
		if err != nil {
			t.Fatal(err)
		}
		f, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		if !f.Settled || len(f.Levels) < 2 {
			t.Errorf("%s: settled %v with a residual of %.3f, levels %v", test.name, f.Settled, f.Residual, f.Levels)
		}
		for _, l := range f.Levels {
			if math.Abs(l.Worn/l.Cut-1) > 0.01 {
				t.Errorf("%s: %s: worn %.1f mm, cut %.1f", test.name, l.Name, l.Worn, l.Cut)
			}
		}
		for _, x := range f.Findings {
			if x.Kind == fitting.Tight {
				t.Errorf("%s, of ordinary ease: %s", test.name, x.Words)
			}
		}
	}
}

// TestTryOnRefuses names what cannot be tried on.
func TestTryOnRefuses(t *testing.T) {
	for _, test := range []struct {
		style, choices, cloth, field, reason string
	}{
		{"shift-dress", "", "silk", "/cloth", "medium-woven"},
	} {
		_, err := drafting.TryOn(t.Context(), tried(t, test.style, test.choices), drafting.FittingOptions{Cloth: test.cloth,
			Quick: true})
		list, ok := errors.AsType[fault.List](err)
		text, _ := json.Marshal(list)
		if !ok || !strings.Contains(string(text), test.field) || !strings.Contains(string(text), test.reason) {
			t.Errorf("%s: %v (%s), want a fault of %s: %s", test.style, err, text, test.field, test.reason)
		}
	}
}

// TestTryOnSleeves hangs garments with set-in sleeves: they come to rest, the sleeves are
// no longer left out, nothing of ordinary ease is stretched at the arm, and round the arm
// the ease is that of the cut.
func TestTryOnSleeves(t *testing.T) {
	type sleeved struct{ style, choices string }
	for _, test := range sampled([]sleeved{
		{"torso-toile", ""}, {"shift-dress", `"sleeve": "short"`}, {"button-shirt", ""}, {"knit-top", ""},
		{"hooded-sweatshirt", ""}, {"knit-top", `"sleeve_kind": "raglan", "sleeve": "full"`},
		{"gathered-skirt-dress", `"sleeve": "puffed"`},
	}) {
		f, err := drafting.TryOn(t.Context(), tried(t, test.style, test.choices), drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Errorf("%s: %v", test.style, err)
			continue
		}
		if !f.Settled || slices.ContainsFunc(f.Left, func(name string) bool {
			return strings.Contains(name, "sleeve") || name == "cuff"
		}) {
			t.Errorf("%s: settled %v with a residual of %.3f, left out %v", test.style, f.Settled, f.Residual, f.Left)
		}
		arm := 0
		for _, l := range f.Levels {
			if l.Name != "upper arm" && l.Name != "elbow" && l.Name != "wrist" {
				continue
			}
			arm++
			if math.Abs(l.Worn/l.Cut-1) > 0.01 || l.Worn < l.Body {
				t.Errorf("%s: %s: body %.1f mm, worn %.1f, cut %.1f", test.style, l.Name, l.Body, l.Worn, l.Cut)
			}
		}
		if long := test.style == "torso-toile" || test.style == "button-shirt"; long && arm < 2 {
			t.Errorf("%s: levels %v", test.style, f.Levels)
		}
		for _, x := range f.Findings {
			if slices.Contains([]string{"upper arm", "elbow", "forearm", "wrist", "sleeve seam"}, x.Place) {
				t.Errorf("%s, of ordinary ease: %s", test.style, x.Words)
			}
		}
	}
}

// TestTryOnTightSleeves tries sleeves on arms 70 mm thicker than those they were drafted
// for: they are found tight at the arm, and stretched to it.
func TestTryOnTightSleeves(t *testing.T) {
	thicker := tried(t, "torso-toile", "")
	thicker.Measurements["upper_arm_girth"] = 360
	on, err := drafting.TryOn(t.Context(), thicker, drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	f, err := drafting.TryOn(t.Context(), tried(t, "torso-toile", ""), drafting.FittingOptions{Quick: true, Form: on.Form})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(f.Findings, func(x fitting.Finding) bool {
		return x.Kind == fitting.Tight && x.Place == "upper arm"
	}) {
		t.Errorf("findings %+v on arms 70 mm thicker", f.Findings)
	}
	for _, l := range f.Levels {
		if l.Name == "upper arm" && math.Abs(l.Worn-l.Body) > 0.03*l.Body {
			t.Errorf("upper arm: %.0f mm worn, %.0f cut, on an arm of %.0f", l.Worn, l.Cut, l.Body)
		}
	}
}

// TestTryOnSleevesLarge tries sleeves on a woman whose arms lie against her waist and hips:
// they are not caught there.
func TestTryOnSleevesLarge(t *testing.T) {
	o := tried(t, "torso-toile", "")
	for name, mm := range map[body.Name]float64{body.BustGirth: 1160, body.UnderBustGirth: 990, body.WaistGirth: 1000,
		body.HipGirth: 1220, body.NeckBaseGirth: 420, body.ShoulderLength: 130, body.BackWidth: 410, body.UpperArmGirth: 365,
		body.WristGirth: 180} {
		o.Measurements[name] = mm
	}
	f, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	if !f.Settled {
		t.Errorf("did not settle: %.3f", f.Residual)
	}
	for _, x := range f.Findings {
		if x.Kind == fitting.Tight && x.Value > x.Limit+1.5 {
			t.Errorf("of ordinary ease: %s", x.Words)
		}
	}
}

// BenchmarkTryOnSleeves tries a torso toile with sleeves on a form that is ready.
func BenchmarkTryOnSleeves(b *testing.B) {
	o := tried(b, "torso-toile", "")
	f, err := drafting.TryOn(b.Context(), o, drafting.FittingOptions{Quick: true})
	if err != nil {
		b.Fatal(err)
	}
	for _, quick := range []bool{true, false} {
		b.Run(map[bool]string{true: "quick", false: "full"}[quick], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := drafting.TryOn(b.Context(), o, drafting.FittingOptions{Quick: quick, Form: f.Form}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
