package api_test

import (
	"bytes"
	"encoding/json"
	"maps"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
)

// formOf returns the form of what an order is for.
func (b *bench) formOf(order object) json.RawMessage {
	b.Helper()
	path := "/v1/blocks/torso/form"
	if name, ok := order["block"].(string); ok {
		path = "/v1/blocks/" + name + "/form"
	}
	if slug, ok := order["style"].(string); ok {
		path = "/v1/styles/" + slug + "/form"
	}
	return b.get(path+"?unit="+order["unit"].(string)).want(http.StatusOK, nil).body
}

// sampleOrders returns the sample orders of the command line as a shop posts them.
func sampleOrders(t *testing.T) map[string]object {
	t.Helper()
	files, err := filepath.Glob("../testdata/orders/*.json")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d sample orders, %v", len(files), err)
	}
	orders := map[string]object{}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var o object
		if err := json.Unmarshal(data, &o); err != nil {
			t.Fatal(err)
		}
		for name := range o {
			if !slices.Contains([]string{"unit", "measurements", "block", "style", "fit", "choices", "ease",
				"allowances"}, name) {
				delete(o, name)
			}
		}
		name := strings.TrimSuffix(filepath.Base(file), ".json")
		choices, _ := o["choices"].(map[string]any)
		for name, v := range choices {
			if v == "yes" || v == "no" {
				choices[name] = v == "yes" // as a form gives it
			}
		}
		o["reference"], o["customer"] = name, object{"reference": "C-" + name}
		orders[name] = o
	}
	return orders
}

// A form accepts an order that the API accepts, and without each of its measurements
// misses what the API misses, by the npm package ajv.
func TestFormByOtherValidator(t *testing.T) {
	t.Parallel()
	dir := outside(t)
	b := setup(t)
	type batch struct {
		Form   json.RawMessage `json:"form"`
		Orders []object        `json:"orders"`
	}
	var batches []batch
	for _, o := range sampleOrders(t) {
		next := batch{Form: b.formOf(o), Orders: []object{o}}
		given := object(o["measurements"].(map[string]any))
		for _, name := range slices.Sorted(maps.Keys(given)) {
			next.Orders = append(next.Orders, o.with("measurements", given.with(name, nil)))
		}
		next.Orders = append(next.Orders, o.with("fit", "no_such_fit"), o.with("choices", object{"no_such_choice": 1}))
		batches = append(batches, next)
	}
	input, err := json.Marshal(batches)
	b.must(err)
	cmd := exec.CommandContext(t.Context(), "node", "forms.mjs")
	cmd.Dir, cmd.Stdin = dir, bytes.NewReader(input)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var said [][][]string
	if err := json.Unmarshal(out, &said); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	missed := 0
	for i, batch := range batches {
		for k, o := range batch.Orders {
			r := b.order(o.with("reference", uuid.NewString()), uuid.NewString())
			accepted := r.status == http.StatusCreated
			if accepted != (len(said[i][k]) == 0) && !(accepted && b.estimates(o, said[i][k])) {
				t.Errorf("%v: the form says %q, the API %d: %s", o, said[i][k], r.status, r.body)
			}
			var p api.Problem
			_ = json.Unmarshal(r.body, &p) // an order has no errors
			for _, e := range p.Errors {
				if e.Code != api.FieldErrorCodeMissing {
					continue
				}
				missed++
				if want := "missing " + strings.TrimPrefix(e.Pointer, "#"); !slices.Contains(said[i][k], want) {
					t.Errorf("%v: the form says %q, not %q", o, said[i][k], want)
				}
			}
		}
	}
	if missed < 20 {
		t.Errorf("only %d orders missed a measurement", missed)
	}
}

// estimates reports whether all that the form misses in an order follows from its
// other measurements.
func (b *bench) estimates(o object, missing []string) bool {
	b.Helper()
	var report api.MeasurementReport
	b.post("/v1/measurements/assess", object{"unit": o["unit"], "measurements": o["measurements"], "block": o["block"],
		"style": o["style"], "choices": o["choices"]}.bare()).want(http.StatusOK, &report)
	return !slices.ContainsFunc(missing, func(fault string) bool {
		return !slices.ContainsFunc(report.Measurements, func(m api.ReportedMeasurement) bool {
			return fault == "missing /measurements/"+m.Name && m.Source != ""
		})
	})
}

// bare returns o without what is nil.
func (o object) bare() object {
	maps.DeleteFunc(o, func(_ string, v any) bool { return v == nil })
	return o
}

// A form says which measurements its choices require, and the live check agrees.
func TestFormFollowsChoices(t *testing.T) {
	t.Parallel()
	b := setup(t)
	arms := []string{"arm_length", "upper_arm_girth", "wrist_girth"}
	missing := func(choices object) (names []string) {
		t.Helper()
		bare := figure()
		for _, n := range arms {
			delete(bare, n)
		}
		var report api.MeasurementReport
		b.post("/v1/measurements/assess", object{"unit": "cm", "measurements": bare, "style": "shift-dress",
			"choices": choices}).want(http.StatusOK, &report)
		for _, f := range report.Findings {
			if f.Code == api.FieldErrorCodeMissing {
				names = append(names, strings.TrimPrefix(f.Pointer, "#/measurements/"))
			}
		}
		slices.Sort(names)
		return names
	}
	if got := missing(object{"sleeve": "none"}); len(got) != 0 {
		t.Errorf("a sleeveless dress lacks %v", got)
	}
	if got := missing(object{"sleeve": "full"}); !slices.Equal(got, arms) {
		t.Errorf("a dress with sleeves lacks %v, want %v", got, arms)
	}
	p := b.post("/v1/measurements/assess", object{"unit": "cm", "measurements": figure(), "style": "shift-dress",
		"choices": object{"sleeve": "wings"}}).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/choices/sleeve" {
		t.Errorf("errors: %+v", p.Errors)
	}
	b.post("/v1/measurements/assess", object{"unit": "cm", "measurements": figure(), "choices": object{}}).
		problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)

	form := string(b.formOf(object{"style": "shift-dress", "unit": "inch"}))
	if strings.Index(form, `"bust_girth":{`) > strings.Index(form, `"arm_length":{`) ||
		!strings.Contains(form, `"Three quarter"`) {
		t.Errorf("the form is not in the order of display, or has no titles: %.400s", form)
	}
	for _, path := range []string{"/v1/blocks/cape/form", "/v1/styles/no-such/form",
		"/v1/styles/shift-dress/form?revision=2"} {
		b.get(path).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	}
	b.get("/v1/styles/shift-dress/form?unit=mm").problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
}
