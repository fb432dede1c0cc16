package style_test

import (
	"maps"
	"math"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

// drafted is a built-in garment to a body, with choices.
func drafted(t *testing.T, slug string, m body.Measures, choices map[string]block.Value) pattern.Pattern {
	t.Helper()
	p, err := draftOf(t, slug, m, choices)
	if err != nil {
		t.Fatalf("%s %v: %v", slug, choices, err)
	}
	return p
}

// onStandard is a built-in garment to the standard body with some measures of its own.
func onStandard(t *testing.T, slug string, own body.Measures, choices map[string]block.Value) pattern.Pattern {
	t.Helper()
	m := maps.Clone(standard)
	maps.Copy(m, own)
	return drafted(t, slug, m, choices)
}

func draftOf(t *testing.T, slug string, m body.Measures, choices map[string]block.Value) (pattern.Pattern, error) {
	t.Helper()
	s, ok := style.Builtin(slug)
	if !ok {
		t.Fatalf("no garment %s", slug)
	}
	b, faults := body.New(m, s.Spec().Requires)
	if faults != nil {
		t.Fatal(faults)
	}
	return s.Draft(t.Context(), block.Request{Body: b, Fit: s.Spec().Fits[0].Name, Choices: choices})
}

func word(w string) block.Value      { return block.Value{Word: w} }
func number(v float64) block.Value   { return block.Value{Number: v} }
func yes() block.Value               { return word("yes") }
func near(a, b, within float64) bool { return math.Abs(a-b) <= within }
func piece(t *testing.T, p pattern.Pattern, name string) pattern.Piece {
	t.Helper()
	q, ok := p.Piece(name)
	if !ok {
		t.Fatalf("no piece %s", name)
	}
	return q
}

// run is the length of an edge, of all its parts.
func run(t *testing.T, p pattern.Pattern, name, edge string) float64 {
	t.Helper()
	var sum float64
	for _, e := range piece(t, p, name).Edges {
		if e.Run == edge && e.Role != pattern.RoleDartMouth {
			sum += e.Path.Length()
		}
	}
	if sum == 0 {
		t.Fatalf("piece %s has no edge %s", name, edge)
	}
	return sum
}

// Circle skirts by the closed formula (geometry of the circle): the waist's
// radius is the waist over 2 pi times the part, every place of waist and hem
// lies at its radius, and the hem is as long as the formula says.
func TestCircleSkirtsByFormula(t *testing.T) {
	t.Parallel()
	for part, share := range map[string]float64{"full": 1, "three_quarter": 0.75, "half": 0.5, "quarter": 0.25} {
		for _, long := range []float64{450, 620, 900} {
			m := body.Measures{"height": 1680, "waist_girth": 760, "hip_girth": 930, "waist_to_hip": 205}
			p := drafted(t, "flared-skirt", m, map[string]block.Value{"part": word(part), "length": number(long)})
			waist := 2 * (run(t, p, "front", "waist") + run(t, p, "back", "waist"))
			hem := 2 * (run(t, p, "front", "hem") + run(t, p, "back", "hem"))
			radius := waist / (2 * math.Pi * share)
			if want := 2 * math.Pi * share * (radius + long); !near(hem, want, 0.5) {
				t.Errorf("%s of %g: hem %.2f, by the formula %.2f", part, long, hem, want)
			}
			if !near(waist, 760, 0.5) && !near(waist, 770, 0.5) {
				t.Errorf("%s: waist %.2f", part, waist)
			}
			for _, name := range []string{"front", "back"} {
				for _, e := range piece(t, p, name).Edges {
					want := map[string]float64{"waist": radius, "hem": radius + long}[e.Run]
					if want == 0 {
						continue
					}
					for i := range 9 {
						if at := e.Path.At(e.Path.Length() * float64(i) / 8); !near(math.Hypot(at.X, at.Y), want, 0.1) {
							t.Errorf("%s of %g, %s %s: radius %.3f, want %.3f", part, long, name, e.Name, math.Hypot(at.X, at.Y), want)
						}
					}
				}
			}
		}
	}
}

// A skirt's waistband is as long as the waist it is sewn to, less what is eased
// in, and its underlap; the parts of it lie between the notches of the seams
// (common practice).
func TestWaistbandsMatch(t *testing.T) {
	t.Parallel()
	for slug, eased := range map[string]float64{"straight-skirt": 10, "flared-skirt": 0} {
		for _, zip := range []string{"centre_back", "left_side"} {
			p := drafted(t, slug, standard, map[string]block.Value{"zip": word(zip)})
			waist := 2 * (run(t, p, "front", "waist") + run(t, p, "back", "waist"))
			if got := run(t, p, "waistband", "top"); !near(got, waist-eased+30, 0.5) {
				t.Errorf("%s %s: band %.1f for a waist of %.1f", slug, zip, got, waist)
			}
			if got := piece(t, p, "waistband"); got.Interfacing != 1 {
				t.Errorf("%s: interfacing %d", slug, got.Interfacing)
			}
		}
	}
}

// The band of the dolman jacket fits the edge it is sewn to and is as wide as
// chosen: it is cut off front and back.
func TestJacketBandIsTheEdge(t *testing.T) {
	t.Parallel()
	for _, wide := range []float64{30, 50, 80} {
		p := drafted(t, "dolman-jacket", standard, map[string]block.Value{"band": number(wide)})
		for _, side := range []string{"front", "back"} {
			edge, band := run(t, p, side, "band_seam"), run(t, p, "band_"+side, "band_seam")
			if !near(band, edge, 0.1) {
				t.Errorf("band of the %s %.2f mm, its edge %.2f", side, band, edge)
			}
		}
		if got := run(t, p, "band_back", "centre_back"); !near(got, wide, 0.5) {
			t.Errorf("the band is %.1f mm wide at the centre back, want %.0f", got, wide)
		}
		if got := run(t, p, "band_front", "hem"); !near(got, wide, 0.5) {
			t.Errorf("the band is %.1f mm wide at the hem, want %.0f", got, wide)
		}
	}
}

// The dolman sleeve has the arm and 90 mm all along (common practice for a
// sleeve over other clothes, 90 to 130).
func TestJacketSleeveHasRoom(t *testing.T) {
	t.Parallel()
	for _, m := range several {
		found := false
		for _, c := range drafted(t, "dolman-jacket", m, nil).Checks {
			if !strings.HasPrefix(c.Name, "room for the arm above front/hem_sleeve") {
				continue
			}
			found = true
			if c.Ease < 89.9 || c.Drafted < c.Target-1 {
				t.Errorf("%s: %.0f mm for %.0f and %.0f", c.Name, c.Drafted, c.Body, c.Ease)
			}
		}
		if !found {
			t.Error("the sleeve's room was not read")
		}
	}
}

// Gathers: the skirt's top is as many times the waist as was chosen (common
// practice states fullness as that ratio).
func TestGathersRatio(t *testing.T) {
	t.Parallel()
	for _, times := range []float64{1.3, 1.8, 2.5} {
		p := drafted(t, "gathered-skirt-dress", standard, map[string]block.Value{"fullness": number(times)})
		for _, side := range []string{"front", "back"} {
			if got := run(t, p, "skirt_"+side, "top") / run(t, p, side, "hem"); !near(got, times, 0.001) {
				t.Errorf("%s gathered %.4f times, want %g", side, got, times)
			}
		}
	}
}

// A close knit is narrower than the body by a quarter of its stretch, and a
// rib band 87 of 100 of its opening (common practice: 80 to 90).
func TestKnitReduction(t *testing.T) {
	t.Parallel()
	s, _ := style.Builtin("knit-top")
	b, _ := body.New(standard, s.Spec().Requires)
	for _, stretch := range []float64{15, 40, 100} {
		p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: "close",
			Choices: map[string]block.Value{"stretch": number(stretch)}})
		if err != nil {
			t.Fatal(err)
		}
		var bust float64
		for _, c := range p.Checks {
			if c.Name == "block: bust_girth" {
				bust = c.Drafted
			}
		}
		if want := 920 * (1 - 0.25*stretch/100); !near(bust, want, 0.5) {
			t.Errorf("bust %.1f for a knit of %g %%, want %.1f", bust, stretch, want)
		}
		neck := run(t, p, "front", "neckline") + run(t, p, "back", "neckline")
		if got := run(t, p, "neckband", "bottom") / neck; got < 0.8 || got > 0.9 {
			t.Errorf("the neckband is %.3f of the neck", got)
		}
	}
}

// Every garment: paired seams as long as stated, and the cut line of each edge
// away from the seam by its allowance, none at a fold.
func TestSeamsAndAllowances(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		p := drafted(t, s.Head.Slug, standard, nil)
		for _, seam := range p.Seams {
			a, _ := piece(t, p, seam.A.Piece).Edge(seam.A.Edge)
			b, _ := piece(t, p, seam.B.Piece).Edge(seam.B.Edge)
			if off := a.Path.Length() - b.Path.Length() - seam.Ease; !near(off, 0, pattern.SeamTol) {
				t.Errorf("%s: seam %v to %v is off by %.2f", s.Head.Slug, seam.A, seam.B, off)
			}
		}
		ten := finish.Rules{Allowances: map[string]float64{"default": 10, "hem": 10}}
		for i := range p.Pieces {
			for k := range p.Pieces[i].Edges {
				p.Pieces[i].Edges[k].Allowance = nil
			}
		}
		p.Allowances = nil
		f, err := finish.Finish(t.Context(), p, ten)
		if err != nil {
			t.Fatalf("%s: %v", s.Head.Slug, err)
		}
		for _, q := range f.Pieces {
			for _, e := range q.Edges {
				want := 10.0
				if e.Role == pattern.RoleFold {
					want = 0
				}
				n := e.Path.Length()
				if e.Role == pattern.RoleDartMouth || n < 50 {
					continue
				}
				// Straight out from the middle of the edge, left as it is walked.
				at, along := e.Path.At(n/2), e.Path.Part(n/2, n).StartTangent()
				if _, d, _ := q.CutLine.Nearest(at.Add(along.Left().Mul(want))); d > 0.05 {
					t.Errorf("%s %s/%s: the cut line lies %.2f mm from where it should", s.Head.Slug, q.Name, e.Name, d)
				}
			}
		}
	}
}
