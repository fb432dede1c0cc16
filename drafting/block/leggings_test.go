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

// leggingsOn drafts leggings for the handbook's size 12 with some measures of its
// own.
func leggingsOn(t testing.TB, more body.Measures, fit string, choices map[string]Value) pattern.Pattern {
	t.Helper()
	m := body.Measures{body.Height: 1640, body.WaistGirth: 680, body.HipGirth: 940, body.WaistToHip: 206,
		body.BodyRise: 280, body.InsideLeg: 780, body.ThighGirth: 560, body.KneeGirth: 360, body.CalfGirth: 350,
		body.AnkleGirth: 215, body.FootGirth: 310}
	for n, v := range more {
		m[n] = v
	}
	p, err := draftTo(leggingsSpec(), Request{Fit: fit, Choices: choices}, m)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A girth of the pattern is the body's over 1 + the share of the stretch that is
// taken up: stretched by that it is as wide as the body.
func TestLeggingsAreNarrowerByTheStretch(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		fit, tension string
		stretch      float64 // per cent
		want         float64 // share of the stretch
	}{
		{"loose", "", 60, 0.2}, {"regular", "", 60, 0.3}, {"close", "", 60, 0.4}, {"regular", "light", 100, 0.2},
		{"regular", "compressive", 20, 0.4},
	} {
		choices := map[string]Value{choiceStretch: {Number: tt.stretch}}
		if tt.tension != "" {
			choices[choiceTension] = Value{Word: tt.tension}
		}
		c := checksOf(leggingsOn(t, nil, tt.fit, choices))
		for name, worn := range map[string]float64{"hip_girth": 940, "knee_girth": 360, "calf_girth": 350} {
			if got := c[name].Drafted * (1 + tt.want*tt.stretch/100); math.Abs(got-worn) > 0.01 {
				t.Errorf("%v: %s stretches to %.2f mm, want the body's %.0f", tt, name, got, worn)
			}
		}
	}
}

// The waist stretches over the hips and the ends over the foot, in cloth that
// stretches much and little.
func TestLeggingsCanBePutOn(t *testing.T) {
	t.Parallel()
	for _, stretch := range []float64{20, 40, 60, 150} {
		for _, fit := range []string{"loose", "regular", "close"} {
			c := checksOf(leggingsOn(t, nil, fit, map[string]Value{choiceStretch: {Number: stretch}}))
			if got := c["waist_girth"].Drafted * (1 + stretch/100); got < 939.9 {
				t.Errorf("%s, %.0f %%: the waist stretches to %.1f mm, the hips are 940", fit, stretch, got)
			}
			if got := c["ankle_girth"].Drafted * (1 + stretch/100); got < 309.9 {
				t.Errorf("%s, %.0f %%: the hem stretches to %.1f mm, the foot is 310", fit, stretch, got)
			}
		}
	}
}

// The crotch seam runs across the cloth under the body and along it above: each
// part is shorter by the stretch that way. The leg is its own mirror image below
// the crotch, so that its inseams are equally long.
func TestLeggingsCrotchOnRealBodies(t *testing.T) {
	t.Parallel()
	spec := leggingsSpec()
	drafted, moved := 0, 0
	for group, people := range wornBy(t) {
		for i := 0; i < len(people); i += everyNth(5) {
			p, err := draftTo(spec, Request{Fit: "regular"}, people[i])
			if err != nil {
				continue
			}
			drafted++
			leg := p.Pieces[0]
			under := 0.21 * people[i][body.HipGirth]
			want := (people[i][body.TotalCrotchLength]-under)/1.04 + under/1.18
			if got := leg.RunLength(edgeCrotchFront) + leg.RunLength(edgeCrotchBack); math.Abs(got-want) > 0.01 {
				t.Errorf("%s row %d: a crotch seam of %.2f mm, want %.2f", group, i, got, want)
			}
			if a, b := leg.RunLength(edgeInseamFront), leg.RunLength(edgeInseamBack); math.Abs(a-b) > 0.01 {
				t.Errorf("%s row %d: inseams of %.2f and %.2f mm", group, i, a, b)
			}
			for _, run := range []string{edgeCrotchFront, edgeCrotchBack} {
				if n := geomtest.Inflections(leg.Run(run)); n > 0 {
					t.Errorf("%s row %d: %s bends the other way %d times", group, i, run, n)
				}
			}
			for _, w := range p.Warnings {
				if strings.Contains(w, "crotch line is drawn") {
					moved++
				}
			}
		}
	}
	t.Logf("%d drafted, the crotch line moved by over 3 mm for %d", drafted, moved)
	if drafted == 0 {
		t.Error("none drafted")
	}
}

// From thigh to knee the inseam turns by 15 degrees at most over 20 mm, a radius of 76 mm, on
// the widest thighs of the survey too: a sharper turn shows, and stretches when it is sewn.
func TestLeggingsInseamIsSmooth(t *testing.T) {
	t.Parallel()
	const step = 20.0
	for group, people := range wornBy(t) {
		for i := 0; i < len(people); i += everyNth(9) {
			p, err := draftTo(leggingsSpec(), Request{Fit: "regular"}, people[i])
			if err != nil {
				continue
			}
			leg := p.Pieces[0]
			inseam := leg.Run(edgeInseamFront)
			thigh, _ := levelOf(leg, lineThigh)
			knee, _ := levelOf(leg, lineKnee)
			for at, to := lengthTo(inseam, thigh)+step, lengthTo(inseam, knee)+step; at < to; at += step / 2 {
				a, b, c := pointAlong(inseam, at-step), pointAlong(inseam, at), pointAlong(inseam, at+step)
				turn := math.Abs(c.Sub(b).Angle() - b.Sub(a).Angle())
				if turn > 15*degree {
					t.Errorf("%s row %d, thigh %.0f, knee %.0f: the inseam turns by %.0f degrees %.0f mm from the crotch",
						group, i, people[i][body.ThighGirth], people[i][body.KneeGirth], turn/degree, at)
				}
			}
		}
	}
}

// A gusset's sides are as long as the cuts they are sewn to, the crotch seam keeps
// its length through it, and it is as wide as people draft it.
func TestGusset(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	spec := leggingsSpec()
	for i := 0; i < len(people); i += everyNth(11) {
		for _, length := range []string{"ankle", "short"} {
			plain, err := draftTo(spec, Request{Fit: "close", Choices: words("length", length)}, people[i])
			if err != nil {
				t.Fatal(err)
			}
			p, err := draftTo(spec, Request{Fit: "close", Choices: words("length", length, "gusset", "yes")}, people[i])
			if err != nil {
				t.Fatal(err)
			}
			leg, diamond := p.Pieces[0], p.Pieces[1]
			for _, run := range []string{edgeGussetFront, edgeGussetBack} {
				if a, b := leg.RunLength(run), diamond.RunLength(run); math.Abs(a-b) > 0.01 {
					t.Errorf("row %d: %s is %.2f mm of the leg and %.2f of the gusset", i, run, a, b)
				}
			}
			tall := diamond.RunLength(edgeGussetFold)
			whole := plain.Pieces[0].RunLength(edgeCrotchFront) + plain.Pieces[0].RunLength(edgeCrotchBack)
			if got := leg.RunLength(edgeCrotchFront) + leg.RunLength(edgeCrotchBack) + tall; math.Abs(got-whole) > 0.01 {
				t.Errorf("row %d: a crotch seam of %.2f mm with the gusset, %.2f without", i, got, whole)
			}
			box := diamond.Outline().Bounds()
			wide := 2 * (box.Max.X - box.Min.X)
			if wide < 60 || wide > 125 || tall < 90 || tall > 170 {
				t.Errorf("row %d: a gusset %.0f mm wide and %.0f long", i, wide, tall)
			}
		}
	}
}

// Every alteration, at both its ends, drafts every body: nothing fails.
func TestLeggingsAlterationsOnRealBodies(t *testing.T) {
	t.Parallel()
	testAlterations(t, leggingsSpec(), leggingsAlterations())
}

// Legs of different length come out as a piece for each side.
func TestLeggingsSidesThatDiffer(t *testing.T) {
	t.Parallel()
	r := Request{Fit: "regular", Left: map[string]float64{alterLegLength: -12}, Choices: words("gusset", "yes")}
	p, err := draftTo(leggingsSpec(), r, surveytest.Women(t)[3])
	if err != nil {
		t.Fatal(err)
	}
	for _, broken := range p.Validate() {
		t.Error(broken)
	}
	right, okR := p.Piece("right_leg")
	left, okL := p.Piece("left_leg")
	if d := right.RunLength(edgeInseamFront) - left.RunLength(edgeInseamFront); !okR || !okL || d < 9 || d > 14 {
		t.Errorf("inseams differ by %.1f mm, want about 12 less the stretch", d)
	}
}

func TestLeggingsRefusals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name           string
		more           body.Measures
		choices        map[string]Value
		field, because string
	}{
		{"below the floor", nil, map[string]Value{"length": {Number: 800}}, "/choices/length", "at most 760 mm"},
		{"crotch far too long", body.Measures{body.TotalCrotchLength: 940}, nil, "/measurements/total_crotch_length",
			"are asked for"},
		{"waist far wider than the hip",
			body.Measures{body.WaistGirth: 1350, body.WaistToHip: 120, body.TotalCrotchLength: 800}, nil,
			"/measurements/waist_girth", "wider than the hip"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			m := body.Measures{body.Height: 1640, body.WaistGirth: 680, body.HipGirth: 940, body.WaistToHip: 206,
				body.BodyRise: 280, body.InsideLeg: 780}
			for n, v := range tt.more {
				m[n] = v
			}
			_, err := draftTo(leggingsSpec(), Request{Fit: "regular", Choices: tt.choices}, m)
			wantRefusal(t, err, tt.field, tt.because)
		})
	}
}

func TestReadingFindsSpoiledLeggings(t *testing.T) {
	t.Parallel()
	s, err := newLeggings(Request{Body: handbookTrousers(t, nil), Fit: "regular"})
	if err != nil {
		t.Fatal(err)
	}
	d, err := s.fitCrotch()
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.pattern(d)
	if err != nil {
		t.Fatal(err)
	}
	readBack := func(p *pattern.Pattern) error { return s.readBack(p, p.Pieces[0], &d) }
	spoiled(t, readBack, p, 0, edgeCrotchBack, geom.Pt(1, 0), "hip_girth")
	spoiled(t, readBack, p, 0, edgeWaist, geom.Pt(0, 1), "waist_to_hip")
	spoiled(t, readBack, p, 0, edgeCrotchFront, geom.Pt(0, 1), "body_rise")
	spoiled(t, readBack, p, 0, edgeInseamFront, geom.Pt(1, 0), "knee_girth")
	spoiled(t, readBack, p, 0, edgeHem, geom.Pt(0, 1), "inside_leg")
}

func BenchmarkLeggings(b *testing.B) {
	r := Request{Body: handbookTrousers(b, nil), Fit: "regular"}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := draftLeggings(b.Context(), r); err != nil {
			b.Fatal(err)
		}
	}
}
