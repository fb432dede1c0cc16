package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"slices"
	"strconv"
	"unicode/utf8"

	"tapeline/drafting/fault"
)

// maxDepth is how deep a body may nest. The contract needs six levels.
const maxDepth = 16

// checkJSON finds what the schema cannot see once a body is decoded: text that is not one JSON
// value in UTF-8, a key given twice, nesting without end, a number beyond
// float64. RFC 8259 leaves repeated keys open and RFC 7493 forbids them.
func checkJSON(data []byte) *FieldError {
	if !utf8.Valid(data) {
		return &FieldError{Code: FieldErrorCodeNotJSON, Pointer: "#", Detail: "the body must be UTF-8"}
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	if f := checkValue(d, nil); f != nil {
		return f
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return &FieldError{Code: FieldErrorCodeNotJSON, Pointer: "#", Detail: "there is more after the JSON value"}
	}
	return nil
}

// checkValue reads one value at path.
func checkValue(d *json.Decoder, path []string) *FieldError {
	at := func(code FieldErrorCode, detail string) *FieldError {
		return &FieldError{Code: code, Pointer: fragment(fault.Pointer(path...)), Detail: detail}
	}
	token, err := d.Token()
	if err != nil {
		return at(FieldErrorCodeNotJSON, notJSON(err))
	}
	switch t := token.(type) {
	case json.Number:
		if _, err := strconv.ParseFloat(t.String(), 64); err != nil {
			return at(FieldErrorCodeOutOfRange, "no number that large is taken")
		}
	case json.Delim:
		if len(path) >= maxDepth {
			return at(FieldErrorCodeNotJSON, "nested too deeply")
		}
		if t == '{' {
			return checkObject(d, path)
		}
		return checkArray(d, path)
	}
	return nil
}

func checkObject(d *json.Decoder, path []string) *FieldError {
	seen := map[string]bool{}
	for d.More() {
		token, err := d.Token()
		if err != nil {
			return &FieldError{Code: FieldErrorCodeNotJSON, Pointer: fragment(fault.Pointer(path...)), Detail: notJSON(err)}
		}
		key, _ := token.(string) // a key is always a string, or Token fails
		inside := append(path[:len(path):len(path)], key)
		if seen[key] {
			return &FieldError{Code: FieldErrorCodeDuplicate, Pointer: fragment(fault.Pointer(inside...)), Detail: "given more than once"}
		}
		seen[key] = true
		if f := checkValue(d, inside); f != nil {
			return f
		}
	}
	return closing(d, path)
}

func checkArray(d *json.Decoder, path []string) *FieldError {
	for i := 0; d.More(); i++ {
		if f := checkValue(d, append(path[:len(path):len(path)], strconv.Itoa(i))); f != nil {
			return f
		}
	}
	return closing(d, path)
}

func closing(d *json.Decoder, path []string) *FieldError {
	if _, err := d.Token(); err != nil {
		return &FieldError{Code: FieldErrorCodeNotJSON, Pointer: fragment(fault.Pointer(path...)), Detail: notJSON(err)}
	}
	return nil
}

// notJSON says what is wrong without the decoder's own words, which may quote
// the body.
func notJSON(err error) string {
	if e, ok := errors.AsType[*json.SyntaxError](err); ok {
		return "not well-formed JSON at byte " + strconv.FormatInt(e.Offset, 10)
	}
	return "the JSON value ends too early"
}

// nullsIn are the places of the nulls in a body that checkJSON passed.
func nullsIn(data []byte) []string {
	if !bytes.Contains(data, []byte("null")) {
		return nil
	}
	var body any
	if json.Unmarshal(data, &body) != nil {
		return nil
	}
	var places []string
	var look func(v any, path []string)
	look = func(v any, path []string) {
		switch v := v.(type) {
		case nil:
			places = append(places, fragment(fault.Pointer(path...)))
		case map[string]any:
			for _, name := range slices.Sorted(maps.Keys(v)) {
				look(v[name], append(path[:len(path):len(path)], name))
			}
		case []any:
			for i := range v {
				look(v[i], append(path[:len(path):len(path)], strconv.Itoa(i)))
			}
		}
	}
	look(body, nil)
	return places
}
