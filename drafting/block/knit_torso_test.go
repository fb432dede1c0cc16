package block

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/geom"
	"tapeline/drafting/geom/geomtest"
	"tapeline/drafting/pattern"
)

// knitBody are measures near the handbook's size 12.
func knitBody(more body.Measures) body.Measures {
	m := body.Measures{
		body.BustGirth: 880, body.WaistGirth: 680, body.HipGirth: 940, body.NeckBaseGirth: 362, body.ShoulderLength: 125,
		body.BackWidth: 344, body.NapeToWaist: 410, body.WaistToHip: 206, body.UpperArmGirth: 285, body.WristGirth: 160,
		body.ArmLength: 585, body.BodyRise: 280, body.ThighGirth: 560,
	}
	for n, v := range more {
		m[n] = v
	}
	return m
}

func knitTorsoOn(t testing.TB, m body.Measures, fit string, choices map[string]Value) pattern.Pattern {
	t.Helper()
	p, err := draftTo(knitTorsoSpec(), Request{Fit: fit, Choices: choices}, m)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// asBodysuit adds the length of a body to choices.
func asBodysuit(choices map[string]Value) map[string]Value {
	choices[choiceLength] = Value{Word: lengthCrotch}
	return choices
}

// A girth of the pattern stretches to the body's by the share of the stretch that the
// fit takes up. Handbooks reduce it to girth x (1 - the same share) (common practice,
// from memory), which at small reductions is the same and never wider.
func TestKnitTorsoIsNarrowerByTheStretch(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		fit     string
		stretch float64 // per cent
		taken   float64 // share of the stretch
	}{
		{"loose", 60, 0.2}, {"regular", 60, 0.3}, {"close", 60, 0.4}, {"regular", 100, 0.3}, {"close", 30, 0.4},
		{"regular", 20, 0.3},
	} {
		c := checksOf(knitTorsoOn(t, knitBody(nil), tt.fit, map[string]Value{choiceStretch: {Number: tt.stretch},
			choiceSuppression: {Word: "full"}}))
		by := tt.taken * tt.stretch / 100
		for name, worn := range map[string]float64{"bust_girth": 880, "hip_girth": 940, "back_width": 344,
			"upper_arm_girth": 285} {
			drafted := c[name].Drafted
			if got := drafted * (1 + by); math.Abs(got-worn) > 0.01 {
				t.Errorf("%v: %s stretches to %.2f mm, want the body's %.0f", tt, name, got, worn)
			}
			if handbook := worn * (1 - by); drafted < handbook || drafted-handbook > by*by*worn {
				t.Errorf("%v: %s is %.1f mm, by the handbooks' rule %.1f", tt, name, drafted, handbook)
			}
		}
		if got := c["nape_to_waist"].Drafted; math.Abs(got*1.04-410) > 0.01 {
			t.Errorf("%v: back length of %.2f mm, want 410 / 1.04", tt, got)
		}
	}
}

// Stretched, waist and hip pass the shoulders, and the hips where a body is sewn shut; the
// ends of the sleeves pass the hand.
func TestKnitTorsoCanBePutOn(t *testing.T) {
	t.Parallel()
	m := knitBody(body.Measures{body.BustGirth: 1000, body.HipGirth: 930}) // narrow hips
	for _, stretch := range []float64{10, 25, 60, 100} {
		for _, tt := range []struct {
			choices map[string]Value
			pass    float64
		}{
			{words(), 1000}, {asBodysuit(words("crotch", "opens", "leg_opening", "low")), 1000},
			{asBodysuit(words("leg_opening", "low")), 930},
		} {
			tt.choices[choiceStretch] = Value{Number: stretch}
			c := checksOf(knitTorsoOn(t, m, "close", tt.choices))
			for _, name := range []string{"waist_girth", "hip_girth"} {
				if c[name].Drafted == 0 {
					continue // the leg opening begins higher
				}
				if got := c[name].Drafted * (1 + stretch/100); got < tt.pass-0.1 {
					t.Errorf("%.0f %%, %v: the %s stretches to %.1f mm, want %.0f", stretch, tt.choices, name, got, tt.pass)
				}
			}
			if got := c["wrist_girth"].Drafted * (1 + stretch/100); got < 1.32*160-0.1 {
				t.Errorf("%.0f %%: the sleeve's end stretches to %.1f mm, the hand is about 211", stretch, got)
			}
			if got := c["thigh_girth"]; tt.choices[choiceLength].Word == lengthCrotch && got.Drafted*(1+stretch/100) < 560 {
				t.Errorf("%.0f %%: the leg opening stretches to %.1f mm, the thigh is 560", stretch,
					got.Drafted*(1+stretch/100))
			}
		}
	}
}

// knitTorsoVariants are choices that between them try every length, crotch, sleeve and
// stretch.
func knitTorsoVariants() []map[string]Value {
	return []map[string]Value{
		words(), asBodysuit(words()), words("length", "waist", "sleeve", "short"),
		words("length", "thigh", "suppression", "none", "sleeve", "three_quarter", "centre_back", "seam"),
		asBodysuit(words("crotch", "opens", "leg_opening", "high", "sleeve", "none")),
		asBodysuit(words("crotch", "seam", "leg_opening", "low", "sleeve", "elbow", "centre_front", "seam")),
		{"stretch": {Number: 10}, "lengthwise_stretch": {Number: 5}},
		asBodysuit(map[string]Value{"stretch": {Number: 100}, "lengthwise_stretch": {Number: 150},
			"tension": {Word: "compressive"}}),
		asBodysuit(map[string]Value{"stretch": {Number: 10}, "leg_opening": {Number: 120}, "sleeve": {Word: "none"}}),
	}
}

// Every real body is drafted or refused with a reason, under 1 % refused, and no draft
// fails.
func TestKnitTorsoOnSurvey(t *testing.T) {
	t.Parallel()
	for group, people := range wornBy(t) {
		t.Run(group, func(t *testing.T) {
			t.Parallel()
			for i, choices := range knitTorsoVariants() {
				nth := everyNth(17)
				if i == 1 {
					nth = everyNth(3)
				}
				y := draftAll(t, knitTorsoSpec(), people, nth, choices)
				if total := y.drafted + y.refused; y.refused*100 > total {
					t.Errorf("%v: %d of %d refused: %v", choices, y.refused, total, y.reasons)
				}
			}
		})
	}
}

// The crotch is as long as the body's on cloth at rest, whatever its end. The leg
// opening runs without a corner from front to back over the side, and nowhere bends the other way.
func TestKnitTorsoCrotchOnRealBodies(t *testing.T) {
	t.Parallel()
	for group, people := range wornBy(t) {
		for i := 0; i < len(people); i += everyNth(40) {
			for _, ends := range []string{"gusset", "seam", "opens"} {
				for _, leg := range []string{"low", "regular", "high"} {
					p, err := draftTo(knitTorsoSpec(), Request{Fit: "regular",
						Choices: asBodysuit(words("crotch", ends, "leg_opening", leg))}, people[i])
					if err != nil {
						continue
					}
					testCrotch(t, p, ends, people[i][body.TotalCrotchLength]/1.04)
					if t.Failed() {
						t.Fatalf("%s row %d, %s, %s", group, i, ends, leg)
					}
				}
			}
		}
	}
}

func testCrotch(t *testing.T, p pattern.Pattern, ends string, want float64) {
	t.Helper()
	for _, broken := range p.Validate() {
		t.Error(broken)
	}
	b, _ := p.Piece(pieceBack)
	fr, _ := p.Piece(pieceFront)
	fr = turnOver(fr)
	waistB, _ := levelOf(b, lineWaist)
	waistF, _ := levelOf(fr, lineWaist)
	bottom := func(q pattern.Piece) geom.Point { return q.Run(edgeCrotchEnd).End() }
	around := bottom(b).Y - waistB + bottom(fr).Y - waistF
	front, back := fr.Run(edgeLeg), b.Run(edgeLeg)
	whole := map[string]geom.Path{"front": front, "back": back}
	switch g, ok := p.Piece(pieceGusset); {
	case ok != (ends == "gusset"):
		t.Errorf("crotch %s: a gusset: %t", ends, ok)
	case ok:
		around += g.RunLength(edgeGussetFold)
		whole["gusset"] = g.Run(edgeLeg)
		if a, b := g.RunLength(edgeGussetFront), fr.RunLength(edgeCrotchEnd); math.Abs(a-b) > 0.01 {
			t.Errorf("the gusset's front is %.2f mm and the front's end %.2f", a, b)
		}
	case ends == "opens":
		around -= 20
	}
	// A front that is longer over the bust ends up to 60 mm lower.
	if over := around - want; over < -0.01 || over > 60.01 {
		t.Errorf("a crotch of %.1f mm, want %.1f and at most 60 more", around, want)
	}
	for name, path := range whole {
		if n := geomtest.Inflections(path); n > 0 {
			t.Errorf("the leg opening of the %s bends the other way %d times", name, n)
		}
	}
	sides := fr.Run(edgeSide).EndTangent().Neg()
	turn := geom.AngleBetween(sides, front.StartTangent()) + geom.AngleBetween(b.Run(edgeSide).EndTangent().Neg(),
		back.StartTangent())
	if off := math.Abs(math.Abs(turn) - math.Pi); off > 1*degree {
		t.Errorf("the leg opening turns by %.1f degrees at the side", off/degree)
	}
}

// Every alteration, at both its ends, drafts every body: nothing fails. What it changes
// is read back.
func TestKnitTorsoAlterations(t *testing.T) {
	t.Parallel()
	testAlterations(t, knitTorsoSpec(), knitTorsoAlterations())
	draft := func(a map[string]float64) map[string]pattern.Check {
		r := Request{Fit: "regular", Choices: asBodysuit(words()), Alterations: a}
		p, err := draftTo(knitTorsoSpec(), r, knitBody(nil))
		if err != nil {
			t.Fatal(err)
		}
		return checksOf(p)
	}
	plain := draft(nil)
	for _, tt := range []struct {
		alteration string
		check      string
		want       float64 // as worn, of 20 mm
		gives      float64 // by which the cloth is longer when it is worn
	}{
		{alterSwayBack, "nape_to_waist", -20, 1.04}, {alterSwayBack, "total_crotch_length", 0, 1},
		{alterRoundBack, "nape_to_waist", 20, 1.04}, {alterSeat, "total_crotch_length", 20, 1.04},
		{alterRise, "total_crotch_length", 40, 1.04}, {alterUpperArm, "upper_arm_girth", 20, 1.18},
		{alterShoulder, "shoulder_length", 0, 1}, {alterForward, "neck_base_girth", 0, 1},
	} {
		c := draft(map[string]float64{tt.alteration: 20})[tt.check]
		if got := (c.Drafted - plain[tt.check].Drafted) * tt.gives; math.Abs(got-tt.want) > 0.01 {
			t.Errorf("%s of 20 mm changes %s by %.2f mm as worn, want %g", tt.alteration, tt.check, got, tt.want)
		}
	}
}

// Shoulders that differ make whole pieces, with one gusset.
func TestKnitTorsoSidesThatDiffer(t *testing.T) {
	t.Parallel()
	r := Request{Fit: "regular", Left: map[string]float64{alterShoulder: -12}, Choices: asBodysuit(words())}
	p, err := draftTo(knitTorsoSpec(), r, surveytest.Women(t)[3])
	if err != nil {
		t.Fatal(err)
	}
	for _, broken := range p.Validate() {
		t.Error(broken)
	}
	var names []string
	for _, q := range p.Pieces {
		names = append(names, q.Name)
	}
	if got := strings.Join(names, " "); strings.Count(got, pieceGusset) != 1 {
		t.Errorf("pieces %s, want one gusset", got)
	}
}

func TestKnitTorsoWarnings(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name    string
		more    body.Measures
		choices map[string]Value
		want    string // "" for no warning
	}{
		{"usual", nil, words(), ""},
		{"long over the bust", body.Measures{body.FrontWaistLength: 500}, words(), "drawn tight below the bust"},
		{"little stretch", nil, asBodysuit(map[string]Value{"stretch": {Number: 10}}), "so that the hips pass"},
	} {
		p := knitTorsoOn(t, knitBody(tt.more), "regular", tt.choices)
		if got := strings.Join(p.Warnings, "\n"); (tt.want == "") != (got == "") || !strings.Contains(got, tt.want) {
			t.Errorf("%s: warnings %q, want %q", tt.name, got, tt.want)
		}
	}
}

func TestKnitTorsoRefusals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name           string
		more           body.Measures
		choices        map[string]Value
		field, because string
	}{
		{"just below the waist", nil, map[string]Value{"length": {Number: 440}}, "/choices/length", "60 mm below it"},
		{"no armhole", body.Measures{body.NapeToWaist: 310, body.ScyeDepth: 250}, nil, "/measurements/scye_depth",
			"at least 60 mm are required"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := draftTo(knitTorsoSpec(), Request{Fit: "regular", Choices: tt.choices}, knitBody(tt.more))
			wantRefusal(t, err, tt.field, tt.because)
		})
	}
}

func TestReadingFindsSpoiledKnitTorso(t *testing.T) {
	t.Parallel()
	spec := knitTorsoSpec()
	b, faults := body.NewIn(body.Millimetre, knitBody(nil), spec.Requires, spec.Uses)
	if faults != nil {
		t.Fatal(faults)
	}
	r := Request{Body: b, Fit: "regular", Choices: asBodysuit(words("leg_opening", "low"))}
	f, _, m := draftedOf(t, r, knitTorso)
	p, err := f.draft(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	readBack := func(p *pattern.Pattern) error { return f.readBack(p, &m) }
	spoiled(t, readBack, p, back, edgeSide, geom.Pt(1, 0), "bust_girth")
	spoiled(t, readBack, p, back, edgeArmhole, geom.Pt(1, 0), "back_width")
	spoiled(t, readBack, p, front, edgeArmhole, geom.Pt(1, 0), "chest_width")
	spoiled(t, readBack, p, back, edgeSide, geom.Pt(0, 1), "waist_to_leg_opening")
	spoiled(t, readBack, p, back, edgeBackCentre, geom.Pt(0, 1), "total_crotch_length")
	spoiled(t, readBack, p, front, edgeNeckline, geom.Pt(0, 1), "not closed")
}
