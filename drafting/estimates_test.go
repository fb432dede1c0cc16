package drafting_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/compare"
	"tapeline/drafting/fault"
)

func estimates(t *testing.T, o drafting.Order) map[body.Name]drafting.Estimate {
	t.Helper()
	list, err := drafting.Estimates(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	byName := map[body.Name]drafting.Estimate{}
	for i, e := range list {
		if len(e.Refused) == 0 && i > 0 && len(list[i-1].Refused) == 0 && e.Move > list[i-1].Move {
			t.Errorf("%s moves %g mm and stands after %s with %g", e.Name, e.Move, list[i-1].Name, list[i-1].Move)
		}
		byName[e.Name] = e
	}
	return byName
}

// What an estimate could do is what measuring it would do: the order with it
// given, drafted and laid on the first.
func TestEstimatesAreWhatMeasuringWouldChange(t *testing.T) {
	t.Parallel()
	o := sample(t)
	was, err := drafting.Draft(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	for n, e := range estimates(t, o) {
		largest := 0.0
		for _, off := range []float64{-1, 1} {
			measured := o
			measured.Measurements = body.Measures{n: e.Value + off*e.Spread}
			for name, v := range o.Measurements {
				measured.Measurements[name] = v
			}
			now, err := drafting.Draft(t.Context(), measured)
			if err != nil {
				t.Fatal(err)
			}
			d, err := compare.Patterns(t.Context(), was, now)
			if err != nil {
				t.Fatal(err)
			}
			largest = math.Max(largest, d.Largest())
		}
		if e.Move != largest || (e.Piece == "") != (largest == 0) {
			t.Errorf("%s: moves %s by %g mm, want %g", n, e.Piece, e.Move, largest)
		}
	}
}

// A measurement that the order's choices leave out does not matter, and one
// that sets a hem moves it by all of the spread.
func TestEstimatesThatMatter(t *testing.T) {
	t.Parallel()
	o := sample(t)
	if e := estimates(t, o)[body.WaistToKnee]; e.Spread == 0 || e.Move != 0 {
		t.Errorf("of a torso to the hip: %+v", e)
	}
	o.Choices["length"] = block.Value{Word: "knee"}
	if e := estimates(t, o)[body.WaistToKnee]; math.Abs(e.Move-e.Spread) > 0.5 {
		t.Errorf("of a torso to the knee: %+v", e)
	}
	spec, request, err := o.Request()
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range spec.Uses {
		o.Measurements[n] = request.Body.Value(n)
	}
	if left := estimates(t, o); len(left) > 0 {
		t.Errorf("with everything given there are estimates: %+v", left)
	}
}

// Where being off by the spread would leave no draft it says why, first of
// all: a full arm needs its armhole measured.
func TestEstimatesThatLeaveNoDraft(t *testing.T) {
	t.Parallel()
	o := sample(t)
	o.Measurements[body.UpperArmGirth] = 475
	list, err := drafting.Estimates(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	e := list[0]
	if e.Name != body.ScyeDepth || len(e.Refused) == 0 || e.Move == 0 {
		t.Fatalf("first comes %+v", e)
	}
	for _, f := range e.Refused {
		if f.Code != fault.Undraftable || !strings.Contains(f.Accepted, "too small for this upper arm") {
			t.Errorf("refused for %+v", f)
		}
	}
}

func TestEstimatesOfAFaultyOrder(t *testing.T) {
	t.Parallel()
	o := sample(t)
	o.Measurements[body.BustGirth] = 10
	if list, err := drafting.Estimates(t.Context(), o); list != nil || err == nil {
		t.Errorf("%v, %v", list, err)
	}
}

func BenchmarkEstimates(b *testing.B) {
	o := sample(b)
	for b.Loop() {
		if _, err := drafting.Estimates(b.Context(), o); err != nil {
			b.Fatal(err)
		}
	}
}
