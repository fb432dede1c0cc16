package api

import (
	"fmt"
	"net/http"
	"slices"

	"github.com/getkin/kin-openapi/openapi3"

	"tapeline/service"
)

// general are the codes that every operation gives that lists their status. All
// others are of the operations that name them in x-problems.
var general = []service.Code{codeInvalidRequest, service.CodeUnauthenticated, codeForbidden, service.CodeNotFound,
	codeBodyTooLarge, codeUnsupportedMediaType, codeRateLimited, codeInternal, service.CodeUnavailable}

// problemsOf returns the codes of the problems that an operation may answer with, by
// status and name. It fails if x-problems and the statuses of the operation disagree.
func problemsOf(o *openapi3.Operation) ([]service.Code, error) {
	var codes []service.Code
	roles, _ := o.Extensions["x-roles"].([]any)
	for _, code := range general {
		if code == service.CodeUnauthenticated && len(roles) == 0 {
			continue // a signature or nothing instead of a key
		}
		if o.Responses.Status(kinds[code].status) != nil {
			codes = append(codes, code)
		}
	}
	named, _ := o.Extensions["x-problems"].([]any)
	for _, name := range named {
		code := service.Code(fmt.Sprint(name))
		k, ok := kinds[code]
		switch {
		case !ok:
			return nil, fmt.Errorf("x-problems: unknown code %q", code)
		case o.Responses.Status(k.status) == nil:
			return nil, fmt.Errorf("x-problems: %s without a response %d", code, k.status)
		case slices.Contains(codes, code):
			return nil, fmt.Errorf("x-problems: %s is said twice", code)
		}
		codes = append(codes, code)
	}
	for status, r := range o.Responses.Map() {
		if status < "400" || r.Value.Content["application/problem+json"] == nil {
			continue
		}
		if !slices.ContainsFunc(codes, func(c service.Code) bool { return fmt.Sprint(kinds[c].status) == status }) {
			return nil, fmt.Errorf("x-problems: no code for the response %s", status)
		}
	}
	slices.SortFunc(codes, func(a, b service.Code) int {
		if d := kinds[a].status - kinds[b].status; d != 0 {
			return d
		}
		return slices.Index(general, b) - slices.Index(general, a)
	})
	return codes, nil
}

// exampleProblem returns a problem with a code as a caller receives it.
func exampleProblem(code service.Code) map[string]any {
	k := kinds[code]
	p := map[string]any{"type": "/docs#problem-" + string(code), "title": k.title, "status": k.status,
		"code": code, "instance": "0190f5f0c2c67b7e8c0a9d0e0d6ad3f1"}
	switch {
	case code == codeInvalidRequest:
		p["errors"] = []any{map[string]any{"code": "wrong_type", "pointer": "#/measurements/bust_girth",
			"detail": "must be a number"}}
	case k.status == http.StatusUnprocessableEntity && code == service.CodeInvalidInput:
		p["errors"] = []any{map[string]any{"code": "missing", "pointer": "#/measurements/arm_length",
			"detail": "required: shoulder point over the slightly bent elbow to the wrist bone"}}
	}
	return p
}
