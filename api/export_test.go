package api

import "slices"

// ProblemCodes are the codes that have a status and a title, sorted.
func ProblemCodes() []string {
	var codes []string
	for code := range kinds {
		codes = append(codes, string(code))
	}
	slices.Sort(codes)
	return codes
}
