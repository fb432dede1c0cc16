package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/google/uuid"

	"tapeline/drafting/fault"
	"tapeline/service"
)

// contractErrors converts the errors of kin-openapi.
func contractErrors(err error) []FieldError {
	switch e := err.(type) { //nolint:errorlint // each node of the tree of errors has its own type
	case openapi3.MultiError:
		var errs []FieldError
		for _, inner := range e {
			errs = append(errs, contractErrors(inner)...)
		}
		return errs
	case *openapi3filter.RequestError:
		if e.Parameter != nil {
			return parameterErrors(e)
		}
		if errs := schemaErrors(e.Err); len(errs) > 0 {
			return errs
		}
	}
	return []FieldError{{Code: FieldErrorCodeWrongFormat, Pointer: "#", Detail: "does not match the contract"}}
}

// parameterErrors converts an error of a parameter or header.
func parameterErrors(e *openapi3filter.RequestError) []FieldError {
	var errs []FieldError
	switch _, unreadable := errors.AsType[*openapi3filter.ParseError](e.Err); {
	case errors.Is(e.Err, openapi3filter.ErrInvalidRequired):
		errs = []FieldError{{Code: FieldErrorCodeMissing, Detail: "required"}}
	case errors.Is(e.Err, openapi3filter.ErrInvalidEmptyValue):
		errs = []FieldError{{Code: FieldErrorCodeTooShort, Detail: "empty"}}
	case unreadable:
		errs = []FieldError{{Code: FieldErrorCodeWrongType, Detail: "must be " + typeName(e.Parameter.Schema.Value)}}
	default:
		errs = schemaErrors(e.Err)
	}
	if len(errs) == 0 {
		errs = []FieldError{{Code: FieldErrorCodeWrongFormat, Detail: "does not match the contract"}}
	}
	for i := range errs {
		errs[i].Pointer = ""
		if e.Parameter.In == openapi3.ParameterInHeader {
			errs[i].Header = e.Parameter.Name
		} else {
			errs[i].Parameter = e.Parameter.Name
		}
	}
	return errs
}

// schemaErrors returns the innermost errors; allOf wraps those of its parts.
func schemaErrors(err error) []FieldError {
	switch e := err.(type) { //nolint:errorlint // each node of the tree of errors has its own type
	case openapi3.MultiError:
		var errs []FieldError
		for _, inner := range e {
			errs = append(errs, schemaErrors(inner)...)
		}
		return errs
	case *openapi3.SchemaError:
		if e.SchemaField == "allOf" && e.Origin != nil {
			if errs := schemaErrors(e.Origin); len(errs) > 0 {
				return errs
			}
		}
		return []FieldError{schemaError(e)}
	case interface{ Unwrap() []error }:
		var errs []FieldError
		for _, inner := range e.Unwrap() {
			errs = append(errs, schemaErrors(inner)...)
		}
		return errs
	case interface{ Unwrap() error }:
		return schemaErrors(e.Unwrap())
	}
	return nil
}

func schemaError(e *openapi3.SchemaError) FieldError {
	if e.SchemaField == "properties" {
		return unknownField(e)
	}
	code, detail := codeAndDetail(e)
	f := FieldError{Code: code, Pointer: fragment(fault.Pointer(e.JSONPointer()...)), Detail: detail}
	switch v := e.Value.(type) {
	case string:
		f.Value = fault.Shorten(v)
	case float64, bool:
		f.Value = fmt.Sprint(v)
	}
	return f
}

// unknownField names the field that a schema does not have, and a similar one.
func unknownField(e *openapi3.SchemaError) FieldError {
	name := e.Reason // property "name" is unsupported
	if quoted, err := strconv.QuotedPrefix(strings.TrimPrefix(name, "property ")); err == nil {
		name, _ = strconv.Unquote(quoted)
	}
	path := fault.Pointer(e.JSONPointer()...)
	f := fault.UnknownName(path, name, "field", slices.Sorted(maps.Keys(e.Schema.Properties)))
	return FieldError{Code: FieldErrorCodeUnknownField, Pointer: fragment(path + fault.Pointer(name)), Detail: f.Accepted}
}

func codeAndDetail(e *openapi3.SchemaError) (FieldErrorCode, string) {
	s := e.Schema
	switch e.SchemaField {
	case "required":
		return FieldErrorCodeMissing, "required"
	case "type", "oneOf":
		return FieldErrorCodeWrongType, "must be " + typeName(s)
	case "nullable":
		return FieldErrorCodeWrongType, "must be " + typeName(s) + ", not null"
	case "enum":
		return FieldErrorCodeNotAChoice, "must be one of " + listed(s.Enum)
	case "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum":
		return FieldErrorCodeOutOfRange, limits(s)
	case "minLength":
		return FieldErrorCodeTooShort, "at least " + strconv.FormatUint(s.MinLength, 10) + " characters"
	case "maxLength":
		return FieldErrorCodeTooLong, "at most " + strconv.FormatUint(*s.MaxLength, 10) + " characters"
	case "minItems", "minProperties":
		return FieldErrorCodeTooFew, "at least " + strconv.FormatUint(max(s.MinItems, s.MinProps), 10)
	case "maxItems":
		return FieldErrorCodeTooMany, "at most " + strconv.FormatUint(*s.MaxItems, 10)
	case "maxProperties":
		return FieldErrorCodeTooMany, "at most " + strconv.FormatUint(*s.MaxProps, 10)
	case "uniqueItems":
		return FieldErrorCodeDuplicate, "each may be given only once"
	case "pattern":
		return FieldErrorCodeWrongFormat, "must match " + s.Pattern
	case "format":
		return FieldErrorCodeWrongFormat, "must be a " + s.Format
	default:
		return FieldErrorCodeWrongFormat, "does not match the contract"
	}
}

// typeName names the type of a schema in words.
func typeName(s *openapi3.Schema) string {
	if len(s.OneOf) > 0 {
		names := make([]string, len(s.OneOf))
		for i, one := range s.OneOf {
			names[i] = typeName(one.Value)
		}
		return strings.Join(names, " or ")
	}
	for _, part := range s.AllOf {
		return typeName(part.Value)
	}
	switch {
	case s.Type.Is("integer"):
		return "a whole number"
	case s.Type.Is("number"):
		return "a number"
	case s.Type.Is("boolean"):
		return "true or false"
	case s.Type.Is("array"):
		return "a list"
	case s.Type.Is("object"):
		return "an object"
	default:
		return "a string"
	}
}

func limits(s *openapi3.Schema) string {
	switch {
	case s.Min != nil && s.Max != nil:
		return fmt.Sprintf("from %s to %s", plain(*s.Min), plain(*s.Max))
	case s.Min != nil:
		return "at least " + plain(*s.Min)
	default:
		return "at most " + plain(*s.Max)
	}
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func listed(values []any) string {
	words := make([]string, len(values))
	for i, v := range values {
		b, _ := json.Marshal(v) // from a document that was read as YAML
		words[i] = strings.Trim(string(b), `"`)
	}
	return strings.Join(words, ", ")
}

// under prefixes the pointers of an error with the part of the body that they
// concern.
func under(part string, err error) error {
	if e, ok := errors.AsType[*service.Error](err); ok && len(e.Faults) > 0 {
		moved := *e
		moved.Faults = slices.Clone(e.Faults)
		for i := range moved.Faults {
			moved.Faults[i].Field = part + moved.Faults[i].Field
		}
		return &moved
	}
	if r, ok := errors.AsType[*refusal](err); ok {
		moved := *r
		moved.errors = slices.Clone(r.errors)
		for i, f := range moved.errors {
			if rest, ok := strings.CutPrefix(f.Pointer, "#"); ok {
				moved.errors[i].Pointer = "#" + part + rest
			}
		}
		return &moved
	}
	return err
}

// shopParameter returns the shop of an inbound message.
func shopParameter(r *http.Request) (uuid.UUID, error) {
	id, err := uuid.Parse(r.URL.Query().Get("shop"))
	if err != nil {
		return uuid.Nil, &refusal{code: codeInvalidRequest, errors: []FieldError{
			{Code: FieldErrorCodeWrongFormat, Parameter: "shop", Detail: "must be the ID of a shop"}}}
	}
	return id, nil
}
