package form

import (
	"encoding/csv"
	"maps"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	bodies "tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// shoulderGirths returns the girths over the shoulders and arms of the survey's people, mm.
func shoulderGirths(t *testing.T, name string) (all []float64) {
	t.Helper()
	file, err := os.Open("../../../shared/data/" + name)
	if err != nil {
		t.Skip(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := slices.Index(rows[0], "shoulder_girth")
	for _, row := range rows[1:] {
		cm, err := strconv.ParseFloat(row[column], 64)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, 10*cm)
	}
	return all
}

// TestShoulders compares the girth over both arms of forms of the survey's people with what
// was measured on them (ANSUR II).
func TestShoulders(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		file  string
		woman bool
	}{{"bodies-women.csv", true}, {"bodies-men.csv", false}} {
		people := surveytest.Women(t)
		if !test.woman {
			people = surveytest.Men(t)
		}
		measured := shoulderGirths(t, test.file)
		if len(measured) != len(people) {
			t.Fatalf("%d girths of %d people", len(measured), len(people))
		}
		var sum, squares, n float64
		for i := 0; i < len(people); i += 150 {
			given := maps.Clone(people[i])
			maps.DeleteFunc(given, func(n bodies.Name, _ float64) bool { // orders give lengths
				return n != bodies.Height && strings.HasSuffix(string(n), "_height")
			})
			b, faults := bodies.NewIn(bodies.Millimetre, given, nil, Needs)
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			f, err := Make(t.Context(), b, test.woman)
			if err != nil {
				t.Fatal(err)
			}
			var round []r2.Vec
			for _, loop := range f.Section((f.Landmarks[Shoulder].Y + f.Landmarks[Armpit].Y) / 2) {
				round = append(round, loop...)
			}
			off := Girth(round) - measured[i]
			sum, squares, n = sum+off, squares+off*off, n+1
		}
		mean := sum / n
		sd := math.Sqrt(squares/n - mean*mean)
		t.Logf("%s: %.0f forms, %.1f mm more on average, standard deviation %.1f", test.file, n, mean, sd)
		if math.Abs(mean) > 15 || sd > 40 {
			t.Errorf("%s: the shoulders of forms are %.1f mm more than measured, standard deviation %.1f", test.file, mean, sd)
		}
	}
}

// TestRightArm reads the girths of an arm square to it.
func TestRightArm(t *testing.T) {
	_, m := surface(t, "w-average")
	f := made(t, m)
	arm := f.RightArm()
	for _, test := range []struct {
		name string
		at   float64
		want float64
	}{
		{"upper arm", 90, 10 * m["upper_arm_girth"]},
		{"elbow", arm.Elbow(), 10 * m["elbow_girth"]},
	} {
		if got := 2 * math.Pi * arm.Radius(test.at); math.Abs(got-test.want) > 0.02*test.want {
			t.Errorf("%s: %.1f mm, want %.1f", test.name, got, test.want)
		}
	}
	if got, want := arm.Length(), 10*m["arm_length"]; math.Abs(got-want) > 5 {
		t.Errorf("arm %.1f mm long, want %.1f", got, want)
	}
	if at, along := arm.At(arm.Length()); at.X > -0.2*arm.Length() || along.Y > -0.9 || along.Z < 0.05 {
		t.Errorf("the wrist is at %.0f in the direction %.2f: not out, down and forward", at, along)
	}
}

// TestShoulderIsSmooth: the distance from trunk and arms has no step where they meet.
func TestShoulderIsSmooth(t *testing.T) {
	_, m := surface(t, "w-average")
	f := made(t, m)
	shoulder := f.Landmarks[Shoulder]
	for z := -60.0; z <= 60; z += 5 {
		for x := 0.6 * shoulder.X; x < 1.3*shoulder.X; x++ {
			p := r3.Vec{X: x, Y: shoulder.Y - 20, Z: z}
			d, _ := f.Distance(p)
			next, _ := f.Distance(r3.Add(p, r3.Vec{X: 1}))
			if math.Abs(next-d) > 1.5 {
				t.Errorf("at %.0f: %.1f mm, a millimetre on %.1f", p, d, next)
			}
		}
	}
}

// TestArmBesideWideTrunk: the arms of wide bodies lie beside the trunk, with their girth.
func TestArmBesideWideTrunk(t *testing.T) {
	for _, bust := range []float64{1000, 1280, 1440, 1600} {
		more := bust - 880
		m := bodies.Measures{bodies.Height: 1680, bodies.BustGirth: bust, bodies.WaistGirth: 700 + more,
			bodies.HipGirth: 940 + 0.9*more, bodies.NeckBaseGirth: 370 + 0.16*more, bodies.ShoulderLength: 122 + 0.035*more,
			bodies.BackWidth: 344 + 0.25*more, bodies.NapeToWaist: 410 + 0.1*more, bodies.WaistToHip: 206,
			bodies.UpperArmGirth: 284 + 0.3*more, bodies.WristGirth: 160 + 0.05*more, bodies.ArmLength: 585}
		b, faults := bodies.NewIn(bodies.Millimetre, m, nil, Needs)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		f, err := Make(t.Context(), b, true)
		if err != nil {
			t.Fatal(err)
		}
		for _, y := range []float64{f.Landmarks[Armpit].Y - 1, f.Landmarks[BustPoint].Y, f.Landmarks[Elbow].Y} {
			trunk, arm := 0.0, math.Inf(1)
			for _, loop := range f.Section(y) {
				about := about(loop, r2.Vec{Y: middleOf(loop)})
				for _, p := range loop {
					if about {
						trunk = max(trunk, p.X)
					} else if loop[0].X > 0 {
						arm = min(arm, p.X)
					}
				}
			}
			if trunk-arm > pressed+3 {
				t.Errorf("bust %.0f: at %.0f mm the arm lies %.0f mm in the trunk", bust, y, trunk-arm)
			}
		}
		arm := f.RightArm()
		for s := 90.0; s < arm.Elbow(); s += 50 {
			got := 2 * math.Pi * arm.Radius(s)
			if most, least := 1.03*b.Value(bodies.UpperArmGirth), 0.97*b.Value(bodies.ElbowGirth); got > most || got < least {
				t.Errorf("bust %.0f: the arm is %.0f mm round at %.0f mm, want %.0f to %.0f", bust, got, s, least, most)
			}
		}
	}
}
