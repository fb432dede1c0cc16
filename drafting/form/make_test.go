package form

import (
	"fmt"
	"maps"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	bodies "tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// made returns the form of the measurements of a body with a surface.
func made(t testing.TB, given map[string]float64) *Form {
	t.Helper()
	f, err := Make(t.Context(), bodyOf(t, given), true)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// bodyOf returns a body of measurements in cm.
func bodyOf(t testing.TB, given map[string]float64) bodies.Body {
	t.Helper()
	m := bodies.Measures{}
	for name, cm := range given {
		if _, ok := bodies.Lookup(bodies.Name(name)); ok {
			m[bodies.Name(name)] = 10 * cm
		}
	}
	b, faults := bodies.NewIn(bodies.Millimetre, m, nil, Needs)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return b
}

// TestMadeAgainstSurfaces makes forms of the measurements of three bodies and
// compares them with the bodies' own surfaces over the trunk.
func TestMadeAgainstSurfaces(t *testing.T) {
	for _, name := range []string{"w-average", "w-full-bust", "w-petite"} {
		body, m := surface(t, name)
		f := made(t, m)
		sum, n, worst := 0.0, 0, 0.0
		var where r3.Vec
		for _, p := range body.Points {
			l := body.Landmarks
			if p.Y < l[Crotch].Y+30 || p.Y > l[SideNeck].Y || math.Abs(p.X) > 0.9*l[Shoulder].X {
				continue
			}
			d, _ := f.Distance(p)
			sum += math.Abs(d)
			n++
			if math.Abs(d) > worst {
				worst, where = math.Abs(d), p
			}
		}
		t.Logf("%s: %.1f mm on average of %d points, worst %.1f at %.0f", name, sum/float64(n), n, worst, where)
		if sum/float64(n) > 12 {
			t.Errorf("%s: %.1f mm from the surface on average", name, sum/float64(n))
		}
	}
}

// personMade makes the form of a person of the survey, and fails the test if it cannot be made. It
// uses what a form needs and more.
func personMade(t *testing.T, i int, given bodies.Measures, woman bool, more ...bodies.Name) (
	b bodies.Body, f *Form, ok bool,
) {
	t.Helper()
	b, faults := bodies.NewIn(bodies.Millimetre, given, nil, append(more, Needs...))
	if len(faults) > 0 {
		t.Errorf("person %d: %v", i, faults)
		return b, nil, false
	}
	f, err := Make(t.Context(), b, woman)
	if err != nil {
		t.Errorf("person %d: %v", i, err)
		return b, nil, false
	}
	return b, f, true
}

// TestMadeForSurvey makes a form of every person of the survey, every two hundredth unless
// TAPELINE_WHOLE is set, and reads it: what was measured comes back.
func TestMadeForSurvey(t *testing.T) {
	t.Parallel()
	every := 200
	if os.Getenv("TAPELINE_WHOLE") != "" {
		every = 1
	}
	for _, woman := range []bool{true, false} {
		people := surveytest.Women(t)
		if !woman {
			people = surveytest.Men(t)
		}
		made, worst, where := 0, 0.0, ""
		for i := 0; i < len(people); i += every {
			given := maps.Clone(people[i])
			maps.DeleteFunc(given, func(n bodies.Name, _ float64) bool { // orders give lengths
				return n != bodies.Height && strings.HasSuffix(string(n), "_height")
			})
			b, f, ok := personMade(t, i, given, woman)
			if !ok {
				continue
			}
			made++
			for _, m := range f.Measures(b) {
				if m.Name == bodies.TotalCrotchLength {
					continue // the survey's begins at the navel
				}
				width := m.Name == bodies.ChestWidth || m.Name == bodies.BackWidth // which a form goes by if estimated too
				if off := math.Abs(m.Form - m.Body); (!m.Estimated || width) && off > worst {
					worst, where = off, fmt.Sprintf("%s of person %d", m.Name, i)
				}
			}
		}
		t.Logf("woman %v: %d made, at most %.1f mm off: %s", woman, made, worst, where)
		if worst > 2 {
			t.Errorf("woman %v: %s is %.1f mm off", woman, where, worst)
		}
	}
}

// TestCrotchLength reads the crotch length of forms of one woman with others in turn.
func TestCrotchLength(t *testing.T) {
	_, m := surface(t, "w-average")
	for _, cm := range []float64{58, 62, 68, 74, 80} {
		given := maps.Clone(m)
		delete(given, "body_rise")
		given["total_crotch_length"] = cm
		f := made(t, given)
		if got := f.crotchTape(f.Landmarks[Crotch].Y, f.Landmarks[CentreFrontWaist].Y); math.Abs(got-10*cm) > 2 {
			t.Errorf("%.1f mm, want %.0f", got, 10*cm)
		}
	}
}

// TestFrontLength reads the front of forms of one woman with fronts of other lengths.
func TestFrontLength(t *testing.T) {
	_, m := surface(t, "w-average")
	for _, cm := range []float64{-1.5, 0, 3} {
		given := maps.Clone(m)
		delete(given, "bust_height")
		given["front_waist_length"] += cm
		f := made(t, given)
		b := bodyOf(t, given)
		for _, r := range f.Measures(b) {
			if (r.Name == bodies.FrontWaistLength || r.Name == bodies.SideNeckToBust) && math.Abs(r.Form-r.Body) > 2 {
				t.Errorf("%+g cm: %s %.1f mm, want %.1f", cm, r.Name, r.Form, r.Body)
			}
		}
	}
}

// TestFrontOverBack makes forms of women of the survey whose heights are given: the front is as
// much longer than the back as a draft takes it to be, or its hem would hang off level.
func TestFrontOverBack(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	for i := 0; i < len(people); i += 83 {
		b, f, ok := personMade(t, i, people[i], true)
		if !ok {
			continue
		}
		off := 0.0 // of the front's length from the body's, less that of the back's
		for _, m := range f.Measures(b) {
			switch m.Name {
			case bodies.FrontWaistLength:
				off += m.Form - m.Body
			case bodies.NapeToWaist:
				off -= m.Form - m.Body
			}
		}
		if math.Abs(off) > 2 {
			t.Errorf("person %d: the front is %.1f mm too long for the back", i, off)
		}
	}
}

// TestBelly makes forms of women of the survey with invented bellies and reads them: the
// belly's girth comes back, and what lies outside of it stays.
func TestBelly(t *testing.T) {
	t.Parallel()
	people := surveytest.WithBellies(surveytest.Women(t))
	for i := 0; i < len(people); i += 67 {
		given := maps.Clone(people[i])
		maps.DeleteFunc(given, func(n bodies.Name, _ float64) bool {
			return n != bodies.Height && strings.HasSuffix(string(n), "_height")
		})
		if i%2 == 0 {
			given[bodies.WaistToBelly] = 0.06 * given[bodies.Height]
		}
		b, f, ok := personMade(t, i, given, true, bodies.WaistToBelly)
		if !ok {
			continue
		}
		read := map[bodies.Name]bool{}
		for _, m := range f.Measures(b) {
			read[m.Name] = true
			if off := math.Abs(m.Form - m.Body); !m.Estimated && off > 2 {
				t.Errorf("person %d: %s is %.1f mm off", i, m.Name, off)
			}
		}
		if !read[bodies.BellyGirth] || read[bodies.WaistGirth] {
			t.Errorf("person %d: read %v", i, read)
		}
		waist := f.Landmarks[CentreFrontWaist].Y
		level := waist - b.Value(bodies.WaistToBelly)
		large := given[bodies.BellyGirth] >= given[bodies.WaistGirth]+200
		if large && f.TrunkGirth(level) < f.TrunkGirth(level+30) {
			t.Errorf("person %d: the belly is fuller 30 mm above its girth", i)
		}
	}
}
