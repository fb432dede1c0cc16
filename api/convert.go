package api

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"reflect"
	"strings"

	"github.com/go-playground/validator/v10"
	"github.com/google/uuid"

	"tapeline/service"
)

// each converts a list. The result is never nil, so that JSON has [].
func each[A, B any](list []A, convert func(A) B) []B {
	out := make([]B, len(list))
	for i, v := range list {
		out[i] = convert(v)
	}
	return out
}

// deref returns the zero value for nil, which makes the contract's optional
// fields absent.
func deref[T any](p *T) T { return service.OrZero(p) }

// filled is {} for a map that is not there.
func filled[K comparable, V any](m map[K]V) map[K]V {
	if m == nil {
		return map[K]V{}
	}
	return m
}

// Cursors are ids as base64, opaque to callers.

func cursorOf(next uuid.UUID) Cursor {
	if next == uuid.Nil {
		return ""
	}
	return base64.RawURLEncoding.EncodeToString(next[:])
}

func pageOf(limit int, cursor Cursor) (service.Page, error) {
	p := service.Page{Limit: limit}
	if cursor == "" {
		return p, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(cursor)
	if err != nil || len(b) != len(p.After) {
		return p, badCursor()
	}
	p.After = uuid.UUID(b)
	return p, nil
}

func entryCursorOf(next int64) Cursor {
	if next == 0 {
		return ""
	}
	return base64.RawURLEncoding.EncodeToString(binary.BigEndian.AppendUint64(nil, uint64(next)))
}

func entryPageOf(cursor Cursor) (int64, error) {
	if cursor == "" {
		return 0, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(cursor)
	if err != nil || len(b) != 8 || b[0] > 0x7f {
		return 0, badCursor()
	}
	return int64(binary.BigEndian.Uint64(b)), nil
}

func badCursor() error {
	return &refusal{code: codeInvalidRequest, errors: []FieldError{
		{Code: FieldErrorCodeWrongFormat, Parameter: "cursor", Detail: "must be the next_cursor of the previous page"}}}
}

// together validates which fields may be given together, by tags that the contract
// declares.
var together = func() *validator.Validate {
	v := validator.New(validator.WithRequiredStructEnabled())
	v.RegisterTagNameFunc(func(f reflect.StructField) string {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		return name
	})
	return v
}()

func checkTogether(body any) error {
	found, ok := errors.AsType[validator.ValidationErrors](together.Struct(body))
	if !ok {
		return nil
	}
	var errs []FieldError
	for _, e := range found {
		f := FieldError{Code: FieldErrorCodeExcluded, Pointer: "#/" + e.Field(), Detail: "not together with " + inJSON(body,
			e.Param())}
		switch e.Tag() {
		case "required_without":
			f.Code, f.Detail = FieldErrorCodeMissing, "required without "+inJSON(body, e.Param())
		case "excluded_without", "excluded_without_all":
			f.Detail = "only together with " + inJSON(body, e.Param())
		}
		errs = append(errs, f)
	}
	return &refusal{code: codeInvalidRequest, errors: errs}
}

// inJSON returns the JSON names of Go fields.
func inJSON(body any, fields string) string {
	var names []string
	for _, field := range strings.Fields(fields) {
		if f, ok := reflect.TypeOf(body).FieldByName(field); ok {
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			names = append(names, name)
		}
	}
	return strings.Join(names, " or ")
}
