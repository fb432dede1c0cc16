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

// handbookTrousers returns a British handbook's size 12 (W. Aldrich, Metric
// Pattern Cutting for Women's Wear; from memory): a waist of 680 and 1040 above the floor.
func handbookTrousers(t testing.TB, more body.Measures) body.Body {
	t.Helper()
	m := body.Measures{body.Height: 1640, body.WaistGirth: 680, body.HipGirth: 940, body.WaistToHip: 206,
		body.BodyRise: 280, body.InsideLeg: 780}
	for n, v := range more {
		m[n] = v
	}
	b, faults := body.NewIn(body.Millimetre, m, trousersSpec().Requires, trousersSpec().Uses)
	if faults != nil {
		t.Fatal(faults)
	}
	return b
}

func checksOf(p pattern.Pattern) map[string]pattern.Check {
	all := map[string]pattern.Check{}
	for _, c := range p.Checks {
		all[c.Name] = c
	}
	return all
}

// The classic trouser block of the same handbook (from memory): a front hip of
// hip/4 + 5 and a back one of hip/4 + 15; a crotch that reaches hip/16 + 5 in
// front of the centre, and its curve 30 mm from the corner there, 42 to 45 at
// the back; a centre back leaning about 8 degrees, its top 20 above the side;
// darts of 20, one in front and two at the back; a hem of 440 and a knee of 492.
// A crotch length is none of its measures; with 680 the centre back comes out so.
func TestTrousersAgainstHandbook(t *testing.T) {
	t.Parallel()
	const hip = 940.0
	r := Request{Body: handbookTrousers(t, body.Measures{body.TotalCrotchLength: 680}), Fit: "close"}
	p, err := draftTrousers(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	near := func(name string, got, want, tol float64) {
		t.Helper()
		t.Logf("%s %.1f, the handbook's %.1f", name, got, want)
		if math.Abs(got-want) > tol {
			t.Errorf("%s = %.1f, the handbook's is %.1f", name, got, want)
		}
	}
	b, f := p.Pieces[back], turnOver(p.Pieces[front])
	width := func(q pattern.Piece) float64 {
		level, _ := levelOf(q, lineHip)
		w, _ := breadth(q, edgeCrotch, edgeSide, level)
		return w
	}
	near("front hip", width(f), hip/4+5, 0.01)
	near("back hip", width(b), hip/4+15, 0.01)
	centreAt := func(q pattern.Piece) geom.Point {
		level, _ := levelOf(q, lineHip)
		at, _ := crossLevel(q.Run(edgeCrotch), level)
		return at
	}
	fork, centre := forkOf(f), centreAt(f)
	near("front crotch's reach", centre.X-fork.X, hip/16+5, 1)
	corner := func(q pattern.Piece) float64 {
		_, d, _ := q.Run(edgeCrotch).Nearest(geom.Pt(centreAt(q).X, forkOf(f).Y))
		return d
	}
	near("front curve from its corner", corner(f), 30, 4)
	near("back curve from its corner", corner(b), 44, 4)
	crotch := b.Run(edgeCrotch)
	near("lean of the centre back, degrees", -fromDown(crotch.EndTangent().Neg())/degree, 8, 3)
	near("centre back above the side", b.Run(edgeSide).Start().Y-crotch.End().Y, 20, 8)
	for i, want := range [2][]float64{{20, 20}, {20}} {
		q := [2]pattern.Piece{b, f}[i]
		if len(q.Darts) != len(want) {
			t.Fatalf("%s has %d darts, want %d", q.Name, len(q.Darts), len(want))
		}
		for k, d := range q.Darts {
			near(q.Name+" "+d.Name, d.Legs[0].Start().Dist(d.Legs[1].Start()), want[k], 3)
		}
	}
	near("knee", checksOf(p)["knee_girth"].Drafted, 492, 2)
	near("hem", checksOf(p)["hem_girth"].Drafted, 440, 0.01)
}

// The crotch seam, read from the outline, is as long as the survey's people
// measured theirs and the ease, whatever else they measure.
func TestCrotchLengthOnRealBodies(t *testing.T) {
	t.Parallel()
	spec := trousersSpec()
	drafted, moved := 0, 0
	for group, people := range wornBy(t) {
		for i := 0; i < len(people); i += everyNth(5) {
			p, err := draftTo(spec, Request{Fit: spec.Fits[i%3].Name}, people[i])
			if err != nil {
				continue
			}
			drafted++
			var seam float64
			for _, q := range p.Pieces {
				seam += q.Run(edgeCrotch).Length()
			}
			ease := spec.Fits[i%3].Ease
			want := people[i][body.TotalCrotchLength]
			for _, e := range ease {
				if e.Name == string(body.TotalCrotchLength) {
					want += e.Value
				}
			}
			if math.Abs(seam-want) > 0.01 {
				t.Errorf("%s row %d: a crotch seam of %.2f mm, want %.2f", group, i, seam, want)
			}
			for _, q := range p.Pieces {
				if n := geomtest.Inflections(q.Run(edgeCrotch)); n > 0 {
					t.Errorf("%s row %d: the crotch of the %s bends the other way %d times", group, i, q.Name, n)
				}
				if n := geomtest.Inflections(q.Run(edgeInseam)); n > 1 {
					t.Errorf("%s row %d: the inseam of the %s bends %d times", group, i, q.Name, n)
				}
				if n := geomtest.Inflections(q.Run(edgeSide)); n > 2 {
					t.Errorf("%s row %d: the side of the %s bends %d times", group, i, q.Name, n)
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

// Longer crotches tilt and raise the centre back; the waist, the hip and the
// leg stay as they are.
func TestLongerCrotchTiltsTheBack(t *testing.T) {
	t.Parallel()
	var lean, raised float64
	for i, crotch := range []float64{640, 690, 740} {
		p, err := draftTrousers(t.Context(),
			Request{Body: handbookTrousers(t, body.Measures{body.TotalCrotchLength: crotch}), Fit: "regular"})
		if err != nil {
			t.Fatal(err)
		}
		b := p.Pieces[back]
		seam := b.Run(edgeCrotch)
		l, up := -fromDown(seam.EndTangent().Neg()), b.Run(edgeSide).Start().Y-seam.End().Y
		if i > 0 && (l < lean+2*degree || up < raised+8) {
			t.Errorf("a crotch of %.0f mm: the centre back leans %.1f degrees and lies %.0f mm above the side, before that "+
				"%.1f and %.0f",
				crotch, l/degree, up, lean/degree, raised)
		}
		lean, raised = l, up
		if c := checksOf(p); math.Abs(c["hem_girth"].Drafted-440) > 0.01 || math.Abs(c["hip_girth"].Drafted-1000) > 0.01 {
			t.Errorf("a crotch of %.0f mm changes hem or hip", crotch)
		}
	}
}

// Lengths are those chosen.
func TestTrouserLengths(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		choice Value
		inside float64 // mm
	}{
		// 780 inside, less what the crotch hangs lower and 20 over the floor.
		{Value{Word: "full"}, 780 - 25 - 20},
		{Value{Word: "ankle"}, 780 - 25 - 0.065*1040},
		{Value{Word: "knee"}, 0.357*1640 - 285},
		{Value{Number: 60}, 60},
		{Value{Number: 400}, 400},
	} {
		p, err := draftTrousers(t.Context(), Request{Body: handbookTrousers(t, nil), Fit: "regular",
			Choices: map[string]Value{"length": tt.choice}})
		if err != nil {
			t.Fatal(err)
		}
		if got := checksOf(p)["inside_leg"].Drafted; math.Abs(got-tt.inside) > 0.01 {
			t.Errorf("%v: %.2f mm inside the leg, want %.2f", tt.choice, got, tt.inside)
		}
	}
}

// A thick thigh or calf, or a large foot, is given its room; a wide enough leg
// does not change for it.
func TestTrousersGiveRoom(t *testing.T) {
	t.Parallel()
	draft := func(m body.Measures, choices map[string]Value) map[string]pattern.Check {
		p, err := draftTrousers(t.Context(), Request{Body: handbookTrousers(t, m), Fit: "regular", Choices: choices})
		if err != nil {
			t.Fatal(err)
		}
		return checksOf(p)
	}
	if got := draft(body.Measures{body.ThighGirth: 690}, nil)["thigh_girth"].Drafted; math.Abs(got-740) > 0.1 {
		t.Errorf("a thigh of 690 mm is given %.1f mm, want 50 more", got)
	}
	a, b := draft(body.Measures{body.ThighGirth: 540},
		nil)["thigh_girth"].Drafted, draft(body.Measures{body.ThighGirth: 560}, nil)["thigh_girth"].Drafted
	if math.Abs(a-b) > 0.01 {
		t.Errorf("a thigh that has room enough changes the leg from %.2f to %.2f mm", a, b)
	}
	if got := draft(body.Measures{body.FootGirth: 380}, words("hem",
		"tapered"))["hem_girth"].Drafted; math.Abs(got-390) > 0.01 {
		t.Errorf("a foot of 380 mm is given a hem of %.1f mm, want 390", got)
	}
	if got := draft(body.Measures{body.CalfGirth: 440, body.ThighGirth: 600},
		words("hem", "tapered")); got["knee_girth"].Drafted < 480 {
		t.Errorf("a calf of 440 mm is given a knee of %.1f mm", got["knee_girth"].Drafted)
	}
}

func TestTrouserAlterations(t *testing.T) {
	t.Parallel()
	draft := func(alterations map[string]float64) map[string]pattern.Check {
		p, err := draftTrousers(t.Context(), Request{Body: handbookTrousers(t, nil), Fit: "regular",
			Alterations: alterations})
		if err != nil {
			t.Fatal(err)
		}
		return checksOf(p)
	}
	plain := draft(nil)
	for _, tt := range []struct {
		alteration string
		by         float64
		check      string
		want       float64
	}{
		{alterSeat, 20, "total_crotch_length", 20},
		{alterSeat, -20, "total_crotch_length", -20},
		{alterSwayBack, 15, "total_crotch_length", -15},
		{alterRise, 15, "body_rise", 15},
		{alterRise, 15, "inside_leg", -15},
		{alterRise, 15, "waist_to_floor", 0},
		{alterThigh, 40, "thigh_girth", 40},
		{alterLegLength, -25, "inside_leg", -25},
		{alterLegLength, -25, "waist_to_floor", -25},
		{alterSeat, 20, "hip_girth", 0},
		{alterSwayBack, 15, "waist_girth", 0},
		{alterThigh, 40, "hip_girth", 0},
	} {
		tol := 0.01
		if tt.alteration == alterThigh {
			tol = 3 // the reach takes part in what the crotch seam gains
		}
		got := draft(map[string]float64{tt.alteration: tt.by})[tt.check].Drafted - plain[tt.check].Drafted
		if math.Abs(got-tt.want) > tol {
			t.Errorf("%s of %g mm changes %s by %.2f mm, want %g", tt.alteration, tt.by, tt.check, got, tt.want)
		}
	}
}

// Every alteration, at both its ends, drafts every body: nothing fails.
func TestTrouserAlterationsOnRealBodies(t *testing.T) {
	t.Parallel()
	testAlterations(t, trousersSpec(), trousersAlterations())
}

// testAlterations drafts the survey's women with every alteration of a block at both its ends.
func testAlterations(t *testing.T, spec Spec, alterations []Alteration) {
	t.Helper()
	people := surveytest.Women(t)
	for _, a := range alterations {
		for _, v := range [2]float64{a.Min, a.Max} {
			y := newTally()
			for i := 0; i < len(people); i += everyNth(20) {
				p, err := draftTo(spec, Request{Fit: "regular", Alterations: map[string]float64{a.Name: v}}, people[i])
				y.add(t, a.Name, p, err)
			}
			if total := y.drafted + y.refused; y.refused*10 > total {
				t.Errorf("%s of %g: %d of %d refused: %v", a.Name, v, y.refused, total, y.reasons)
			}
		}
	}
}

// Legs of different length come out as a piece for each side.
func TestTrouserSidesThatDiffer(t *testing.T) {
	t.Parallel()
	p, err := draftTrousers(t.Context(), Request{Body: handbookTrousers(t, nil), Fit: "regular",
		Left: map[string]float64{alterLegLength: -12}})
	if err != nil {
		t.Fatal(err)
	}
	for _, broken := range p.Validate() {
		t.Error(broken)
	}
	long := map[string]float64{}
	for _, q := range p.Pieces {
		long[q.Name] = q.Run(edgeSide).Length()
	}
	if d := long["right_front"] - long["left_front"]; len(long) != 4 || d < 11.5 || d > 12.5 {
		t.Errorf("sides %v, want the left 12 mm shorter", long)
	}
}

func TestTrouserRefusals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name    string
		body    body.Body
		choices map[string]Value
		field   string
		because string
	}{
		{"crotch far too long", handbookTrousers(t, body.Measures{body.TotalCrotchLength: 900}), nil,
			"/measurements/total_crotch_length", "910 mm are asked for"},
		{"crotch far too short", handbookTrousers(t, body.Measures{body.TotalCrotchLength: 500}), nil,
			"/measurements/total_crotch_length", "510 mm are asked for"},
		{"hem below the floor", handbookTrousers(t, nil), map[string]Value{"length": {Number: 900}}, "/choices/length",
			"at most 815 mm"},
		{"waist lowered to the hip", handbookTrousers(t, body.Measures{body.WaistToHip: 120}),
			map[string]Value{"waist": {Number: 70}}, "/choices/waist", "at most 50 mm"},
		{"hip far too wide", handbookTrousers(t, body.Measures{body.HipGirth: 1400, body.ThighGirth: 620}), nil,
			"/measurements/waist_girth", "at most 60 mm"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := draftTrousers(t.Context(), Request{Body: tt.body, Fit: "regular", Choices: tt.choices})
			wantRefusal(t, err, tt.field, tt.because)
		})
	}
}

func TestReadingFindsSpoiledTrousers(t *testing.T) {
	t.Parallel()
	s, err := newTrousers(Request{Body: handbookTrousers(t, nil), Fit: "regular"})
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
	readBack := func(p *pattern.Pattern) error { return s.readBack(p, d.depth) }
	spoiled(t, readBack, p, back, edgeSide, geom.Pt(1, 0), "hip_girth")
	spoiled(t, readBack, p, front, edgeSide, geom.Pt(0, 1), "waist_to_hip")
	spoiled(t, readBack, p, front, edgeInseam, geom.Pt(1, 0), "knee_girth")
	spoiled(t, readBack, p, front, edgeInseam, geom.Pt(0, 1), "inside_leg")
	spoiled(t, readBack, p, front, edgeCrotch, geom.Pt(0, 1), "body_rise")
	spoiled(t, readBack, p, back, edgeHem, geom.Pt(0, 1), "not closed")
	q := p
	q.Pieces = append([]pattern.Piece(nil), p.Pieces...)
	q.Pieces[back].Edges = append([]pattern.Edge(nil), p.Pieces[back].Edges...)
	for i, e := range q.Pieces[back].Edges {
		if e.Run == edgeCrotch {
			q.Pieces[back].Edges[i].Path = e.Path.Part(1, e.Path.Length())
		}
	}
	if err := readBack(&q); err == nil || !strings.Contains(err.Error(), "total_crotch_length") {
		t.Errorf("a crotch shortened by 1 mm: %v", err)
	}
}

func BenchmarkTrousers(b *testing.B) {
	r := Request{Body: handbookTrousers(b, nil), Fit: "regular"}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := draftTrousers(b.Context(), r); err != nil {
			b.Fatal(err)
		}
	}
}

// Legs to the knee with a narrow hem, one longer: one is widened up to its crotch to leave the leg room. They are
// refused by the choice that causes it, and drafted with a wider hem.
func TestTrousersLegsOfOneCrotch(t *testing.T) {
	t.Parallel()
	m := surveytest.Women(t)[0]
	r := Request{Fit: "loose", Choices: map[string]Value{"length": {Word: "knee"}, "hem": {Number: 320}},
		Left: map[string]float64{alterLegLength: 40}}
	_, err := draftTo(trousersSpec(), r, m)
	wantRefusal(t, err, "/choices/hem", "a wider hem, or legs equally long")
	r.Choices["hem"] = Value{Number: 600}
	p, err := draftTo(trousersSpec(), r, m)
	if err != nil {
		t.Fatal(err)
	}
	for _, broken := range p.Validate() {
		t.Error(broken)
	}
}
