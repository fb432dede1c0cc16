package strictjson_test

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"tapeline/drafting/fault"
	"tapeline/service/strictjson"
)

func TestParse(t *testing.T) {
	t.Parallel()
	value, nulls, faults := strictjson.Parse([]byte("\ufeff" +
		` {"a": [1, -2.5e1, "x", true, null], "b": {"c~/": null}} `))
	want := map[string]any{"a": []any{1.0, -25.0, "x", true, nil}, "b": map[string]any{"c~/": nil}}
	if !reflect.DeepEqual(value, want) || len(faults) > 0 {
		t.Errorf("value %v, faults %v", value, faults)
	}
	if want := []string{"/a/4", "/b/c~0~1"}; !slices.Equal(nulls, want) {
		t.Errorf("nulls at %v, want %v", nulls, want)
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	deep := strings.Repeat(`{"a":`, 20) + "1" + strings.Repeat("}", 20)
	for _, tt := range []struct{ name, in, want string }{
		{"empty", "", "input: one JSON value; the input is empty"},
		{"blank", " \n", "input: one JSON value; the input is empty"},
		{"trailing", `{"unit": "cm"} x`,
			"input: at line 1 column 16: one well-formed JSON value in UTF-8: invalid character 'x' at start of value"},
		{"two values", "{}\n{}", "input: at line 2 column 2: one well-formed JSON value in UTF-8: a second value follows"},
		{"trailing comma", `{"a": {"b": 92,}}`,
			"/a: at line 1 column 15: one well-formed JSON value in UTF-8: invalid character ',' at start of value"},
		{"NaN", "{\n \"a\": {\n  \"b\": NaN}}",
			"/a/b: at line 3 column 8: one well-formed JSON value in UTF-8: invalid character 'N' at start of value"},
		{"not UTF-8", "{\"a\": \"\xff\"}", "/a: at line 1 column 8: one well-formed JSON value in UTF-8: invalid UTF-8"},
		{"cut short", `{"a": 9`, "input: at line 1 column 8: one well-formed JSON value in UTF-8: unexpected EOF"},
		{"too large", strings.Repeat(" ", 4<<20) + "{}", "input: 4194306 bytes: at most 4194304 bytes"},
		{"too deep", deep, strings.Repeat("/a", 16) + ": at most 16 objects and arrays within one another"},
		{"far too deep", strings.Repeat("[", 1<<19), strings.Repeat("/0", 16) +
			": at most 16 objects and arrays within one another"},
		{"beyond float64", `{"a": 1e400}`, "/a: 1e400: a number that float64 can hold"},
		{"repeated", `{"a": 1, "\u0061": "x", "b": [], "b": {}}`,
			"/a: \"x\": each key once in an object\n/b: {…}: each key once in an object"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if _, _, faults := strictjson.Parse([]byte(tt.in)); faults.Error() != tt.want {
				t.Errorf("got  %v\nwant %s", faults, tt.want)
			}
		})
	}
}

type inner struct {
	Unit string `json:"unit"`
}

type target struct {
	inner
	Name   string             `json:"name"`
	Count  int8               `json:"count,omitempty"`
	Sure   bool               `json:"sure"`
	At     time.Time          `json:"at"`
	Sizes  map[string]float64 `json:"sizes"`
	List   []string           `json:"list"`
	Any    any                `json:"any"`
	Choose map[string]any     `json:"choose"`
	Next   *target            `json:"next"`
	Hidden string             `json:"-"`
}

func TestDecode(t *testing.T) {
	t.Parallel()
	const data = `{"unit": "cm", "name": "x", "count": 3, "sure": true, "at": "2026-01-31T10:00:00Z", "sizes": {"a": 1.5},
		"list": ["p", "q"], "any": [1], "choose": {"n": null, "w": "word"}, "next": {"name": "y"}}`
	var got, want target
	if faults := strictjson.Decode([]byte(data), &got); len(faults) > 0 {
		t.Fatal(faults)
	}
	if err := json.Unmarshal([]byte(data), &want); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, encoding/json gives %+v", got, want)
	}
}

func TestDecodeReportsEveryFault(t *testing.T) {
	t.Parallel()
	var got target
	faults := strictjson.Decode([]byte(`{"Unit": "cm", "unit": 1, "name": null, "count": 200, "sure": "true",
		"at": "noon", "sizes": {"a": "1.5", "b": 2},
		"list": {}, "list": [], "next": {"sizess": {}}, "hidden": 1}`), &got)
	want := []string{
		"/list: […]: each key once in an object",
		`/Unit: "Unit": unknown field; did you mean unit?`,
		`/at: "noon": `,
		"/count: 200: a whole number",
		`/hidden: "hidden": unknown field; known are `,
		"/list: {…}: an array [...]",
		"/name: null: a string",
		`/next/sizess: "sizess": unknown field; did you mean sizes?`,
		`/sizes/a: "1.5": a number, without quotes`,
		`/sure: "true": true or false`,
		"/unit: 1: a string",
	}
	if len(faults) != len(want) {
		t.Fatalf("faults\n%v", faults)
	}
	for i, f := range faults {
		if !strings.HasPrefix(f.Error(), want[i]) {
			t.Errorf("fault %d is %s, want %s", i, f.Error(), want[i])
		}
	}
	if len(got.Sizes) != 1 || got.Sizes["b"] != 2 {
		t.Errorf("sizes %v, want what can be read", got.Sizes)
	}
}

func TestMerge(t *testing.T) {
	t.Parallel()
	first := fault.List{{Code: fault.Type, Field: "/sizes"}, {Code: fault.Type, Field: "/unit"},
		{Code: fault.Unknown, Field: "/names"}}
	got := strictjson.Merge(first, fault.List{{Field: "/sizes/a"}, {Field: "/unit"}, {Field: "/names"}, {Field: "/name"}})
	if len(got) != 5 || got[3].Field != "/names" || got[4].Field != "/name" {
		t.Errorf("merged %v", got)
	}
}

// FuzzDecode holds Parse to encoding/json: what is accepted means the same, and
// every fault is one line with a well-formed pointer.
func FuzzDecode(f *testing.F) {
	for _, s := range []string{"", "{", "null", "[1,2", `{"a/b":{"~":1}}`, `{"unit":"cm","unit":"inch"}`,
		`{"sizes":{"":""}}`,
		"\xff", `{"name":"\ud800"}`, `{"sizes":{"a":1e-400}}`, strings.Repeat("[", 40)} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		value, _, faults := strictjson.Parse(data)
		if len(faults) == 0 {
			var want any
			if err := json.Unmarshal([]byte(strings.TrimPrefix(string(data), "\ufeff")), &want); err != nil ||
				!reflect.DeepEqual(value, want) {
				t.Errorf("value %v, encoding/json gives %v, %v", value, want, err)
			}
		}
		var into target
		for _, fault := range strictjson.Decode(data, &into) {
			rest := strings.NewReplacer("~0", "", "~1", "").Replace(fault.Field)
			if fault.Field != "" && fault.Field[0] != '/' || strings.Contains(rest, "~") {
				t.Errorf("pointer %q", fault.Field)
			}
			if fault.Code == "" || fault.Accepted == "" || strings.ContainsAny(fault.Value+fault.Accepted, "\n\r") {
				t.Errorf("fault is not one clear line: %+v", fault)
			}
		}
	})
}
