package fault_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"tapeline/drafting/fault"
)

func TestListError(t *testing.T) {
	t.Parallel()
	list := fault.List{
		{Code: fault.Range, Field: "/measurements/bust_girth", Value: "9 cm", Accepted: "bust is from 60 to 200 cm"},
		{Code: fault.Missing, Field: "/reference", Accepted: "required"},
		{Code: fault.Syntax, Value: `"{"`, Accepted: "not well-formed JSON"},
	}
	want := "/measurements/bust_girth: 9 cm: bust is from 60 to 200 cm\n" +
		"/reference: required\n" +
		`input: "{": not well-formed JSON`
	if got := list.Error(); got != want {
		t.Errorf("Error() =\n%s\nwant\n%s", got, want)
	}
	err := list.Err()
	if _, ok := errors.AsType[fault.List](err); !ok {
		t.Errorf("Err() of faults is %T, want a fault.List", err)
	}
	if err := (fault.List{}).Err(); err != nil {
		t.Errorf("Err() of no faults = %v, want nil", err)
	}
}

// The examples are from RFC 6901 section 5.
func TestPointer(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		keys []string
		want string
	}{
		{nil, ""},
		{[]string{"foo", "0"}, "/foo/0"},
		{[]string{""}, "/"},
		{[]string{"a/b"}, "/a~1b"},
		{[]string{"c%d"}, "/c%d"},
		{[]string{`k"l`}, `/k"l`},
		{[]string{"m~n"}, "/m~0n"},
		{[]string{"~1"}, "/~01"},
	} {
		if got := fault.Pointer(tt.keys...); got != tt.want {
			t.Errorf("Pointer(%q) = %q, want %q", tt.keys, got, tt.want)
		}
	}
}

func TestShorten(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ in, want string }{
		{"", `""`},
		{"cm\n", `"cm\n"`},
		{strings.Repeat("ä", 40), `"` + strings.Repeat("ä", 40) + `"`},
		{strings.Repeat("ä", 41), `"` + strings.Repeat("ä", 39) + `…"`},
		{strings.Repeat("x", 1<<20), `"` + strings.Repeat("x", 39) + `…"`},
		{"\xff\xfe", `"\xff\xfe"`},
	} {
		if got := fault.Shorten(tt.in); got != tt.want {
			t.Errorf("Shorten(%.50q) = %s, want %s", tt.in, got, tt.want)
		}
	}
}

func TestNearest(t *testing.T) {
	t.Parallel()
	known := []string{
		"bust_girth", "under_bust_girth", "waist_girth", "waist_to_hip", "hip_girth", "wrist_girth", "back_width", "unit",
	}
	for _, tt := range []struct{ in, want string }{
		{"bust_grith", "bust_girth"},
		{"Bust Girth", "bust_girth"},
		{"waist-girth", "waist_girth"},
		{"bust", "bust_girth"},
		{"units", "unit"},
		{"wist_girth", "waist_girth"}, // as near to wrist_girth: the first known wins
		{"age", ""},
		{"", ""},
		{strings.Repeat("bust_girth", 7), ""},
	} {
		if got := fault.Nearest(tt.in, known); got != tt.want {
			t.Errorf("Nearest(%q) = %q, want %q", tt.in, got, tt.want)
		}
	}
}

func TestFaultAsJSON(t *testing.T) {
	t.Parallel()
	got, err := json.Marshal(fault.Fault{Code: fault.Missing, Field: "/unit", Accepted: "cm or inch"})
	if err != nil {
		t.Fatal(err)
	}
	if want := `{"code":"missing","field":"/unit","accepted":"cm or inch"}`; string(got) != want {
		t.Errorf("json = %s, want %s", got, want)
	}
}
