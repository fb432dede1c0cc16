package api

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/labstack/echo/v4"

	"tapeline/drafting/fault"
)

// maxBody is the default limit of a request body in bytes. An order with every
// measurement and choice is under 4 kB.
const maxBody = 64 << 10

// validate validates every request against the contract before a handler sees it,
// and reports all faults at once.
func (s *Server) validate(next echo.HandlerFunc) echo.HandlerFunc {
	options := &openapi3filter.Options{
		MultiError:         true,
		ExcludeRequestBody: true, // readBody validates it
		// Keys, signatures and links are checked elsewhere, before the body is read.
		AuthenticationFunc: openapi3filter.NoopAuthenticationFunc,
	}
	return func(c echo.Context) error {
		op, ok := c.Get(operationKey).(*operation)
		if !ok {
			return next(c) // echo's own not found
		}
		r := c.Request()
		bodyErrors, err := readBody(c, op)
		if err != nil {
			return err
		}
		errs := append(unreadableParameters(op, r), infiniteParameters(op, r)...)
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
		errs = append(errs, bodyErrors...)
		if len(errs) == 0 {
			return next(c)
		}
		if slices.ContainsFunc(errs, func(e FieldError) bool {
			return e.Header == "Idempotency-Key" &&
				e.Code == FieldErrorCodeMissing
		}) {
			return &refusal{code: codeIdempotencyKeyMissing, errors: errs}
		}
		return &refusal{code: codeInvalidRequest, errors: errs}
	}
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

// infiniteParameters reports numbers that are infinite or not a number, which Go's
// parser accepts and no limit of the contract catches.
func infiniteParameters(op *operation, r *http.Request) []FieldError {
	var errs []FieldError
	query := r.URL.Query()
	for _, p := range op.route.Operation.Parameters {
		v, err := strconv.ParseFloat(query.Get(p.Value.Name), 64)
		if p.Value.In != openapi3.ParameterInQuery || err != nil || !p.Value.Schema.Value.Type.Is(openapi3.TypeNumber) {
			continue
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			errs = append(errs, FieldError{Code: FieldErrorCodeWrongType, Parameter: p.Value.Name,
				Detail: fmt.Sprintf("%q is not a finite number", query.Get(p.Value.Name))})
		}
	}
	return errs
}

// unreadableParameters reports query parameters that the operation does not have, which
// would otherwise be silently ignored, those given twice, and those that are no text.
func unreadableParameters(op *operation, r *http.Request) []FieldError {
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
			if shown := strings.Trim(f.Value, `"`); shown != "" {
				f.Value = shown
			}
			errs = append(errs, FieldError{Code: FieldErrorCodeUnknownField, Parameter: f.Value, Detail: f.Accepted})
		case len(query[name]) > 1:
			errs = append(errs, FieldError{Code: FieldErrorCodeDuplicate, Parameter: name, Detail: "given more than once"})
		case !utf8.ValidString(query.Get(name)):
			errs = append(errs, FieldError{Code: FieldErrorCodeWrongFormat, Parameter: name, Detail: "must be UTF-8"})
		}
	}
	if len(errs) == 0 && strings.Contains(r.URL.RawQuery, ";") {
		errs = append(errs, FieldError{Code: FieldErrorCodeWrongFormat, Parameter: "query",
			Detail: "parameters are separated by &"})
	}
	return errs
}
