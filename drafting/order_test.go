package drafting_test

import (
	"flag"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
)

var update = flag.Bool("update", false, "write the golden files anew")

const ordersDir = "../testdata/orders"

func readOrder(t testing.TB, name string) []byte {
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
	faults, ok := err.(fault.List)
	if !ok {
		t.Fatalf("error is %T %v, want a fault.List", err, err)
	}
	return faults
}

func TestParseOrder(t *testing.T) {
	t.Parallel()
	o, err := drafting.ParseOrder(readOrder(t, "torso.json"))
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
	if spec.Name != "torso" || r.Fit != "regular" || r.Choices["bust_dart"] != (block.Value{Word: "side"}) || r.Body.Value(body.BustGirth) != 945 {
		t.Errorf("request of %s = %+v", spec.Name, r)
	}
}

func TestParseOrderInInches(t *testing.T) {
	t.Parallel()
	o, err := drafting.ParseOrder(readOrder(t, "straight-inch.json"))
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
	o, err := drafting.ParseOrder(edit(t, `"fit": "regular",`, ``))
	if err != nil {
		t.Fatal(err)
	}
	if _, r, err := o.Request(); err != nil || r.Fit != "regular" {
		t.Errorf("fit = %q, %v; want regular", r.Fit, err)
	}
}

// Each bad order beside its golden list of faults.
func TestBadOrders(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob(filepath.Join(ordersDir, "bad", "*.json"))
	if err != nil || len(files) < 5 {
		t.Fatalf("bad orders: %v, %v", files, err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			_, err = drafting.ParseOrder(data)
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

// edit is the good order with one text in it replaced.
func edit(t testing.TB, old, new string) []byte {
	t.Helper()
	data := string(readOrder(t, "torso.json"))
	if strings.Count(data, old) != 1 {
		t.Fatalf("%q stands %d times in the order", old, strings.Count(data, old))
	}
	return []byte(strings.Replace(data, old, new, 1))
}

func TestOneFault(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("x", 65)
	for _, tt := range []struct {
		name, old, new string
		want           string // the one fault's line, "" for none, "*" for some
	}{
		{"byte order mark", `{
  "reference"`, "\ufeff{\n  \"reference\"", ""},
		{"unit in", `"cm"`, `"in"`, `/unit: "in": cm or inch`},
		{"unit mm", `"cm"`, `"mm"`, `/unit: "mm": cm or inch`},
		{"unit missing", `"unit": "cm",`, ``, `/unit: required: cm or inch`},
		{"unit a number", `"cm"`, `1`, `/unit: 1: text in quotes`},
		{"reference missing", `"reference": "ORD-2047",`, ``, `/reference: required: the shop's reference, lettered on every piece`},
		{"reference null", `"ORD-2047"`, `null`, `/reference: null: text in quotes`},
		{"reference empty", `"ORD-2047"`, `""`, `/reference: "": text that is not empty`},
		{"reference of spaces", `"ORD-2047"`, `"  "`, `/reference: "  ": more than spaces`},
		{"reference of two lines", `"ORD-2047"`, `"a\nb"`, `/reference: "a\nb": characters that can be printed, on one line`},
		{"reference of half a pair", `"ORD-2047"`, `"a\ud800"`, `/reference: "a�": characters that can be printed, on one line`},
		{"reference in Greek", `"ORD-2047"`, `"Παραγγελία 7"`, ``},
		{"reference long", `"ORD-2047"`, `"` + long[1:] + `"`, ``},
		{"reference too long", `"ORD-2047"`, `"` + long + `"`, `/reference: "` + long[:39] + `…": at most 64 characters`},
		{"customer an object", `"CUST-0318"`, `{}`, `/customer: {…}: text in quotes`},
		{"date of no calendar", `"2026-01-31"`, `"2025-02-29"`, `/date: "2025-02-29": a day of the calendar as 2026-01-31 (ISO 8601)`},
		{"date of another form", `"2026-01-31"`, `"31.1.2026"`, `/date: "31.1.2026": a day of the calendar as 2026-01-31 (ISO 8601)`},
		{"revision 0", `"revision": 1`, `"revision": 0`, `/revision: 0: a whole number from 1 to 9999`},
		{"revision 1.5", `"revision": 1`, `"revision": 1.5`, `/revision: 1.5: a whole number from 1 to 9999`},
		{"revision text", `"revision": 1`, `"revision": "2"`, `/revision: "2": a whole number from 1 to 9999`},
		{"revision huge", `"revision": 1`, `"revision": 99999999999999999999`, `/revision: 99999999999999999999: a whole number from 1 to 9999`},
		{"block unknown", `"torso"`, `"skirts"`, `/block: "skirts": torso, straight, skirt, circle_skirt or trousers`},
		{"measurements an array", `"measurements": {`, `"measurements": [], "x": {`, `*`},
		{"measurement null", `"wrist_girth": 16`, `"wrist_girth": null`, `/measurements/wrist_girth: null: a number`},
		{"measurement true", `"wrist_girth": 16`, `"wrist_girth": true`, `/measurements/wrist_girth: true: a number`},
		{"measurement text", `"wrist_girth": 16`, `"wrist_girth": "16 cm"`, `/measurements/wrist_girth: "16 cm": a number`},
		{"measurement in quotes", `"wrist_girth": 16`, `"wrist_girth": "16"`, `/measurements/wrist_girth: "16": a number, without quotes`},
		{"measurement zero", `"wrist_girth": 16`, `"wrist_girth": 0.0`, `/measurements/wrist_girth: 0 cm: wrist is from 10 to 33 cm`},
		{"measurement minus zero", `"wrist_girth": 16`, `"wrist_girth": -0`, `/measurements/wrist_girth: 0 cm: wrist is from 10 to 33 cm`},
		{"measurement huge", `"wrist_girth": 16`, `"wrist_girth": 1e308`, `*`},
		{"measurement beyond float64", `"wrist_girth": 16`, `"wrist_girth": 1e309`, `/measurements/wrist_girth: 1e309: a number of ordinary size`},
		{"measurement twice", `"wrist_girth": 16`, `"wrist_girth": 16, "wrist_girth": 16`, `/measurements/wrist_girth: 16: each key once in an object`},
		{"key twice by escape", `"wrist_girth": 16`, `"wrist_girth": 16, "wris\u0074_girth": 16`, `/measurements/wrist_girth: 16: each key once in an object`},
		{"key of other case", `"unit"`, `"Unit": "cm", "unit"`, `/Unit: "Unit": unknown field; did you mean unit?`},
		{"key with slash", `"unit"`, `"a/b~": 1, "unit"`, `/a~1b~0: "a/b~": unknown field; known are reference, customer, date, revision, unit, measurements, block, style, fit, choices, ease, allowances, alterations`},
		{"empty key", `"unit"`, `"": 1, "unit"`, `/: "": unknown field; known are reference, customer, date, revision, unit, measurements, block, style, fit, choices, ease, allowances, alterations`},
		{"choice a length", `"length": "hip"`, `"length": 75.5`, ``},
		{"choice too long", `"length": "hip"`, `"length": 161`, `/choices/length: 161 cm: waist, hip, thigh, knee or a length from 30 to 160 cm`},
		{"choice a number", `"sleeve": "full"`, `"sleeve": 60`, `/choices/sleeve: 60: full, three_quarter, elbow, short or none`},
		{"choice empty", `"sleeve": "full"`, `"sleeve": ""`, `/choices/sleeve: "": text that is not empty`},
		{"fraction a word", `"sleeve": "full"`, `"bust_dart_at": "half"`, `/choices/bust_dart_at: "half": a number from 0.2 to 0.8`},
		{"allowance negative", `"default": 1`, `"default": -1`, `/allowances/default: -1 cm: an allowance from 0 to 15 cm`},
		{"allowance of no edge", `"default": 1`, `"back/": 1`, `/allowances/back~1: "back/": default, a kind of edge as "hem", or an edge as "back/neckline"`},
		{"allowances text", `"allowances": {`, `"allowances": "1 cm", "x": {`, `*`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := drafting.ParseOrder(edit(t, tt.old, tt.new))
			switch {
			case tt.want == "*":
				if err == nil {
					t.Error("accepted")
				}
			case tt.want == "":
				if err != nil {
					t.Errorf("refused: %v", err)
				}
			case err == nil:
				t.Errorf("accepted, want %s", tt.want)
			case err.Error() != tt.want:
				t.Errorf("got  %s\nwant %s", err, tt.want)
			}
		})
	}
}

func TestNotJSON(t *testing.T) {
	t.Parallel()
	deep := strings.Repeat(`{"a":`, 20) + "1" + strings.Repeat("}", 20)
	for _, tt := range []struct{ name, in, want string }{
		{"empty", "", "input: JSON, one value, not an empty file"},
		{"blank", " \n", "input: JSON, one value, not an empty file"},
		{"array", "[]", "input: […]: an object {...}"},
		{"text", `"x"`, `input: "x": an object {...}`},
		{"null", "null", "input: null: an object {...}"},
		{"trailing", `{"unit": "cm"} x`, "input: at line 1 column 16: JSON, one value: invalid character 'x' after top-level value"},
		{"two values", "{}\n{}", "input: at line 2 column 1: JSON, one value: invalid character '{' after top-level value"},
		{"trailing comma", `{"measurements": {"bust_girth": 92,}}`, "/measurements: at line 1 column 36: JSON, one value: invalid character '}' looking for beginning of object key string"},
		{"NaN", "{\n \"measurements\": {\n  \"bust_girth\": NaN}}", "/measurements/bust_girth: at line 3 column 17: JSON, one value: invalid character 'N' looking for beginning of value"},
		{"not UTF-8", "{\"reference\": \"\xff\"}", "input: not UTF-8 at line 1 column 16: JSON in UTF-8"},
		{"too large", strings.Repeat(" ", 1<<20) + "{}", "input: 1048578 bytes: at most 1048576 bytes"},
		{"too deep", deep, fault.Pointer(slices.Repeat([]string{"a"}, 16)...) + ": at most 16 objects and arrays within one another"},
		{"far too deep", strings.Repeat("[", 1<<19), fault.Pointer(slices.Repeat([]string{"0"}, 16)...) + ": at line 1 column 10001: JSON, one value: invalid character '[' exceeded max depth"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := drafting.ParseOrder([]byte(tt.in))
			if err == nil || err.Error() != tt.want {
				t.Errorf("got  %v\nwant %s", err, tt.want)
			}
		})
	}
}

// An order made by a program is held to the same rules.
func TestCheckOfAnOrderNotParsed(t *testing.T) {
	t.Parallel()
	good, err := drafting.ParseOrder(readOrder(t, "torso.json"))
	if err != nil {
		t.Fatal(err)
	}
	if faults := good.Check(); faults != nil {
		t.Fatal(faults)
	}
	for field, spoil := range map[string]func(*drafting.Order){
		"/reference":               func(o *drafting.Order) { o.Reference = "" },
		"/revision":                func(o *drafting.Order) { o.Revision = 0 },
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

func TestParseMeasurements(t *testing.T) {
	t.Parallel()
	unit, person, err := drafting.ParseMeasurements([]byte(`{"unit": "inch", "measurements": {"bust_girth": 36, "shoulder_slope": 20}}`))
	if err != nil || unit != body.Inch || person.Value(body.BustGirth) != 914.4 || person.Value(body.ShoulderSlope) != 20 {
		t.Errorf("got %s %v %v", unit, person, err)
	}
	_, _, err = drafting.ParseMeasurements([]byte(`{"units": "cm", "measurements": {"bust": 90, "waist_girth": 3}}`))
	want := "/units: \"units\": unknown field; did you mean unit?\n/unit: required: cm or inch\n" +
		"/measurements/bust: \"bust\": unknown measurement; did you mean bust_girth?"
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
}

// What can be read of a file is held against the other numbers whatever else
// is wrong with it.
func TestReadMeasurements(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		file string
		unit body.Unit
		want body.Measures
	}{
		{`{"unit": "inch", "units": 3, "measurements": {"bust_girth": 36, "shoulder_slope": 20, "bust": 4, "hip_girth": "40", "waist_girth": 1e999}, "block": []}`,
			body.Inch, body.Measures{body.BustGirth: 914.4, body.ShoulderSlope: 20}},
		{`{"unit": "cm", "measurements": []}`, body.Centimetre, nil},
		{`{"unit": "cm"}`, body.Centimetre, nil},
		{`{"unit": "ell", "measurements": {"bust_girth": 36}}`, "", nil},
		{`[1]`, "", nil}, {``, "", nil}, {`{"unit": "cm", "measurements": {"bust_girth": 36`, "", nil},
	} {
		unit, got := drafting.ReadMeasurements([]byte(tt.file))
		if unit != tt.unit || !maps.Equal(got, tt.want) {
			t.Errorf("%s: %q %v, want %q %v", tt.file, unit, got, tt.unit, tt.want)
		}
	}
}

// FuzzParseOrder: whatever the bytes, there is an order that passes its own
// check, or faults whose pointers are well formed (RFC 6901 section 3) and
// whose lines stay lines.
func FuzzParseOrder(f *testing.F) {
	for _, pattern := range []string{"*.json", "bad/*.json"} {
		files, err := filepath.Glob(filepath.Join(ordersDir, pattern))
		if err != nil || len(files) == 0 {
			f.Fatalf("no seeds: %v", err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	for _, s := range []string{"", "{", "null", "[1,2", `{"a/b":{"~":1}}`, `{"unit":"cm","unit":"inch"}`, `{"measurements":{"":""}}`, "\xff", `{"reference":"\ud800"}`, `{"choices":{"length":1e-400}}`, strings.Repeat("[", 40)} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		drafting.ReadMeasurements(data)
		o, err := drafting.ParseOrder(data)
		if err == nil {
			if faults := o.Check(); faults != nil {
				t.Errorf("accepted with faults: %v", faults)
			}
			return
		}
		faults := faultsOf(t, err)
		if len(faults) == 0 {
			t.Fatal("an empty list of faults")
		}
		for _, f := range faults {
			if err := checkPointer(f.Field); err != nil {
				t.Errorf("%+v: %v", f, err)
			}
			if f.Code == "" || f.Accepted == "" || strings.ContainsAny(f.Value+f.Accepted, "\n\r") {
				t.Errorf("fault is not one clear line: %+v", f)
			}
		}
	})
}

func checkPointer(p string) error {
	if p != "" && p[0] != '/' {
		return fmt.Errorf("pointer %q does not begin with /", p)
	}
	for rest := p; ; {
		i := strings.IndexByte(rest, '~')
		if i < 0 {
			return nil
		}
		if i+1 == len(rest) || (rest[i+1] != '0' && rest[i+1] != '1') {
			return fmt.Errorf("pointer %q has a bare ~", p)
		}
		rest = rest[i+2:]
	}
}

func BenchmarkParseOrder(b *testing.B) {
	data := readOrder(b, "torso.json")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := drafting.ParseOrder(data); err != nil {
			b.Fatal(err)
		}
	}
}
