package api

import (
	"bytes"
	"errors"
	"io"
	"mime"
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"

	"tapeline/drafting/fault"
	"tapeline/service/strictjson"
)

// bodyKey is where a request's JSON value is kept between readBody, which
// decodes it, and binder.
const bodyKey = "body"

// readBody reads the body whole, within the limit, and validates it against the
// contract. The error is for a body that can't be read at all. JSON is decoded
// once: the value, with the contract's defaults in it, is then written by binder
// into the handler's struct. A compressed body is refused rather than unpacked:
// orders are small.
func readBody(c echo.Context, op *operation) ([]FieldError, error) {
	r := c.Request()
	if op.route.Operation.RequestBody == nil {
		return nil, refuseBody(r)
	}
	if coding := r.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return nil, &refusal{code: codeUnsupportedMediaType, detail: "a compressed body is not accepted",
			header: http.Header{"Accept-Encoding": {"identity"}}}
	}
	if r.ContentLength > op.most {
		return nil, tooLarge(op.most)
	}
	data, err := io.ReadAll(http.MaxBytesReader(nil, r.Body, op.most))
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return nil, tooLarge(op.most)
	}
	if err != nil {
		return nil, &refusal{code: codeInvalidRequest, detail: "the body ended too early"}
	}
	if len(data) == 0 {
		return nil, invalidBody(FieldError{Code: FieldErrorCodeMissing, Pointer: "#",
			Detail: "this operation needs a body: " + strings.Join(op.media, " or ")})
	}
	media, params, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	charset := params["charset"]
	if err != nil || !slices.Contains(op.media, media) || charset != "" && !strings.EqualFold(charset, "utf-8") {
		return nil, &refusal{code: codeUnsupportedMediaType, detail: "Content-Type must be " + strings.Join(op.media, " or ")}
	}
	schema := op.route.Operation.RequestBody.Value.Content[media].Schema.Value
	if media == "application/json" {
		return readJSON(c, op, schema, data)
	}
	if !utf8.Valid(data) {
		return nil, invalidBody(FieldError{Code: FieldErrorCodeWrongFormat, Pointer: "#", Detail: "the body must be UTF-8"})
	}
	r.Body = io.NopCloser(bytes.NewReader(data))
	r.Header.Set("Content-Type", media) // as the generated code spells it
	return validateBody(schema, string(data)), nil
}

// refuseBody refuses a body where the operation has none.
func refuseBody(r *http.Request) error {
	if r.ContentLength != 0 && r.Body != http.NoBody {
		n, err := io.CopyN(io.Discard, r.Body, 1)
		if n > 0 || err == nil {
			return invalidBody(FieldError{Code: FieldErrorCodeUnknownField, Pointer: "#",
				Detail: "this operation takes no body"})
		}
	}
	r.Body, r.ContentLength = http.NoBody, 0
	return nil
}

// readJSON decodes and validates a body of JSON.
func readJSON(c echo.Context, op *operation, schema *openapi3.Schema, data []byte) ([]FieldError, error) {
	value, nulls, faults := strictjson.Parse(data)
	if len(faults) > 0 {
		return nil, invalidBody(fieldErrors(false, faults)...)
	}
	c.Set(bodyKey, value)
	errs := validateBody(schema, value)
	if op.public { // another system's message may hold other fields, and nulls in them
		return errs, nil
	}
	for _, pointer := range nulls {
		pointer = fragment(pointer)
		if !slices.ContainsFunc(errs, func(e FieldError) bool { return e.Pointer == pointer }) {
			errs = append(errs, FieldError{Code: FieldErrorCodeWrongType, Pointer: pointer,
				Detail: "null is no value here; leave the field out"})
		}
	}
	return errs, nil
}

// validateBody validates a value and writes the contract's defaults into it.
func validateBody(schema *openapi3.Schema, value any) []FieldError {
	err := schema.VisitJSON(value, openapi3.VisitAsRequest(), openapi3.MultiErrors(), openapi3.DefaultsSet(func() {}))
	if err == nil {
		return nil
	}
	return schemaErrors(err)
}

// binder writes the value that readBody decoded into a handler's struct.
type binder struct{}

func (binder) Bind(into any, c echo.Context) error {
	faults := strictjson.Fill(c.Get(bodyKey), into)
	faults = slices.DeleteFunc(faults, func(f fault.Fault) bool {
		return f.Code == fault.Unknown || f.Value == "null" // the contract allows it
	})
	if len(faults) > 0 {
		return invalidBody(fieldErrors(false, faults)...)
	}
	return nil
}

func invalidBody(errs ...FieldError) *refusal {
	return &refusal{code: codeInvalidRequest, errors: errs}
}
