package drafting_test

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/ordertest"
)

const ordersDir = "../testdata/orders"

func readFile(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(ordersDir, name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func faultsOf(t testing.TB, err error) fault.List {
	t.Helper()
	if err == nil {
		return nil
	}
	faults, ok := errors.AsType[fault.List](err)
	if !ok {
		t.Fatalf("error is %T %v, want a fault.List", err, err)
	}
	return faults
}

func TestNewOrder(t *testing.T) {
	t.Parallel()
	o, err := ordertest.Parse(readFile(t, "torso.json"))
	if err != nil {
		t.Fatal(err)
	}
	if o.Reference != "ORD-2047" || o.Customer != "CUST-0318" || o.Date != "2026-01-31" || o.Revision != 1 ||
		o.Unit != body.Centimetre || o.Block != "torso" || o.Fit != "regular" {
		t.Errorf("order = %+v", o)
	}
	wantMeasures := body.Measures{
		body.Height: 1680, body.BustGirth: 945, body.UnderBustGirth: 790, body.WaistGirth: 760, body.HipGirth: 1020,
		body.NeckBaseGirth: 375, body.ShoulderLength: 126, body.BackWidth: 355, body.NapeToWaist: 420, body.WaistToHip: 205,
		body.UpperArmGirth: 290, body.WristGirth: 160, body.ArmLength: 590,
	}
	if !maps.Equal(o.Measurements, wantMeasures) {
		t.Errorf("measurements = %v, want exactly %v", o.Measurements, wantMeasures)
	}
	if want := map[string]float64{"default": 10, "hem": 30, "neckline": 6}; !maps.Equal(o.Allowances, want) {
		t.Errorf("allowances = %v, want %v", o.Allowances, want)
	}
	spec, r, err := o.Request()
	if err != nil {
		t.Fatal(err)
	}
	if spec.Name != "torso" || r.Fit != "regular" || r.Choices["bust_dart"] != (block.Value{Word: "side"}) ||
		r.Body.Value(body.BustGirth) != 945 {
		t.Errorf("request of %s = %+v", spec.Name, r)
	}
}

func TestNewOrderInInches(t *testing.T) {
	t.Parallel()
	o, err := ordertest.Parse(readFile(t, "straight-inch.json"))
	if err != nil {
		t.Fatal(err)
	}
	for name, got := range map[string][2]float64{ // got, want by 25.4 mm an inch
		"bust_girth":         {o.Measurements[body.BustGirth], 1028.7},
		"nape_to_waist":      {o.Measurements[body.NapeToWaist], 463.55},
		"length":             {o.Choices["length"].Number, 762},
		"ease":               {o.Ease["bust_girth"], 152.4},
		"default allowance":  {o.Allowances["default"], 12.7},
		"allowance of a hem": {o.Allowances["hem"], 31.75},
	} {
		if got[0] != got[1] {
			t.Errorf("%s = %v mm, want %v", name, got[0], got[1])
		}
	}
	if o.Revision != 1 || o.Customer != "" {
		t.Errorf("order without revision and customer = %+v", o)
	}
}

func TestFitDefaultsToTheBlocksFirst(t *testing.T) {
	t.Parallel()
	o, err := ordertest.Parse(edit(t, `"fit": "regular",`, ``))
	if err != nil {
		t.Fatal(err)
	}
	if _, r, err := o.Request(); err != nil || r.Fit != "regular" {
		t.Errorf("fit = %q, %v; want regular", r.Fit, err)
	}
}

// edit returns the valid order with one string in it replaced.
func edit(t testing.TB, old, replacement string) []byte {
	t.Helper()
	data := string(readFile(t, "torso.json"))
	if strings.Count(data, old) != 1 {
		t.Fatalf("%q occurs %d times in the order, want once", old, strings.Count(data, old))
	}
	return []byte(strings.Replace(data, old, replacement, 1))
}

func TestOneFault(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, old, new string
		want           string // the one fault's line, "" for none, "*" for some
	}{
		{"unit in", `"cm"`, `"in"`, `/unit: "in": cm or inch`},
		{"unit mm", `"cm"`, `"mm"`, `/unit: "mm": cm or inch`},
		{"unit missing", `"unit": "cm",`, ``, `/unit: required: cm or inch`},
		{"block unknown", `"torso"`, `"skirts"`,
			`/block: "skirts": torso, straight, jacket, skirt, circle_skirt, trousers, knit_leg or knit_torso`},
		{"measurement zero", `"wrist_girth": 16`, `"wrist_girth": 0.0`,
			`/measurements/wrist_girth: 0 cm: wrist is from 10 to 33 cm`},
		{"measurement minus zero", `"wrist_girth": 16`, `"wrist_girth": -0`,
			`/measurements/wrist_girth: 0 cm: wrist is from 10 to 33 cm`},
		{"measurement huge", `"wrist_girth": 16`, `"wrist_girth": 1e308`, `*`},
		{"choice a length", `"length": "hip"`, `"length": 75.5`, ``},
		{"choice too long", `"length": "hip"`, `"length": 161`,
			`/choices/length: 161 cm: waist, hip, thigh, knee or a length from 30 to 160 cm`},
		{"choice a number", `"sleeve": "full"`, `"sleeve": 60`,
			`/choices/sleeve: 60: full, three_quarter, elbow, short or none`},
		{"choice empty", `"sleeve": "full"`, `"sleeve": ""`, `/choices/sleeve: "": a string that is not empty`},
		{"fraction a word", `"sleeve": "full"`, `"bust_dart_at": "half"`,
			`/choices/bust_dart_at: "half": a number from 0.2 to 0.8`},
		{"allowance negative", `"default": 1`, `"default": -1`, `/allowances/default: -1 cm: an allowance from 0 to 15 cm`},
		{"allowance of no edge", `"default": 1`, `"back/": 1`,
			`/allowances/back~1: "back/": default, a kind of edge as "hem", or an edge as "back/neckline"`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := ordertest.Parse(edit(t, tt.old, tt.new))
			ordertest.Refused(t, err, tt.want)
		})
	}
}

// The stretch of a knit is limited to what its block can draft.
func TestStretchOfAKnit(t *testing.T) {
	t.Parallel()
	knit := strings.Replace(string(readFile(t, "torso.json")), `"block": "torso"`, `"block": "knit_torso"`, 1)
	for stretch, want := range map[string]string{
		"10": "", "100": "", "0": `/choices/stretch: 0: a number from 10 to 100`,
		"300": `/choices/stretch: 300: a number from 10 to 100`,
	} {
		_, err := ordertest.Parse([]byte(strings.Replace(knit, `"bust_dart": "side"`, `"stretch": `+stretch, 1)))
		switch {
		case want == "" && err != nil:
			t.Errorf("a stretch of %s refused: %v", stretch, err)
		case want != "" && (err == nil || err.Error() != want):
			t.Errorf("a stretch of %s: %v, want %s", stretch, err, want)
		}
	}
}

// An order made by a program is held to the same rules.
func TestCheckOfAnOrderNotParsed(t *testing.T) {
	t.Parallel()
	good, err := ordertest.Parse(readFile(t, "torso.json"))
	if err != nil {
		t.Fatal(err)
	}
	if faults := good.Check(); faults != nil {
		t.Fatal(faults)
	}
	for field, spoil := range map[string]func(*drafting.Order){
		"/unit":                    func(o *drafting.Order) { o.Unit = body.Millimetre },
		"/block":                   func(o *drafting.Order) { o.Block = "" },
		"/fit":                     func(o *drafting.Order) { o.Fit = "snug" },
		"/measurements/bust_girth": func(o *drafting.Order) { o.Measurements[body.BustGirth] = math.NaN() },
		"/choices/length":          func(o *drafting.Order) { o.Choices["length"] = block.Value{Number: math.NaN()} },
		"/ease/waist_girth":        func(o *drafting.Order) { o.Ease = map[string]float64{"waist_girth": math.Inf(1)} },
		"/allowances/hem":          func(o *drafting.Order) { o.Allowances["hem"] = math.NaN() },
	} {
		o := good
		o.Measurements, o.Choices, o.Allowances = maps.Clone(o.Measurements), maps.Clone(o.Choices), maps.Clone(o.Allowances)
		spoil(&o)
		if faults := o.Check(); len(faults) != 1 || faults[0].Field != field {
			t.Errorf("faults = %v, want one at %s", faults, field)
		}
		if _, _, err := o.Request(); err == nil {
			t.Errorf("request made with a fault at %s", field)
		}
	}
}

func BenchmarkNewOrder(b *testing.B) {
	data := readFile(b, "torso.json")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ordertest.Parse(data); err != nil {
			b.Fatal(err)
		}
	}
}

// An order that is stored and read again drafts the same pattern, and comes back
// as the shop gave it.
func TestStoredOrder(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"torso", "straight-inch", "shift-dress", "trousers"} {
		o := ordertest.Order(t, name)
		stored, err := json.Marshal(o.Stored())
		if err != nil {
			t.Fatal(err)
		}
		var read drafting.StoredOrder
		if err := json.Unmarshal(stored, &read); err != nil {
			t.Fatal(err)
		}
		back, err := read.Order(o.Measurements, nil)
		if err != nil {
			t.Fatal(err)
		}
		if back.Label, back.Garment = o.Label, o.Garment; !reflect.DeepEqual(back, o) {
			t.Errorf("%s comes back as %+v, stored as %s", name, back, stored)
		}
		in := read.Input()
		in.Measurements = o.Unit.Values(o.Measurements)
		again, faults := drafting.NewOrder(in)
		if again.Label = o.Label; len(faults) > 0 || !reflect.DeepEqual(again, o) {
			t.Errorf("%s: %+v makes another order: %v", name, in, faults)
		}
	}
	if _, err := (drafting.StoredOrder{Version: 2}).Order(nil, nil); err == nil {
		t.Error("an order of another version is read")
	}
}

// A cancelled context ends a draft, and estimates between two drafts.
func TestCancelled(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"torso", "shift-dress", "trousers", "skirt"} {
		o := ordertest.Order(t, name)
		ctx, cancel := context.WithCancel(t.Context())
		time.AfterFunc(3*time.Millisecond, cancel)
		<-ctx.Done()
		if _, err := drafting.Draft(ctx, o); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: draft ends with %v", name, err)
		}
		ctx, cancel = context.WithCancel(t.Context())
		var cancelled time.Time
		time.AfterFunc(10*time.Millisecond, func() { cancelled = time.Now(); cancel() })
		_, err := drafting.Estimates(ctx, o)
		if err == nil {
			continue // done in less
		}
		if took := time.Since(cancelled); !errors.Is(err, context.Canceled) || took > 100*time.Millisecond {
			t.Errorf("%s: estimates end with %v, %v after they were cancelled", name, err, took)
		}
	}
}
