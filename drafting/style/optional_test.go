package style_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/cutting"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

// shapedGarments are drafted on the torso block.
var shapedGarments = []string{"shift-dress", "princess-dress", "gathered-skirt-dress", "torso-toile"}

// optional are measurements that shape the torso and that a customer may give
// or leave out.
var optional = []body.Name{body.FrontWaistLength, body.SideNeckToBust, body.BustPointWidth, body.ChestWidth,
	body.ScyeDepth, body.ShoulderSlope, body.UnderBustGirth}

// A garment is drafted whichever optional measurements are given, each as far
// from its estimate as people differ, and with the choices mixed.
func TestGarmentsWithVariedMeasures(t *testing.T) {
	t.Parallel()
	women := surveytest.WithBellies(surveytest.Women(t))
	for _, slug := range shapedGarments {
		t.Run(slug, func(t *testing.T) {
			t.Parallel()
			s, _ := style.Builtin(slug)
			rng := rand.New(rand.NewPCG(11, uint64(len(slug))))
			y := &tally{reasons: map[string]int{}, failures: map[string]int{}}
			spec := s.Spec()
			for range 600 / everyNth(10) {
				i, fit := rng.IntN(len(women)), spec.Fits[rng.IntN(len(spec.Fits))].Name
				given, err := surveytest.Vary(rng, women[i], spec.Requires, optional)
				if err != nil {
					t.Fatal(err)
				}
				var choices map[string]block.Value
				if rng.IntN(2) == 0 {
					choices = mixedChoices(rng, spec)
				}
				y.draft(t, s, fmt.Sprintf("woman %d", i), block.Request{Fit: fit, Choices: choices}, given)
			}
			y.judge(t)
		})
	}
}

// A garment is drafted to bodies of which every measurement is known.
func TestGarmentsOnForms(t *testing.T) {
	t.Parallel()
	for _, slug := range shapedGarments {
		t.Run(slug, func(t *testing.T) {
			t.Parallel()
			s, _ := style.Builtin(slug)
			y := &tally{reasons: map[string]int{}, failures: map[string]int{}}
			for i, form := range surveytest.Forms(t) {
				for k, fit := range s.Spec().Fits {
					if (i+k)%everyNth(4) == 0 {
						y.draft(t, s, fmt.Sprintf("form %d", i), block.Request{Fit: fit.Name}, form.Given)
					}
				}
			}
			y.judge(t)
		})
	}
}

// draft drafts a garment to the measurements and finishes it.
func (y *tally) draft(t *testing.T, s *style.Style, name string, r block.Request, given body.Measures) {
	t.Helper()
	spec := s.Spec()
	b, faults := body.NewIn(body.Millimetre, given, spec.Requires, spec.Uses)
	if len(faults) > 0 {
		y.add(name, faults)
		return
	}
	r.Body = b
	p, err := s.Draft(t.Context(), r)
	if err == nil {
		_, err = finish.Finish(t.Context(), p, finish.Rules{})
	}
	y.add(fmt.Sprintf("%s %s %v", name, r.Fit, r.Choices), err)
}

// judge fails the test for every draft that failed, and if more than one in a
// hundred was refused.
func (y *tally) judge(t *testing.T) {
	t.Helper()
	t.Logf("%d drafted, %d refused, %d failed", y.drafted, y.refused, y.failed)
	var failures []string
	for f := range y.failures {
		failures = append(failures, f)
	}
	slices.Sort(failures)
	for _, f := range failures {
		t.Error(f)
	}
	if y.failed > 0 {
		t.Errorf("%d failed", y.failed)
	}
	if all := y.drafted + y.refused; y.refused*100 > all {
		t.Errorf("%d of %d refused: %v", y.refused, all, y.reasons)
	}
}

// A princess dress holds the breast above and below its point: on bodies with a
// surface the panels are wider than the body's own girth at every level from the
// underarm to 60 mm below the bust, as wide as promised at the bust, and a
// close fit's ease apart no wider than that.
func TestPrincessFollowsTheBreast(t *testing.T) {
	t.Parallel()
	s, _ := style.Builtin("princess-dress")
	for i, form := range surveytest.Forms(t) {
		b, faults := body.NewIn(body.Millimetre, form.Given, s.Spec().Requires, s.Spec().Uses)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		for _, from := range []string{"shoulder", "armhole"} {
			if i%everyNth(4) != 0 {
				continue
			}
			p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: "close",
				Choices: map[string]block.Value{"seams_from": {Word: from}}})
			if err != nil {
				t.Errorf("form %d: %v", i, err)
				continue
			}
			bust, underarm := panelLevels(p)
			for down := -20.0; down <= 60; down += 20 {
				girth, known := form.GirthAt(form.Given[body.BustHeight] - down)
				if !known || bust+down < underarm+15 {
					continue
				}
				ease := panelGirth(p, bust+down) - girth
				if ease < 15 || down == 0 && (ease < 45 || ease > 65) {
					t.Errorf("form %d, from the %s: %.0f mm of ease %.0f mm below the bust", i, from, ease, down)
				}
			}
		}
	}
}

// panelLevels returns the levels of the bust point and of the lower underarm.
func panelLevels(p pattern.Pattern) (bust, underarm float64) {
	for _, q := range p.Pieces {
		for _, k := range q.Marks {
			if k.Kind == pattern.MarkBustPoint {
				bust = k.At.Y
			}
		}
		if strings.HasPrefix(q.Name, "side_") {
			underarm = max(underarm, q.Run("side").Bounds().Min.Y)
		}
	}
	return bust, underarm
}

// panelGirth returns the girth of the panels at a level, mm.
func panelGirth(p pattern.Pattern, y float64) float64 {
	var half float64
	for _, q := range p.Pieces {
		if strings.HasPrefix(q.Name, "side_") || strings.HasSuffix(q.Name, "_panel") {
			half += cutting.WidthAt(q, y)
		}
	}
	return 2 * half
}
