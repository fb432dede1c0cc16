package customers

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/service"
)

// figure returns an ordinary set of measurements.
func figure() Measurements {
	return Measurements{Unit: "cm", Values: map[string]float64{
		"height": 166, "bust_girth": 92.5, "waist_girth": 75, "hip_girth": 99.5, "neck_base_girth": 37,
		"shoulder_length": 12.8, "shoulder_slope": 21, "back_width": 35.5, "nape_to_waist": 41.2, "waist_to_hip": 20.5,
		"upper_arm_girth": 28.6, "wrist_girth": 15.8, "arm_length": 55.4,
	}}
}

// inInches returns the figure in inches, with angles in degrees.
func inInches() Measurements { return Measurements{Unit: "inch", Values: figure().In("inch")} }

func TestMeasurementsInAnotherUnit(t *testing.T) {
	t.Parallel()
	m := inInches()
	if got := m.Values["shoulder_slope"]; got != 21 {
		t.Errorf("shoulder_slope = %g degrees in inches, want 21", got)
	}
	if got := m.In("cm")["bust_girth"]; math.Abs(got-92.5) > 1e-5 {
		t.Errorf("bust_girth = %g cm by inches and back, want 92.5", got)
	}
	if got := m.MM()[body.BustGirth]; math.Abs(got-925) > 1e-4 {
		t.Errorf("bust_girth = %g mm, want 925", got)
	}
}

func TestAssessOrdinarySet(t *testing.T) {
	t.Parallel()
	for _, m := range []Measurements{figure(), inInches()} {
		a := Assess(Levels{}, m, Needs{})
		if !a.Acceptable() || len(a.Findings) > 0 || len(a.Measures) <= len(m.Values) {
			t.Errorf("%s: %+v, want no findings and estimates", m.Unit, a)
		}
		for _, measure := range a.Measures {
			want := m.Unit
			if measure.Name == "shoulder_slope" {
				want = "degree"
			}
			if measure.Unit != want || measure.Estimated != (measure.Source != "" && measure.Spread > 0) {
				t.Errorf("%s: measure %+v, want unit %s", m.Unit, measure, want)
			}
		}
	}
}

// A hip in inches among centimetres is a doubt, with the correction in the
// unit of the set. The shop's levels decide what it means.
func TestAssessDoubtfulNumber(t *testing.T) {
	t.Parallel()
	m := figure()
	m.Values["hip_girth"] = 99.5 - 35 // inside the hard limits
	for _, tt := range []struct {
		levels Levels
		want   Level
	}{
		{Levels{}, Confirm},
		{Levels{Refuse: 0.9}, Refuse},
	} {
		a := Assess(tt.levels, m, Needs{})
		if len(a.Findings) != 1 {
			t.Fatalf("%+v: findings %+v, want one", tt.levels, a.Findings)
		}
		f := a.Findings[0]
		if f.Level != tt.want || f.Code != fault.Implausible || f.Field != "/measurements/hip_girth" ||
			f.Expected == nil || f.Expected.Unit != "cm" || f.Chance <= 0.5 || f.Chance > 1 {
			t.Errorf("%+v: finding %+v, want level %s about hip_girth", tt.levels, f, tt.want)
		}
		if got := len(a.Doubts(tt.want)); got != 1 {
			t.Errorf("%+v: %d doubts, want 1", tt.levels, got)
		}
		if got := len(a.Doubts(Note)); got != 0 {
			t.Errorf("%+v: %d doubts of level note, want 0", tt.levels, got)
		}
		if a.Acceptable() != (tt.want != Refuse) {
			t.Errorf("%+v: Acceptable() = %v", tt.levels, a.Acceptable())
		}
	}
}

// Hard limits and needs refuse a set, but are not doubts.
func TestAssessRefusedSet(t *testing.T) {
	t.Parallel()
	m := figure()
	m.Values["bust_girth"] = 9999
	m.Values["nose_length"] = 5
	a := Assess(Levels{}, m, Needs{Requires: []body.Name{body.ThighGirth}})
	var codes []fault.Code
	for _, f := range a.Faults(Refuse) {
		codes = append(codes, f.Code)
	}
	if want := []fault.Code{fault.Range, fault.Unknown, fault.Missing}; !slices.Equal(codes, want) {
		t.Errorf("faults %v, want %v", codes, want)
	}
	if a.Acceptable() || len(a.Doubts(Refuse)) > 0 || len(a.Measures) > 0 {
		t.Errorf("assessment %+v, want it refused, without doubts and measures", a)
	}
}

func TestLevelsAreValidated(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		levels Levels
		want   []string // fields
	}{
		{Levels{}, nil},
		{Levels{Note: 0.01, Confirm: 0.99, Refuse: 0.9999}, nil},
		{Levels{Note: 0.009, Confirm: 1, Refuse: 0.89}, []string{"/note", "/confirm", "/refuse"}},
		{Levels{Note: math.NaN()}, []string{"/note"}},
		{Levels{Note: 0.5}, []string{"/note"}}, // above the default to confirm
		{Levels{Note: 0.5, Confirm: 0.4}, []string{"/note"}},
		{Levels{Confirm: 0.95, Refuse: 0.92}, []string{"/refuse"}},
	} {
		var fields []string
		for _, f := range tt.levels.validate() {
			fields = append(fields, f.Field)
		}
		if !slices.Equal(fields, tt.want) {
			t.Errorf("%+v: faults at %v, want %v", tt.levels, fields, tt.want)
		}
	}
}

// Even stored levels that contradict the defaults give an assessor.
func TestContradictoryLevelsAreUsable(t *testing.T) {
	t.Parallel()
	for _, l := range []Levels{{Note: 0.99}, {Confirm: 0.99, Refuse: 0.9}, {Note: 0.98, Confirm: 0.02}} {
		if a := Assess(l, figure(), Needs{}); !a.Acceptable() {
			t.Errorf("%+v: %+v, want an ordinary set accepted", l, a)
		}
	}
}

func TestStoredSetIsReadBack(t *testing.T) {
	t.Parallel()
	caller := service.Caller{Shop: uuid.New()}
	m := figure()
	row := NewSetRow(caller, m, Assess(Levels{}, m, Needs{}), uuid.New(), time.Now())
	row.CustomerID, row.Version = uuid.New(), 3
	set, err := SetFromRow(row)
	if err != nil {
		t.Fatal(err)
	}
	if set.Version != 3 || set.Unit != "cm" || set.Values["bust_girth"] != 92.5 || len(set.Assessment.Measures) == 0 {
		t.Errorf("set %+v, want what was stored", set)
	}
	if !usable(row, row.CustomerID) || !usable(row, uuid.Nil) || usable(row, uuid.New()) {
		t.Error("a set must be usable by its customer only")
	}
	row.Report = []byte(`{`)
	if _, err := SetFromRow(row); err == nil {
		t.Error("a damaged assessment is read without an error")
	}
	row.ErasedAt = new(time.Now())
	if _, err := SetFromRow(row); code(err) != service.CodeErased || usable(row, row.CustomerID) {
		t.Errorf("an erased set: %v, want %s", err, service.CodeErased)
	}
}

func TestStoredAlterationsAreReadBack(t *testing.T) {
	t.Parallel()
	given := encode(map[string]any{"sway_back": 0.5})
	row := query.Alteration{Version: 2, Unit: "inch", Given: given, Reason: new("fitting")}
	set, err := AlterationsFromRow(row)
	if err != nil || set.Version != 2 || set.Reason != "fitting" || set.Values["sway_back"] != 0.5 {
		t.Fatalf("alterations %+v, %v", set, err)
	}
	if _, err := set.Draftable(); err != nil {
		t.Errorf("Draftable: %v", err)
	}
	set.Values["sway_back"] = "much"
	if _, err := set.Draftable(); code(err) != service.CodeInvalidInput {
		t.Errorf("Draftable of a word: %v, want %s", err, service.CodeInvalidInput)
	}
	row.ErasedAt = new(time.Now())
	if _, err := AlterationsFromRow(row); code(err) != service.CodeErased {
		t.Errorf("erased alterations: %v, want %s", err, service.CodeErased)
	}
}

func TestErrorsOfTheDatabase(t *testing.T) {
	t.Parallel()
	taken := referenceTaken(&db.ConflictError{Constraint: "customers_reference_key"})
	if code(taken) != service.CodeReferenceTaken {
		t.Errorf("a taken reference: %v", taken)
	}
	if err := orErased(db.ErrNotFound); code(err) != service.CodeErased {
		t.Errorf("a customer erased meanwhile: %v", err)
	}
	other := errors.New("other")
	if !errors.Is(referenceTaken(other), other) || !errors.Is(orErased(other), other) {
		t.Error("another error was changed")
	}
}

// Every measurement that can be given is described, with the blocks that need
// it.
func TestKnown(t *testing.T) {
	t.Parallel()
	known := Known()
	if len(known) != len(body.All()) {
		t.Errorf("%d measurements, want %d", len(known), len(body.All()))
	}
	i := slices.IndexFunc(known, func(m Info) bool { return m.Name == "bust_girth" })
	if i < 0 || !slices.Contains(known[i].RequiredBy, "torso") || known[i].Unit != "mm" || known[i].How == "" {
		t.Errorf("bust_girth: %+v, want it required by the torso block", known)
	}
}

func code(err error) service.Code {
	if e, ok := errors.AsType[*service.Error](err); ok {
		return e.Code
	}
	return ""
}
