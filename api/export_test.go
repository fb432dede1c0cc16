package api

import (
	"slices"

	"github.com/getkin/kin-openapi/openapi3"
)

// ProblemCodes are the codes that have a status and a title, sorted.
func ProblemCodes() []string {
	var codes []string
	for code := range kinds {
		codes = append(codes, string(code))
	}
	slices.Sort(codes)
	return codes
}

// ProblemsOf are the codes that an operation of the contract may give.
func ProblemsOf(o *openapi3.Operation) ([]string, error) {
	codes, err := problemsOf(o)
	var names []string
	for _, c := range codes {
		names = append(names, string(c))
	}
	return names, err
}
