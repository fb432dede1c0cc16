package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"tapeline/api"
	"tapeline/service"
)

// Every text that a request may have is restricted by the contract, so that none has
// characters which cannot be stored. The exceptions are compared with a list of what is
// accepted, or read as numbers or a script.
func TestTextsAreRestricted(t *testing.T) {
	t.Parallel()
	exceptions := []string{"choices", "paper", "csv", "script", "cloth_width", "nap", "selvedge", "shrinkage", "spread",
		"If-None-Match", "webhook-signature"}
	for _, op := range operations(t) {
		for _, p := range op.params {
			if !slices.Contains(exceptions, p.Value.Name) {
				restricted(t, op.OperationID+" "+p.Value.Name, p.Value.Schema.Value, exceptions)
			}
		}
		if op.RequestBody == nil {
			continue
		}
		for media, content := range op.RequestBody.Value.Content {
			if media == "application/json" {
				restricted(t, op.OperationID, content.Schema.Value, exceptions)
			}
		}
	}
}

func restricted(t *testing.T, where string, s *openapi3.Schema, exceptions []string) {
	t.Helper()
	formats := []string{"uuid", "date", "date-time"}
	if s.Type.Is(openapi3.TypeString) && s.Enum == nil && s.Pattern == "" && !slices.Contains(formats, s.Format) {
		t.Errorf("%s has neither a pattern, a format nor a list of values", where)
	}
	for _, parts := range []openapi3.SchemaRefs{s.AllOf, s.AnyOf, s.OneOf} {
		for _, part := range parts {
			restricted(t, where, part.Value, exceptions)
		}
	}
	for name, p := range s.Properties {
		if !slices.Contains(exceptions, name) {
			restricted(t, where+"/"+name, p.Value, exceptions)
		}
	}
	if s.Items != nil {
		restricted(t, where+"[]", s.Items.Value, exceptions)
	}
	if s.AdditionalProperties.Schema != nil {
		restricted(t, where+"/*", s.AdditionalProperties.Schema.Value, exceptions)
	}
}

// What the contract leaves open is refused in words when it cannot be stored.
func TestNULIsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for name, script := range map[string]string{
		"in the script": tabard + "# \x00\n",
		"in the title":  strings.Replace(tabard, `title = "`, `title = "\x00`, 1),
	} {
		r := b.as(service.RoleStaff, "POST", "/v1/styles", object{"script": script})
		if r.status != http.StatusUnprocessableEntity && r.status != http.StatusCreated {
			t.Errorf("NUL %s: status %d", name, r.status)
		}
	}
	b.order(sampleOrder("LL-1").with("choices", object{"length": "hip\x00"}), "nul").
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	b.get("/v1/orders?q=%00").problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	b.get("/v1/customers?q=%ff").problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
}
