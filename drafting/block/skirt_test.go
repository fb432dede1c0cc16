package block

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

func skirtBody(t testing.TB, waist, hip, waistToHip float64) body.Body {
	t.Helper()
	b, faults := body.New(body.Measures{body.WaistGirth: waist, body.HipGirth: hip, body.WaistToHip: waistToHip,
		body.Height: 1640}, circleSkirtSpec().Requires)
	if faults != nil {
		t.Fatal(faults)
	}
	return b
}

// A British handbook's straight skirt (W. Aldrich, Metric Pattern Cutting for
// Women's Wear, size 12; from memory): half its width is hip/2 + 15 mm, its back hip/4 + 15, the back
// waist waist/4 + 42.5 with two darts of 20, the front waist/4 + 22.5 with one.
func TestSkirtAgainstHandbook(t *testing.T) {
	t.Parallel()
	const waist, hip = 680.0, 940.0
	p, err := draftSkirt(Request{Body: skirtBody(t, waist, hip, 206), Fit: "close"})
	if err != nil {
		t.Fatal(err)
	}
	near := func(name string, got, want, tol float64) {
		t.Helper()
		t.Logf("%s %.1f mm, the handbook's %.1f", name, got, want)
		if math.Abs(got-want) > tol {
			t.Errorf("%s = %.1f mm, the handbook's is %.1f", name, got, want)
		}
	}
	width := func(q pattern.Piece) float64 { return q.Run(edgeHem).Length() }
	near("half width", width(p.Pieces[back])+width(p.Pieces[front]), hip/2+15, 0.01)
	near("back", width(p.Pieces[back]), hip/4+15, 0.01)
	open := func(q pattern.Piece) float64 {
		w := q.Run(edgeWaist)
		return math.Abs(w.Start().X - w.End().X)
	}
	near("back waist, darts open", open(p.Pieces[back]), waist/4+42.5, 5)
	near("front waist, dart open", open(p.Pieces[front]), waist/4+22.5, 3)
	for i, want := range [2][]float64{{20, 20}, {20}} {
		q := p.Pieces[i]
		if len(q.Darts) != len(want) {
			t.Fatalf("%s has %d darts, want %d", q.Name, len(q.Darts), len(want))
		}
		for k, d := range q.Darts {
			near(q.Name+" "+d.Name, d.Legs[0].Start().Dist(d.Legs[1].Start()), want[k], 3)
		}
	}
	side := p.Pieces[back].Run(edgeSide)
	near("side above the centre front", p.Pieces[front].Run(edgeCentre).Bounds().Min.Y-side.Start().Y, 12.5, 3)
}

// Circle skirts by the circle's circumference (computed): radius W / (2 pi part), hem radius that and the length.
func TestCircleSkirtByFormula(t *testing.T) {
	t.Parallel()
	for part, want := range map[string]float64{"full": 114.6, "three_quarter": 152.8, "half": 229.2, "quarter": 458.4} {
		p, err := draftCircleSkirt(Request{Body: skirtBody(t, 720, 900, 206), Fit: "regular",
			Choices: map[string]Value{"part": {Word: part},
				"length": {Number: 600}}, Ease: map[string]float64{"waist_girth": 0}})
		if err != nil {
			t.Fatal(err)
		}
		if r := CircleRadius(720, circleParts[part]); math.Abs(r-want) > 0.05 {
			t.Errorf("%s: radius %.2f mm, want %.1f", part, r, want)
		}
		for _, q := range p.Pieces {
			for _, arc := range []struct {
				run    string
				radius float64
			}{{edgeWaist, want}, {edgeHem, want + 600}} {
				path := q.Run(arc.run)
				for k := range 21 {
					if r := path.At(path.Length() * float64(k) / 20).Norm(); math.Abs(r-arc.radius) > 0.06 {
						t.Errorf("%s %s: %s lies at a radius of %.2f mm, want %.1f", part, q.Name, arc.run, r, arc.radius)
					}
				}
			}
		}
		var waist, hem float64
		for _, q := range p.Pieces {
			waist += 2 * q.Run(edgeWaist).Length()
			hem += 2 * q.Run(edgeHem).Length()
		}
		if wantHem := 720 + 2*math.Pi*circleParts[part]*600; math.Abs(waist-720) > 0.01 || math.Abs(hem-wantHem) > 0.02 {
			t.Errorf("%s: waist %.3f and hem %.3f mm, want 720 and %.3f", part, waist, hem, wantHem)
		}
	}
}

// A quarter circle that would not pass the hip is opened until it does.
func TestCircleSkirtPassesTheHip(t *testing.T) {
	t.Parallel()
	p, err := draftCircleSkirt(Request{Body: skirtBody(t, 700, 1080, 180), Fit: "close",
		Choices: words("part", "quarter")})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Warnings) != 1 || !strings.Contains(p.Warnings[0], "opened from 0.25") {
		t.Errorf("warnings %q", p.Warnings)
	}
	for _, c := range p.Checks {
		if c.Name == "hip_girth" && math.Abs(c.Drafted-1100) > 0.01 {
			t.Errorf("hip %.2f mm, want 1080 and 20 of ease", c.Drafted)
		}
	}
}

// A lowered waist has the girth that the body has there and shortens side and
// darts, not the skirt's end.
func TestLoweredWaist(t *testing.T) {
	t.Parallel()
	b := skirtBody(t, 720, 960, 200)
	drafted := func(choices map[string]Value) map[string]pattern.Check {
		p, err := draftSkirt(Request{Body: b, Fit: "regular", Choices: choices})
		if err != nil {
			t.Fatal(err)
		}
		all := map[string]pattern.Check{}
		for _, c := range p.Checks {
			all[c.Name] = c
		}
		return all
	}
	natural, low := drafted(nil), drafted(map[string]Value{"waist": {Number: 50}})
	// Half-way to the high hip, which is estimated as 880.
	if got, want := low["waist_girth"].Drafted-natural["waist_girth"].Drafted, (880.0-720)/2; math.Abs(got-want) > 0.01 {
		t.Errorf("the waist grew by %.2f mm, want %.2f", got, want)
	}
	for _, name := range []string{"waist_to_hip", "side_length"} {
		if got := natural[name].Drafted - low[name].Drafted; math.Abs(got-50) > 0.01 {
			t.Errorf("%s is %.2f mm shorter, want 50", name, got)
		}
	}
}

// A belly is carried in front: the front is wider at the waist and its centre
// higher.
func TestSkirtCarriesBellyInFront(t *testing.T) {
	t.Parallel()
	balance := func(waist float64) (width, height float64) {
		p, err := draftSkirt(Request{Body: skirtBody(t, waist, 1100, 200), Fit: "regular",
			Choices: words("centre_front", "seam")})
		if err != nil {
			t.Fatal(err)
		}
		b, f := p.Pieces[back].Run(edgeWaist), p.Pieces[front].Run(edgeWaist)
		return f.Length() - b.Length(), b.Start().Y - f.End().Y
	}
	flatWidth, flatHeight := balance(800)
	width, height := balance(1150)
	if width-flatWidth < 20 || height-flatHeight < 15 {
		t.Errorf("front less back at the waist %.1f mm (flat figure %.1f), centre front above centre back %.1f (%.1f)",
			width, flatWidth, height, flatHeight)
	}
}

func TestSkirtRefusals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name    string
		spec    Spec
		body    body.Body
		choices map[string]Value
		field   string
		because string
	}{
		{"hem at the hip", skirtSpec(), skirtBody(t, 720, 960, 200), map[string]Value{"length": {Number: 220}},
			"/choices/length", "40 mm below the hip"},
		{"circle's hem at the hip", circleSkirtSpec(), skirtBody(t, 720, 960, 200),
			map[string]Value{"length": {Number: 220}}, "/choices/length", "40 mm below the hip"},
		{"waist lowered to the hip", skirtSpec(), skirtBody(t, 720, 960, 120), map[string]Value{"waist": {Number: 70}},
			"/choices/waist", "at most 50 mm"},
		{"hip far too wide", skirtSpec(), skirtBody(t, 700, 1400, 150), nil, "/measurements/waist_girth", "at most 60 mm"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := Draft(t.Context(), tt.spec.Name, Request{Body: tt.body, Fit: "regular", Choices: tt.choices})
			wantRefusal(t, err, tt.field, tt.because)
		})
	}
}

// skirtOf returns a skirt and its pattern, before it is read back.
func skirtOf(t *testing.T, r Request) (*skirt, pattern.Pattern) {
	t.Helper()
	s, err := newSkirt(r)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.fitWaist(); err != nil {
		t.Fatal(err)
	}
	p, err := s.pattern()
	if err != nil {
		t.Fatal(err)
	}
	return s, p
}

func TestReadingFindsSpoiledSkirts(t *testing.T) {
	t.Parallel()
	s, p := skirtOf(t, Request{Body: skirtBody(t, 720, 960, 200), Fit: "regular"})
	spoiled(t, s.readBack, p, back, edgeSide, geom.Pt(1, 0), "hip_girth")
	spoiled(t, s.readBack, p, back, edgeSide, geom.Pt(0, 1), "waist_to_hip")
	spoiled(t, s.readBack, p, front, edgeHem, geom.Pt(0, 1), "not closed")
	p.Pieces[back].Darts[0].Legs[0] = p.Pieces[back].Darts[0].Legs[0].Part(0, 80)
	spoiled(t, s.readBack, p, back, edgeSide, geom.Point{}, "waist_dart_1_legs")
}

func BenchmarkSkirt(b *testing.B) {
	r := Request{Body: skirtBody(b, 720, 960, 200), Fit: "regular"}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := draftSkirt(r); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCircleSkirt(b *testing.B) {
	r := Request{Body: skirtBody(b, 720, 960, 200), Fit: "regular"}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := draftCircleSkirt(r); err != nil {
			b.Fatal(err)
		}
	}
}
