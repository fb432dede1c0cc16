package style_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/style"
)

// whole returns every measurement of a body: those that standard lacks as estimated,
// or, without an estimate, the middle of the limits.
func whole() body.Measures {
	all := body.Measures{}
	for _, info := range body.All() {
		all[info.Name] = (info.Min + info.Max) / 2
		if person, faults := body.NewIn(body.Millimetre, standard, nil, []body.Name{info.Name}); faults == nil {
			all[info.Name] = person.Get(info.Name).Value
		}
	}
	return all
}

// form is the form of a style or block as a shop has it.
type form struct {
	*testing.T
	kind   string // style or block
	spec   block.Spec
	unit   body.Unit
	schema *jsonschema.Schema
}

// forms returns the form of every style and block in every unit.
func forms(t *testing.T) []form {
	t.Helper()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	var list []form
	add := func(kind string, spec block.Spec, unit body.Unit, schema map[string]any) {
		data, err := json.Marshal(schema)
		if err != nil {
			t.Fatal(err)
		}
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		c := jsonschema.NewCompiler()
		if err := c.AddResource("form.json", doc); err != nil {
			t.Fatal(err)
		}
		compiled, err := c.Compile("form.json")
		if err != nil {
			t.Fatalf("%s: %v", spec.Name, err)
		}
		list = append(list, form{t, kind, spec, unit, compiled})
	}
	for _, unit := range body.OrderUnits() {
		for _, s := range all {
			add("style", s.Spec(), unit, s.Form(unit))
		}
		for _, spec := range block.Specs() {
			add("block", spec, unit, style.BlockForm(spec, unit))
		}
	}
	return list
}

// order returns an order of the form in JSON, of a body with those measurements.
func (f form) order(choices map[string]any, measurements body.Measures) []byte {
	f.Helper()
	data, err := json.Marshal(map[string]any{"reference": "R", f.kind: f.spec.Name, "unit": f.unit,
		"fit": f.spec.Fits[0].Name, "choices": choices, "measurements": f.unit.Values(measurements)})
	if err != nil {
		f.Fatal(err)
	}
	return data
}

// faults returns the faults of an order by code and field.
func (f form) faults(order []byte) []string {
	f.Helper()
	_, err := ordertest.Parse(order)
	list, ok := errors.AsType[fault.List](err)
	if err != nil && !ok {
		f.Fatal(err)
	}
	var faults []string
	for _, fault := range list {
		faults = append(faults, string(fault.Code)+" "+fault.Field)
	}
	return faults
}

// refused returns the fields that the form refuses, "" if it accepts the order.
func (f form) refused(order []byte) string {
	f.Helper()
	instance, err := jsonschema.UnmarshalJSON(bytes.NewReader(order))
	if err != nil {
		f.Fatal(err)
	}
	if err := f.schema.Validate(instance); err != nil {
		return err.Error()
	}
	return ""
}

// A form accepts and refuses the same choices as an order does: defaults, words and
// limits, and nothing beyond them.
func TestFormChoices(t *testing.T) {
	t.Parallel()
	measured := whole()
	for _, f := range forms(t) {
		try := func(name string, value any, ok bool) {
			t.Helper()
			order := f.order(map[string]any{name: value}, measured)
			refused := f.refused(order)
			if (refused == "") != ok {
				t.Errorf("%s: the form takes %s=%v: %t, want %t (%s)", f.spec.Name, name, value, !ok, ok, refused)
			}
			// An order may have faults of the body besides, such as a length that this body does not permit.
			fault := strings.Contains(fmt.Sprint(f.faults(order)), "/choices/"+name)
			if !ok && !fault {
				t.Errorf("%s: an order takes %s=%v", f.spec.Name, name, value)
			}
			if c := f.choice(name); ok && fault && !c.FollowsBody() {
				t.Errorf("%s: an order does not take %s=%v: %v", f.spec.Name, name, value, f.faults(order))
			}
		}
		for _, c := range f.spec.Choices {
			words := c.Options
			if c.Kind == block.KindYesNo {
				words = nil
				try(c.Name, true, true)
				try(c.Name, false, true)
			}
			for _, w := range words {
				if !f.excluded(c.Name, w) {
					try(c.Name, w, true)
				}
			}
			try(c.Name, "no_such_word", false)
			if c.Min < c.Max {
				lo, hi := c.Min, c.Max
				if c.Kind == block.KindLength {
					lo, hi = f.unit.From(lo)+0.01, f.unit.From(hi)-0.01
				}
				try(c.Name, lo, true)
				try(c.Name, hi, true)
				try(c.Name, lo-1, false)
				try(c.Name, hi+1, false)
			}
			if c.Kind == block.KindCount {
				try(c.Name, c.Min+0.5, false)
			}
		}
		try("no_such_choice", 1, false)
	}
}

func (f form) choice(name string) block.Choice {
	if i := slices.IndexFunc(f.spec.Choices, func(c block.Choice) bool { return c.Name == name }); i >= 0 {
		return f.spec.Choices[i]
	}
	return block.Choice{}
}

// excluded reports whether a word is refused beside the defaults of the others.
func (f form) excluded(name, word string) bool {
	return slices.ContainsFunc(f.spec.Excludes, func(e block.Exclusion) bool {
		return e.Applies(f.spec, map[string]block.Value{name: {Word: word}})
	})
}

// A form requires a measurement if and only if an order does, with any words
// chosen, and refuses what an order excludes.
func TestFormRequires(t *testing.T) {
	t.Parallel()
	measured := whole()
	random := rand.New(rand.NewPCG(14, 1))
	for _, f := range forms(t) {
		for range 8 {
			choices := map[string]any{}
			words := map[string]block.Value{}
			for _, c := range f.spec.Choices {
				if len(c.Options) == 0 || random.IntN(2) == 0 {
					continue
				}
				w := c.Options[random.IntN(len(c.Options))]
				words[c.Name] = block.Value{Word: w}
				choices[c.Name] = any(w)
				if c.Kind == block.KindYesNo {
					choices[c.Name] = w == "yes"
				}
			}
			o := drafting.Order{Choices: words}
			o.Style, o.Block = f.spec.Name, ""
			if f.kind == "block" {
				o.Style, o.Block = "", f.spec.Name
			}
			requires, uses := o.Needs(f.spec)
			given := body.Measures{}
			for _, one := range body.Alternatives(requires, uses) {
				given[one[0]] = measured[one[0]]
			}
			for _, n := range requires {
				given[n] = measured[n]
			}
			excluded := slices.ContainsFunc(f.spec.Excludes, func(e block.Exclusion) bool { return e.Applies(f.spec, words) })
			if refused := f.refused(f.order(choices, given)); (refused != "") != excluded {
				t.Errorf("%s %v with %v: excluded %t, refused by the form: %s", f.spec.Name, choices, requires, excluded, refused)
			}
			refused := f.refused(f.order(choices, body.Measures{}))
			faults := f.faults(f.order(choices, body.Measures{}))
			for _, n := range f.spec.Requires {
				missing := slices.Contains(faults, "missing /measurements/"+string(n))
				if said := strings.Contains(refused, "'"+string(n)+"'"); said != missing {
					t.Errorf("%s %v: an order must give %s: %t, and the form says: %s", f.spec.Name, choices, n, missing, refused)
				}
			}
		}
	}
}

// A form has the same limits of measurements as an order, to a hundredth of the unit.
func TestFormLimits(t *testing.T) {
	t.Parallel()
	measured := whole()
	seen := map[string]bool{} // each measurement is tried once in each unit
	for _, f := range forms(t) {
		for _, n := range slices.Concat(f.spec.Requires, f.spec.Uses) {
			info, _ := body.Lookup(n)
			if seen[string(f.unit)+string(n)] {
				continue
			}
			seen[string(f.unit)+string(n)] = true
			for _, tt := range []struct {
				mm float64
				ok bool
			}{{info.Min + 0.3, true}, {info.Max - 0.3, true}, {info.Min - 0.3, false}, {info.Max + 0.3, false}} {
				given := body.Measures{}
				for _, r := range slices.Concat(f.spec.Requires, f.spec.Uses) {
					given[r] = measured[r]
				}
				given[n] = tt.mm
				order := f.order(map[string]any{}, given)
				if refused := f.refused(order); (refused == "") != tt.ok {
					t.Errorf("%s: %s of %g mm: %s", f.spec.Name, n, tt.mm, refused)
				}
				if got := slices.Contains(f.faults(order), "out_of_range /measurements/"+string(n)); got == tt.ok {
					t.Errorf("%s: an order with %s of %g mm has %v", f.spec.Name, n, tt.mm, f.faults(order))
				}
			}
		}
		unknown := f.order(map[string]any{}, body.Measures{"third_elbow": 100})
		if !strings.Contains(f.refused(unknown), "third_elbow") {
			t.Errorf("%s: the form takes a measurement that does not exist", f.spec.Name)
		}
	}
}
