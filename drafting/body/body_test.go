package body_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
)

// standardFigure returns the figure whose estimates were worked out by hand.
// Bust, waist and hip are from the EN 13402-3 grid. The others are derived from
// those estimates: back width from "across (179, ...)", nape to waist from the front
// waist length, upper arm from the elbow, arm from shoulder to elbow, height
// from waist to hip, wrist from the sleeve's 215 less 55 of ease.
func standardFigure() body.Measures {
	return body.Measures{
		body.BustGirth: 880, body.WaistGirth: 720, body.HipGirth: 960, body.NeckBaseGirth: 370,
		body.ShoulderLength: 122.5, body.BackWidth: 344, body.NapeToWaist: 410,
		body.UpperArmGirth: 280, body.WristGirth: 160, body.ArmLength: 580, body.Height: 1640,
	}
}

func mustNew(t *testing.T, m body.Measures) body.Body {
	t.Helper()
	b, faults := body.New(m, nil)
	if len(faults) > 0 {
		t.Fatalf("New(%v): %v", m, faults)
	}
	return b
}

func TestStandardFigureEstimates(t *testing.T) {
	t.Parallel()
	want := map[body.Name]float64{ // worked out by hand
		body.ChestWidth: 322.28, body.BustPointWidth: 184, body.ShoulderSlope: 21, body.ScyeDepth: 191,
		body.FrontWaistLength: 458.95, body.SideNeckToBust: 264.80, body.WaistToHip: 205,
		body.ElbowGirth: 254, body.ShoulderToElbow: 333.5,
	}
	cup := standardFigure()
	cup[body.UnderBustGirth] = 723 // of ASTM D5585 at a bust of 880: the standard fullness
	for name, given := range map[string]body.Measures{"without cup": standardFigure(), "with its cup": cup} {
		b := mustNew(t, given)
		for n, v := range want {
			m := b.Get(n)
			if math.Abs(m.Value-v) > 0.005 {
				t.Errorf("%s: %s = %.3f, want %.2f", name, n, m.Value, v)
			}
			if !m.Estimated || m.Source == "" || b.Given(n) {
				t.Errorf("%s: %s is %+v, want an estimate with its source", name, n, m)
			}
		}
	}
	b := mustNew(t, standardFigure())
	if m := b.Get(body.BustGirth); m.Value != 880 || m.Estimated || m.Source != "" || !b.Given(body.BustGirth) {
		t.Errorf("bust_girth = %+v, want 880, given", m)
	}
}

// The estimates agree with size 12 of the handbook's chart (from memory) in the
// measurements that the chart defines as we do.
func TestStandardFigureAgainstHandbook(t *testing.T) {
	t.Parallel()
	b := mustNew(t, standardFigure())
	for _, tt := range []struct {
		name      body.Name
		want, tol float64
	}{
		{body.ChestWidth, 324, 5}, {body.WaistToHip, 206, 2}, {body.WaistToKnee, 585, 1},
		{body.WaistToFloor, 1040, 1}, {body.ScyeDepth, 210, 20},
	} {
		if got := b.Value(tt.name); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%s = %.1f, want %.1f within %.1f", tt.name, got, tt.want, tt.tol)
		}
	}
}

func TestCupDrivesTheFront(t *testing.T) {
	t.Parallel()
	front := func(bust, underBust float64) (length, chest float64) {
		m := standardFigure()
		m[body.BustGirth], m[body.UnderBustGirth] = bust, underBust
		b := mustNew(t, m)
		return b.Value(body.FrontWaistLength), b.Value(body.ChestWidth)
	}
	// On one frame, 25 mm of fullness adds 6 to 8 mm of length (practice), and
	// the chest above the bust stays the same.
	length, chest := front(880, 723)
	for bust := 905.0; bust <= 980; bust += 25 {
		l, c := front(bust, 723)
		if step := l - length; step < 6 || step > 8 {
			t.Errorf("front waist length grows by %.1f mm to bust %g, want 6 to 8", step, bust)
		}
		if c != chest {
			t.Errorf("chest width is %.1f at bust %g, %.1f before: want no change on one frame", c, bust, chest)
		}
		length, chest = l, c
	}
	// A large frame with a small cup has less front length than its girth alone gives.
	large := gridBody(grid[12], 1640)
	byGirth := mustNew(t, large).Value(body.FrontWaistLength)
	large[body.UnderBustGirth] = large[body.BustGirth] - 120
	b := mustNew(t, large)
	if got := b.Value(body.FrontWaistLength); got > byGirth-30 {
		t.Errorf("front waist length of a large frame with a small cup = %.1f, by girth %.1f", got, byGirth)
	}
}

func TestHeightsGiveLengths(t *testing.T) {
	t.Parallel()
	m := standardFigure()
	delete(m, body.Height)
	m[body.WaistHeight], m[body.HipHeight], m[body.KneeHeight] = 1040, 834, 455
	m[body.NapeHeight], m[body.AcromionHeight], m[body.ArmpitHeight], m[body.BustHeight] = 1405, 1351, 1250, 1160
	b := mustNew(t, m)
	drop := (1405.0 - 1351 - 10) / 122.5
	for n, want := range map[body.Name]float64{
		body.WaistToHip: 206, body.WaistToKnee: 585, body.WaistToFloor: 1040,
		body.ScyeDepth:        1.05*155 + 28,
		body.ShoulderSlope:    21 + (math.Asin(drop)*180/math.Pi-21)/2,
		body.FrontWaistLength: 0.64*410 + 0.76*245 + 11,
		body.SideNeckToBust:   1.1*245 + 6,
	} {
		if got := b.Value(n); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s = %.3f, want %.3f", n, got, want)
		}
	}
	for _, n := range []body.Name{body.WaistToHip, body.WaistToKnee, body.WaistToFloor} {
		if b.Get(n).Estimated {
			t.Errorf("%s is marked as an estimate although both heights were given", n)
		}
	}
	if !b.Get(body.ScyeDepth).Estimated {
		t.Error("scye_depth from heights is not marked as an estimate")
	}
}

func TestBackWidthAtArmpits(t *testing.T) {
	t.Parallel()
	m := standardFigure()
	delete(m, body.BackWidth)
	requires := []body.Name{body.BackWidth}
	if _, faults := body.New(m, requires); len(faults) != 1 || faults[0].Code != fault.Missing ||
		!strings.Contains(faults[0].Accepted, "back_width_armpit_level") {
		t.Errorf("without any back width: %v, want one missing fault that names back_width_armpit_level", faults)
	}
	m[body.BackWidthArmpitLevel] = 373
	b, faults := body.New(m, requires)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if got := b.Get(body.BackWidth); math.Abs(got.Value-359.945) > 1e-9 || !got.Estimated {
		t.Errorf("back_width = %+v, want 359.945 estimated", got)
	}
}

func TestMissing(t *testing.T) {
	t.Parallel()
	requires := []body.Name{body.BustGirth, body.WaistToHip}
	uses := []body.Name{body.BustPointWidth, body.WaistToKnee, body.HighHipGirth}
	fields := func(m body.Measures) []string {
		_, faults := body.NewIn(body.Centimetre, m, requires, uses)
		var got []string
		for _, f := range faults {
			if f.Code != fault.Missing {
				t.Errorf("%v: unexpected %v", m, f)
			}
			got = append(got, f.Field)
		}
		return got
	}
	for _, tt := range []struct {
		given body.Measures
		want  []string
	}{
		// Measurements that follow from required ones are not faults too.
		{body.Measures{}, []string{"/measurements/bust_girth", "/measurements/waist_to_hip", "/measurements/high_hip_girth"}},
		{body.Measures{body.BustGirth: 900, body.Height: 1640, body.HighHipGirth: 900}, nil},
		{body.Measures{
			body.BustGirth: 900, body.WaistHeight: 1000, body.HipHeight: 800, body.WaistGirth: 700, body.HipGirth: 900,
		}, nil},
		{body.Measures{
			body.BustGirth: 900, body.WaistHeight: 1000, body.HighHipGirth: 900,
		}, []string{"/measurements/waist_to_hip"}},
	} {
		if got := fields(tt.given); !slices.Equal(got, tt.want) {
			t.Errorf("missing of %v = %v, want %v", tt.given, got, tt.want)
		}
	}
}

func TestLimits(t *testing.T) {
	t.Parallel()
	for _, info := range body.All() {
		if info.Title == "" || info.How == "" || !(0 < info.Min && info.Min < info.Max) {
			t.Errorf("%+v is incomplete", info)
		}
		for _, v := range []float64{info.Min, info.Max} {
			if _, faults := body.New(body.Measures{info.Name: v}, nil); len(faults) > 0 {
				t.Errorf("%s = %g, its limit: %v", info.Name, v, faults)
			}
		}
		for _, v := range []float64{
			math.Nextafter(info.Min, 0), math.Nextafter(info.Max, 1e9), 0, -info.Min, 1e300,
			math.NaN(), math.Inf(1), math.Inf(-1),
		} {
			_, faults := body.New(body.Measures{info.Name: v}, nil)
			if len(faults) != 1 || faults[0].Code != fault.Range || faults[0].Field != "/measurements/"+string(info.Name) {
				t.Errorf("%s %g: %v, want one range fault", info.Name, v, faults)
			}
		}
	}
}

func TestFaultsAreInTheUnit(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		unit  body.Unit
		name  body.Name
		value float64 // in unit
		want  string
	}{
		{body.Centimetre, body.BustGirth, 36, "/measurements/bust_girth: 36 cm: bust is from 60 to 200 cm; is it in inch?"},
		{body.Centimetre, body.BustGirth, 920, "/measurements/bust_girth: 920 cm: bust is from 60 to 200 cm; is it in mm?"},
		{body.Inch, body.BustGirth, 92, "/measurements/bust_girth: 92 inch: bust is from 23.63 to 78.74 inch; is it in cm?"},
		{body.Centimetre, body.BustGirth, 0, "/measurements/bust_girth: 0 cm: bust is from 60 to 200 cm"},
		{body.Inch, body.ShoulderSlope, 90, "/measurements/shoulder_slope: 90 degree: shoulder slope is from 5 to 40 degree"},
		{body.Inch, body.WristGirth, 1e7, "/measurements/wrist_girth: 10000000 inch: wrist is from 3.94 to 12.99 inch"},
	} {
		v := tt.unit.Of(tt.name).MM(tt.value)
		_, faults := body.NewIn(tt.unit, body.Measures{tt.name: v}, nil, nil)
		if got := faults.Error(); got != tt.want {
			t.Errorf("got  %s\nwant %s", got, tt.want)
		}
	}
}

func TestUnknownNames(t *testing.T) {
	t.Parallel()
	_, faults := body.New(body.Measures{"bust": 900, "a/b~c": 1, "wist_girth": 700}, nil)
	want := []string{
		`/measurements/a~1b~0c: "a/b~c": unknown measurement`,
		`/measurements/bust: "bust": unknown measurement; did you mean bust_girth?`,
		`/measurements/wist_girth: "wist_girth": unknown measurement; did you mean waist_girth?`,
	}
	if got := faults.Error(); got != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", got, strings.Join(want, "\n"))
	}
}

func TestBodyIsIndependentOfItsInput(t *testing.T) {
	t.Parallel()
	m := standardFigure()
	b := mustNew(t, m)
	m[body.BustGirth] = 1
	if got := b.Value(body.BustGirth); got != 880 {
		t.Errorf("bust_girth = %g after the input changed, want 880", got)
	}
	if !slices.IsSorted(b.Names()) || len(b.Names()) <= len(m) {
		t.Errorf("Names() = %v, want all names, sorted", b.Names())
	}
}

func BenchmarkNew(b *testing.B) {
	m := standardFigure()
	b.ReportAllocs()
	for b.Loop() {
		if _, faults := body.New(m, nil); faults != nil {
			b.Fatal(faults)
		}
	}
}

// Measurements that a garment does not use contradict nothing in it.
func TestContradictionsOfUnusedMeasures(t *testing.T) {
	t.Parallel()
	m := standardFigure()
	m[body.FrontWaistLength] = 700 // 1.7 of the back's length
	skirt := []body.Name{body.WaistGirth, body.HipGirth, body.WaistToHip}
	if _, faults := body.New(m, skirt); len(faults) > 0 {
		t.Errorf("a skirt is refused: %v", faults)
	}
	lengths := []body.Name{body.FrontWaistLength, body.NapeToWaist}
	if _, faults := body.NewIn(body.Millimetre, m, skirt, lengths); len(faults) != 1 {
		t.Errorf("a garment that uses the lengths: %v, want one contradiction", faults)
	}
	if _, faults := body.New(m, nil); len(faults) != 1 {
		t.Errorf("for every garment: %v, want one contradiction", faults)
	}
	m[body.Height] = 1000 // in none of a skirt's needs, but the hip's depth can follow from it
	if _, faults := body.New(m, skirt); len(faults) == 0 {
		t.Error("an impossible height is taken")
	}
}
