package main

import (
	"bytes"
	"io"
	"maps"
	"math"
	"os"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

const surveyFolder = "../../../shared/data"

func readSurveys(t *testing.T) []survey {
	t.Helper()
	s, err := readSurvey(surveyFolder)
	if os.IsNotExist(err) {
		t.Skipf("no survey data: %v", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The embedded model is the one that fitting gives.
func TestModelIsUpToDate(t *testing.T) {
	t.Parallel()
	model, err := fit(io.Discard, readSurveys(t), fittedHalf)
	if err != nil {
		t.Fatal(err)
	}
	want, err := encode(model)
	if err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile("../../drafting/body/population/people.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("people.json differs from the fitted model: run go generate ./drafting/body/population, " +
			"review the evaluation, and commit")
	}
}

// The halves are disjoint and complete.
func TestHalves(t *testing.T) {
	t.Parallel()
	for _, s := range readSurveys(t) {
		a, b := fittedHalf(s.people), heldOutHalf(s.people)
		if len(a)+len(b) != len(s.people) {
			t.Errorf("%s: %d and %d of %d", s.group, len(a), len(b), len(s.people))
		}
		for i := range b {
			if maps.Equal(a[i], b[i]) {
				t.Errorf("%s: person %d is in both halves", s.group, i)
			}
		}
	}
}

// On the people held out, assessment refuses nobody, asks about few and finds
// mistakes. Everybody is tried without a mistake on every form. Mistakes are
// tried on every 24th person with all measurements, for which the goals are
// set. Command bodymodel -evaluate prints the tables in full.
func TestGoalsAreMet(t *testing.T) {
	t.Parallel()
	surveys := readSurveys(t)
	for _, f := range forms {
		var everybody trial
		for _, s := range surveys {
			everybody = append(everybody, try(heldOutHalf(s.people), f, untouched)...)
		}
		if !untouched.met(everybody) {
			t.Errorf("%s: asked about %.2f %% of real bodies, refused %.2f %%; want at most 1 %% and none",
				f.title, 100*everybody.asked(confirm), 100*everybody.refused())
		}
	}
	for _, k := range tryAll(surveys, forms[0], 24)[1:] {
		if all := k.all(); !k.kind.met(all) {
			t.Errorf("%s: asked about %.2f %%, named %.2f %%, want %s",
				k.kind.title, 100*all.asked(confirm), 100*all.named(), k.kind.goal)
		}
	}
}

// The model's estimates have smaller errors than the handbook's rules and a
// constant share of bust or height, with and without the mean differences.
func TestEstimatesBeatProportions(t *testing.T) {
	t.Parallel()
	for _, s := range readSurveys(t) {
		for _, p := range proportions {
			of, err := p.errors(s)
			if err != nil {
				t.Fatal(err)
			}
			model, share, handbook := of[0], of[1], of[2]
			if p.value != nil && s.group == women && !model.beats(handbook) {
				t.Errorf("%s: error %s mm, handbook %s", p.name, model, handbook)
			}
			if !model.beats(share) {
				t.Errorf("%s, %s: error %s mm, share %s", s.group, p.name, model, share)
			}
		}
	}
}

func (e errorSum) beats(other errorSum) bool {
	return e.rms() < other.rms() && e.deviation() < other.deviation()
}

// The women of the trade agree with the handbook's chart in the measures that
// were moved to it.
func TestTradeMatchesTheChart(t *testing.T) {
	t.Parallel()
	model, err := population.People().Only("women_trade")
	if err != nil {
		t.Fatal(err)
	}
	given := body.Measures{body.Height: 1640, body.BustGirth: 880, body.HipGirth: 940}
	for _, n := range []body.Name{body.NapeToWaist, body.WaistToHip, body.WaistToKnee, body.WaistToFloor, body.BodyRise} {
		got := math.Exp(view(model, given).Predict(model.Index(string(n))).Mean)
		if math.Abs(got/chart[n]-1) > 0.02 {
			t.Errorf("%s: %.0f, chart %.0f", n, got, chart[n])
		}
	}
}
