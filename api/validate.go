package api

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/labstack/echo/v4"

	"tapeline/drafting/fault"
)

// maxBody is the largest request body that is read, bytes, unless the contract
// says otherwise. An order with every measurement and choice is under 4 kB.
const maxBody = 64 << 10

// validate holds every request against the contract before a handler sees
// it, and reports everything that is wrong at once.
func (s *Server) validate(next echo.HandlerFunc) echo.HandlerFunc {
	options := &openapi3filter.Options{
		MultiError:         true,
		KeepValidatedValue: true,
		// Keys, signatures and links are checked elsewhere, before the body is read.
		AuthenticationFunc: openapi3filter.NoopAuthenticationFunc,
	}
	return func(c echo.Context) error {
		op, ok := c.Get(operationKey).(*operation)
		if !ok {
			return next(c) // echo's own not found
		}
		r := c.Request()
		nulls, err := readBody(op, r)
		if err != nil {
			return err
		}
		errs := unknownParameters(op, r)
		input := &openapi3filter.RequestValidationInput{
			Request:     r,
			PathParams:  pathParameters(c),
			QueryParams: r.URL.Query(),
			Route:       op.route,
			Options:     options,
		}
		if err := openapi3filter.ValidateRequest(r.Context(), input); err != nil {
			errs = append(errs, contractErrors(err)...)
		}
		errs = append(errs, nullErrors(op, nulls, errs)...)
		if len(errs) == 0 {
			return next(c)
		}
		if slices.ContainsFunc(errs, func(e FieldError) bool { return e.Header == "Idempotency-Key" && e.Code == FieldErrorCodeMissing }) {
			return &refusal{code: codeIdempotencyKeyMissing, errors: errs}
		}
		return &refusal{code: codeInvalidRequest, errors: errs}
	}
}

// readBody reads the body whole, within the limit, and leaves it to be read
// again, and says where in it there is a null. A compressed body is refused
// rather than unpacked: orders are small.
func readBody(op *operation, r *http.Request) (nulls []string, err error) {
	if op.route.Operation.RequestBody == nil {
		if r.ContentLength != 0 && r.Body != http.NoBody {
			n, err := io.CopyN(io.Discard, r.Body, 1)
			if n > 0 || err == nil {
				return nil, &refusal{code: codeInvalidRequest, errors: []FieldError{
					{Code: FieldErrorCodeUnknownField, Pointer: "#", Detail: "this operation takes no body"}}}
			}
		}
		r.Body, r.ContentLength = http.NoBody, 0
		return nil, nil
	}
	if coding := r.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return nil, &refusal{code: codeUnsupportedMediaType, detail: "a compressed body is not taken",
			header: http.Header{"Accept-Encoding": {"identity"}}}
	}
	if r.ContentLength > op.most {
		return nil, tooLarge(op.most)
	}
	data, err := io.ReadAll(http.MaxBytesReader(nil, r.Body, op.most))
	if err != nil {
		if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
			return nil, tooLarge(op.most)
		}
		return nil, &refusal{code: codeInvalidRequest, detail: "the body ended before it was whole"}
	}
	r.Body, r.ContentLength = io.NopCloser(bytes.NewReader(data)), int64(len(data))
	r.GetBody = func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }
	if len(data) == 0 {
		return nil, &refusal{code: codeInvalidRequest, errors: []FieldError{
			{Code: FieldErrorCodeMissing, Pointer: "#", Detail: "this operation needs a body: " + strings.Join(op.media, " or ")}}}
	}
	media, params, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if charset := params["charset"]; err != nil || !slices.Contains(op.media, media) || charset != "" && !strings.EqualFold(charset, "utf-8") {
		return nil, &refusal{code: codeUnsupportedMediaType, detail: "Content-Type must be " + strings.Join(op.media, " or ")}
	}
	if media != "application/json" {
		if f := checkText(data); f != nil {
			return nil, &refusal{code: codeInvalidRequest, errors: []FieldError{*f}}
		}
		r.Header.Set("Content-Type", media) // as the generated code spells it
		return nil, nil
	}
	if f := checkJSON(data); f != nil {
		return nil, &refusal{code: codeInvalidRequest, errors: []FieldError{*f}}
	}
	return nullsIn(data), nil
}

func tooLarge(most int64) error {
	return &refusal{code: codeBodyTooLarge, detail: fmt.Sprintf("at most %d bytes", most),
		header: http.Header{"Connection": {"close"}}}
}

func pathParameters(c echo.Context) map[string]string {
	params := make(map[string]string, len(c.ParamNames()))
	for i, name := range c.ParamNames() {
		params[name] = c.ParamValues()[i]
	}
	return params
}

// unknownParameters finds query parameters that the operation does not have,
// and those given twice: a slip in a name would else change nothing, silently.
func unknownParameters(op *operation, r *http.Request) []FieldError {
	var errs []FieldError
	query := r.URL.Query()
	names := make([]string, 0, len(query))
	for name := range query {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		switch {
		case !slices.Contains(op.query, name):
			f := fault.UnknownName("", name, "parameter", op.query)
			errs = append(errs, FieldError{Code: FieldErrorCodeUnknownField, Parameter: strings.Trim(f.Value, `"`), Detail: f.Accepted})
		case len(query[name]) > 1:
			errs = append(errs, FieldError{Code: FieldErrorCodeDuplicate, Parameter: name, Detail: "given more than once"})
		}
	}
	if len(errs) == 0 && strings.Contains(r.URL.RawQuery, ";") {
		errs = append(errs, FieldError{Code: FieldErrorCodeWrongFormat, Parameter: "query", Detail: "parameters are parted by &"})
	}
	return errs
}

// nullErrors are the nulls in a body that the validator lets pass because their
// field has a default. The contract has no field that may be null; other
// systems' messages may hold what they like beside what it asks for.
func nullErrors(op *operation, nulls []string, found []FieldError) []FieldError {
	var errs []FieldError
	for _, pointer := range nulls {
		if !op.public && !slices.ContainsFunc(found, func(e FieldError) bool { return e.Pointer == pointer }) {
			errs = append(errs, FieldError{Code: FieldErrorCodeWrongType, Pointer: pointer, Detail: "null is no value here; leave the field out"})
		}
	}
	return errs
}
