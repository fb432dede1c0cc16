package api_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"tapeline/api"
	"tapeline/drafting/drawing"
	"tapeline/drafting/fault"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
	"tapeline/service"
	"tapeline/service/webhooks"
)

// contractDoc is openapi.yaml as the tests read it, apart from how package api
// does.
func contractDoc(t testing.TB) *openapi3.T {
	t.Helper()
	doc, err := openapi3.NewLoader().LoadFromData(api.Contract)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// contractOperation is an operation with where it is.
type contractOperation struct {
	*openapi3.Operation
	method, path string
	params       openapi3.Parameters
	roles        []service.Role
}

func operations(t testing.TB) []contractOperation {
	t.Helper()
	var list []contractOperation
	for path, item := range contractDoc(t).Paths.Map() {
		for method, o := range item.Operations() {
			op := contractOperation{Operation: o, method: method, path: path,
				params: slices.Concat(item.Parameters, o.Parameters)}
			for _, r := range o.Extensions["x-roles"].([]any) {
				op.roles = append(op.roles, service.Role(r.(string)))
			}
			list = append(list, op)
		}
	}
	slices.SortFunc(list, func(a, b contractOperation) int { return strings.Compare(a.OperationID, b.OperationID) })
	return list
}

func TestContractIsValid(t *testing.T) {
	t.Parallel()
	doc := contractDoc(t)
	// Examples must match their schemas, and formats and patterns must be known.
	err := doc.Validate(t.Context(), openapi3.EnableExamplesValidation(), openapi3.EnableSchemaFormatValidation())
	if err != nil {
		t.Error(err)
	}
}

// What an operation can answer follows from what it is; the contract must say
// all of it.
func TestContractListsEveryAnswer(t *testing.T) {
	t.Parallel()
	for _, op := range operations(t) {
		want := []int{400, 429}
		if strings.HasPrefix(op.path, "/v1/") {
			want = append(want, 401, 500, 503)
			if len(op.roles) > 0 {
				want = append(want, 403)
			}
			if strings.Contains(op.path, "{") && op.OperationID != "followLink" {
				want = append(want, 404)
			}
		}
		if op.RequestBody != nil {
			want = append(want, 413, 415)
		}
		for _, status := range want {
			if op.Responses.Status(status) == nil {
				t.Errorf("%s does not say that it may answer %d", op.OperationID, status)
			}
		}
		if op.Summary == "" || len(op.Tags) != 1 {
			t.Errorf("%s needs a summary and one tag", op.OperationID)
		}
	}
}

func TestContractHasEverySchemaBounded(t *testing.T) {
	t.Parallel()
	// A request without limits is a request of any size.
	seen := map[*openapi3.Schema]bool{}
	var walk func(at string, ref *openapi3.SchemaRef)
	walk = func(at string, ref *openapi3.SchemaRef) {
		if ref == nil || seen[ref.Value] {
			return
		}
		s := ref.Value
		seen[s] = true
		switch {
		case s.Type.Is("string") && s.MaxLength == nil && len(s.Enum) == 0 && s.Format == "":
			t.Errorf("%s: text without maxLength", at)
		case s.Type.Is("array") && s.MaxItems == nil:
			t.Errorf("%s: list without maxItems", at)
		case s.Type.Is("object") && s.AdditionalProperties.Schema != nil && s.MaxProps == nil:
			t.Errorf("%s: map without maxProperties", at)
		case s.Type.Is("object") && s.AdditionalProperties.Schema == nil &&
			(s.AdditionalProperties.Has == nil || *s.AdditionalProperties.Has):
			t.Errorf("%s: object that takes unknown fields", at)
		}
		for name, p := range s.Properties {
			walk(at+"/"+name, p)
		}
		for i, p := range slices.Concat(s.AllOf, s.OneOf, s.AnyOf) {
			walk(fmt.Sprintf("%s/%d", at, i), p)
		}
		walk(at+"/items", s.Items)
		walk(at+"/*", s.AdditionalProperties.Schema)
	}
	for _, op := range operations(t) {
		for _, p := range op.params {
			walk(op.OperationID+" "+p.Value.Name, p.Value.Schema)
		}
		if op.RequestBody != nil {
			for _, media := range op.RequestBody.Value.Content {
				walk(op.OperationID, media.Schema)
			}
		}
	}
}

// The words of the contract and of the packages behind it are the same.
func TestContractKnowsTheWordsOfThePackages(t *testing.T) {
	t.Parallel()
	doc := contractDoc(t)
	enum := func(name string) (words []string) {
		for _, v := range doc.Components.Schemas[name].Value.Enum {
			words = append(words, v.(string))
		}
		return words
	}
	operation := func(id string) contractOperation {
		list := operations(t)
		return list[slices.IndexFunc(list, func(o contractOperation) bool { return o.OperationID == id })]
	}
	for _, code := range []fault.Code{fault.Unknown, fault.Missing, fault.Type, fault.Format, fault.Range, fault.Choice,
		fault.Duplicate, fault.Size,
		fault.Syntax, fault.Contradiction, fault.Undraftable, fault.Script} {
		if !slices.Contains(enum("FieldErrorCode"), string(code)) {
			t.Errorf("FieldErrorCode lacks %s", code)
		}
	}
	var want []string
	for _, e := range webhooks.EventTypes() {
		want = append(want, string(e))
	}
	if got := enum("SubscribableEvent"); !slices.Equal(got, want) {
		t.Errorf("SubscribableEvent is %v, want %v", got, want)
	}
	var roles []string
	for _, r := range service.Roles() {
		roles = append(roles, string(r))
	}
	if got := enum("Role"); !slices.Equal(got, roles) {
		t.Errorf("Role is %v, service has %v", got, roles)
	}
	paper := doc.Components.Schemas["Paper"].Value
	// A format is an entry in package render: the contract has its name, its media
	// type and its options, for files, previews and links.
	var formats []string
	file, draft := operation("getPatternFile"), operation("previewDraft")
	for _, f := range render.Formats() {
		formats = append(formats, f.Name)
		for _, op := range []contractOperation{file, draft, operation("followLink")} {
			if op.Responses.Status(200).Value.Content[f.MediaType] == nil {
				t.Errorf("%s does not answer with %s", op.OperationID, f.MediaType)
			}
		}
		for _, option := range f.Takes() {
			for _, op := range []contractOperation{file, draft} {
				if op.params.GetByInAndName("query", option) == nil {
					t.Errorf("%s does not take %s of %s", op.OperationID, option, f.Name)
				}
			}
			for _, name := range []string{"NewLink", "Link"} {
				if doc.Components.Schemas[name].Value.Properties[option] == nil {
					t.Errorf("%s does not take %s of %s", name, option, f.Name)
				}
			}
		}
	}
	if got := enum("FileFormat"); !slices.Equal(got, formats) {
		t.Errorf("FileFormat is %v, render has %v", got, formats)
	}
	if got := enum("LinkFormat"); !slices.Equal(got, append(formats, render.MakingSheetName)) {
		t.Errorf("LinkFormat is %v, render has %v and %s", got, formats, render.MakingSheetName)
	}
	var layers []string
	for _, l := range drawing.Layers() {
		layers = append(layers, string(l))
	}
	if got := enum("Layer"); !slices.Equal(got, layers) {
		t.Errorf("Layer is %v, render has %v", got, layers)
	}
	for _, p := range append(sheets.Papers(), sheets.Full) {
		if err := paper.VisitJSON(p.Name); err != nil {
			t.Errorf("Paper does not take %s", p.Name)
		}
	}
}

// Every code of the contract has its status and title, and there are no others.
func TestProblemCodes(t *testing.T) {
	t.Parallel()
	var listed []string
	for _, v := range contractDoc(t).Components.Schemas["ProblemCode"].Value.Enum {
		listed = append(listed, v.(string))
	}
	slices.Sort(listed)
	if got := api.ProblemCodes(); !slices.Equal(got, listed) {
		t.Errorf("codes with a status: %v\ncodes of the contract: %v", got, listed)
	}
}

func TestServiceOperations(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, tt := range [...]struct{ path, want string }{
		{"/healthz", `"status":"ok"`},
		{"/readyz", `"status":"ok"`},
		{"/openapi.yaml", "openapi: 3.0.3"},
		{"/docs", "problem-reference_taken"},
		{"/metrics", "tapeline_request_duration_seconds"}, // of the requests before
	} {
		r := b.do(call{method: "GET", path: tt.path}).want(http.StatusOK, nil)
		if !strings.Contains(string(r.body), tt.want) {
			t.Errorf("%s does not hold %q: %.300s", tt.path, tt.want, r.body)
		}
	}
	b.do(call{method: "GET", path: "/nowhere"}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	r := b.do(call{method: "DELETE", path: "/v1/orders", key: b.keys[service.RoleAdmin]})
	r.problem(http.StatusMethodNotAllowed, api.ProblemCodeMethodNotAllowed)
	if r.header.Get("Allow") == "" {
		t.Error("405 without Allow")
	}
}

// The page must load nothing: its policy forbids it, and it does not try.
func TestDocsLoadNothing(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.do(call{method: "GET", path: "/docs"}).want(http.StatusOK, nil)
	// Addresses in its text, such as those of examples, load nothing.
	for _, sign := range []string{"<script ", "src=", "@import", "url(", `="http`, `="//`} {
		if strings.Contains(string(r.body), sign) {
			t.Errorf("the page holds %q", sign)
		}
	}
	if policy := r.header.Get("Content-Security-Policy"); strings.Contains(policy, "unsafe") ||
		!strings.Contains(policy, "default-src 'none'") {
		t.Errorf("policy: %q", policy)
	}
}
