package files_test

import (
	"flag"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/ordertest"
	"tapeline/service/files"
)

var update = flag.Bool("update", false, "write the golden files again")

const ordersDir = "../../testdata/orders"

// Each bad order beside its golden list of faults.
func TestBadOrders(t *testing.T) {
	t.Parallel()
	orders, err := filepath.Glob(filepath.Join(ordersDir, "bad", "*.json"))
	if err != nil || len(orders) < 5 {
		t.Fatalf("bad orders: %v, %v", orders, err)
	}
	for _, file := range orders {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			_, err = files.ParseOrder(data)
			if err == nil {
				t.Fatal("accepted")
			}
			golden := strings.TrimSuffix(file, ".json") + ".faults"
			got := err.Error() + "\n"
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("faults are\n%swant\n%s", got, want)
			}
		})
	}
}

func TestParseMeasurements(t *testing.T) {
	t.Parallel()
	unit, person, err := files.ParseMeasurements(
		[]byte(`{"unit": "inch", "measurements": {"bust_girth": 36, "shoulder_slope": 20}}`))
	if err != nil || unit != body.Inch || person.Value(body.BustGirth) != 914.4 || person.Value(body.ShoulderSlope) != 20 {
		t.Errorf("got %s %v %v", unit, person, err)
	}
	_, _, err = files.ParseMeasurements([]byte(`{"units": "cm", "measurements": {"bust": 90, "waist_girth": 3}}`))
	want := "/units: \"units\": unknown field; did you mean unit?\n/unit: required: cm or inch\n" +
		"/measurements/bust: \"bust\": unknown measurement; did you mean bust_girth?"
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
}

// The measurements that can be read are returned even if other parts of the file
// are invalid.
func TestReadMeasurements(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		file string
		unit body.Unit
		want body.Measures
	}{
		{`{"unit": "inch", "units": 3, "measurements": {"bust_girth": 36, "shoulder_slope": 20, "bust": 4, ` +
			`"hip_girth": "40", "waist_girth": 1e999}, "block": []}`,
			body.Inch, body.Measures{body.BustGirth: 914.4, body.ShoulderSlope: 20}},
		{`{"unit": "cm", "measurements": []}`, body.Centimetre, nil},
		{`{"unit": "cm"}`, body.Centimetre, nil},
		{`{"unit": "ell", "measurements": {"bust_girth": 36}}`, "", nil},
		{`[1]`, "", nil}, {``, "", nil}, {`{"unit": "cm", "measurements": {"bust_girth": 36`, "", nil},
	} {
		unit, got := files.ReadMeasurements([]byte(tt.file))
		if unit != tt.unit || !maps.Equal(got, tt.want) {
			t.Errorf("%s: %q %v, want %q %v", tt.file, unit, got, tt.unit, tt.want)
		}
	}
}

func TestOneFault(t *testing.T) {
	t.Parallel()
	torso, err := os.ReadFile(filepath.Join(ordersDir, "torso.json"))
	if err != nil {
		t.Fatal(err)
	}
	long := strings.Repeat("x", 65)
	for _, tt := range []struct {
		name, old, new string
		want           string // the one fault's line, "" for none, "*" for some
	}{
		{"byte order mark", `{
  "reference"`, "\ufeff{\n  \"reference\"", ""},
		{"unit a number", `"cm"`, `1`, `/unit: 1: a string`},
		{"reference null", `"ORD-2047"`, `null`, `/reference: null: a string`},
		{"reference empty", `"ORD-2047"`, `""`, `/reference: required: the shop's reference, lettered on every piece`},
		{"customer an object", `"CUST-0318"`, `{}`, `/customer: {…}: a string`},
		{"revision 1.5", `"revision": 1`, `"revision": 1.5`, `/revision: 1.5: a whole number`},
		{"revision text", `"revision": 1`, `"revision": "2"`, `/revision: "2": a number, without quotes`},
		{"revision huge", `"revision": 1`, `"revision": 99999999999999999999`, `/revision: 1e+20: a whole number`},
		{"measurements an array", `"measurements": {`, `"measurements": [], "x": {`, `*`},
		{"measurement null", `"wrist_girth": 16`, `"wrist_girth": null`, `/measurements/wrist_girth: null: a number`},
		{"measurement true", `"wrist_girth": 16`, `"wrist_girth": true`, `/measurements/wrist_girth: true: a number`},
		{"measurement text", `"wrist_girth": 16`, `"wrist_girth": "16 cm"`, `/measurements/wrist_girth: "16 cm": a number`},
		{"measurement in quotes", `"wrist_girth": 16`, `"wrist_girth": "16"`,
			`/measurements/wrist_girth: "16": a number, without quotes`},
		{"measurement beyond float64", `"wrist_girth": 16`, `"wrist_girth": 1e309`,
			`/measurements/wrist_girth: 1e309: a number that float64 can hold`},
		{"measurement twice", `"wrist_girth": 16`, `"wrist_girth": 16, "wrist_girth": 16`,
			`/measurements/wrist_girth: 16: each key once in an object`},
		{"key twice by escape", `"wrist_girth": 16`, `"wrist_girth": 16, "wris\u0074_girth": 16`,
			`/measurements/wrist_girth: 16: each key once in an object`},
		{"key of other case", `"unit"`, `"Unit": "cm", "unit"`, `/Unit: "Unit": unknown field; did you mean unit?`},
		{"key with slash", `"unit"`, `"a/b~": 1, "unit"`,
			`/a~1b~0: "a/b~": unknown field; known are reference, customer, date, revision, unit, measurements, ` +
				`block, style, fit, choices, ease, allowances, alterations`},
		{"empty key", `"unit"`, `"": 1, "unit"`,
			`/: "": unknown field; known are reference, customer, date, revision, unit, measurements, ` +
				`block, style, fit, choices, ease, allowances, alterations`},
		{"allowances text", `"allowances": {`, `"allowances": "1 cm", "x": {`, `*`},
		{"reference missing", `"reference": "ORD-2047",`, ``,
			`/reference: required: the shop's reference, lettered on every piece`},
		{"reference of spaces", `"ORD-2047"`, `"  "`, `/reference: "  ": more than spaces`},
		{"reference of two lines", `"ORD-2047"`, `"a\nb"`, `/reference: "a\nb": characters that can be printed, on one line`},
		{"reference of half a pair", `"ORD-2047"`, `"a\ud800"`, `*`},
		{"reference in Greek", `"ORD-2047"`, `"Παραγγελία 7"`, ``},
		{"reference long", `"ORD-2047"`, `"` + long[1:] + `"`, ``},
		{"reference too long", `"ORD-2047"`, `"` + long + `"`, `/reference: "` + long[:39] + `…": at most 64 characters`},
		{"date of no calendar", `"2026-01-31"`, `"2025-02-29"`,
			`/date: "2025-02-29": a calendar date as 2026-01-31 (ISO 8601)`},
		{"date of another form", `"2026-01-31"`, `"31.1.2026"`,
			`/date: "31.1.2026": a calendar date as 2026-01-31 (ISO 8601)`},
		{"revision 0", `"revision": 1`, `"revision": 0`, `/revision: 0: a whole number from 1 to 9999`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if strings.Count(string(torso), tt.old) != 1 {
				t.Fatalf("%q is not in the order once", tt.old)
			}
			_, err := files.ParseOrder([]byte(strings.Replace(string(torso), tt.old, tt.new, 1)))
			ordertest.Refused(t, err, tt.want)
		})
	}
}
