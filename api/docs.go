package api

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"html/template"
	"slices"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"
	"github.com/yuin/goldmark"

	"tapeline/service"
)

//go:embed docs.html
var docsTemplate string

//go:embed docs.css
var docsStyle string

//go:embed docs.js
var docsScript string

// docsPolicy permits the page its own style and script, by their hashes, and nothing
// else.
var docsPolicy = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; style-src " +
	sourceHash(docsStyle) + "; script-src " + sourceHash(docsScript)

// sourceHash returns a text as a source of a content security policy.
func sourceHash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// renderDocs renders the contract as one page that loads nothing. It can be read
// without its script, which only searches.
func renderDocs(doc *openapi3.T) ([]byte, error) {
	t, err := template.New("docs").Funcs(template.FuncMap{
		"text":    text,
		"inline":  inline,
		"schema":  schemaText,
		"example": example,
		"anchor":  func(s string) string { return strings.ToLower(s) },
		"style":   func() template.CSS { return template.CSS(docsStyle) },
		"script":  func() template.JS { return template.JS(docsScript) },
	}).Parse(docsTemplate)
	if err != nil {
		return nil, err
	}
	var page bytes.Buffer
	p := docsPage{Doc: doc, Events: eventSamples(doc), Schemas: namedSchemas(doc)}
	if p.Recipes, err = cutRecipes(); err != nil {
		return nil, err
	}
	if p.Groups, err = groups(doc); err != nil {
		return nil, err
	}
	p.Problems = docsProblems(doc, p.Groups)
	err = t.Execute(&page, p)
	return page.Bytes(), err
}

type docsPage struct {
	Doc      *openapi3.T
	Recipes  []recipe
	Groups   []docsGroup
	Events   []docsEvent
	Schemas  []docsSchema
	Problems []docsProblem
}

// docsEvent is the sample payload of an event.
type docsEvent struct {
	Type, When string
	Sample     any
}

// docsProblem is a code with what a caller does about it.
type docsProblem struct {
	Code       service.Code
	Status     int
	Title      string
	Remedy     string
	Example    any
	Operations []docsOperation // that may give it; none where any may
}

type docsGroup struct {
	*openapi3.Tag
	Operations []docsOperation
}

type docsOperation struct {
	Method, Path string
	Roles        []string
	Parameters   []*openapi3.Parameter
	Responses    []docsResponse
	*openapi3.Operation
}

type docsResponse struct {
	Status string
	Codes  []service.Code // of problems
	*openapi3.Response
}

// Sample returns an example of the JSON of an answer, nil if it has none.
func (r docsResponse) Sample() any {
	m := r.Content[echo.MIMEApplicationJSON]
	switch {
	case m == nil || r.Status >= "400":
		return nil
	case m.Example != nil:
		return m.Example
	default:
		return sample(m.Schema)
	}
}

type docsSchema struct {
	Name string
	*openapi3.Schema
}

// groups returns the operations by tag, in the order of the document's tags, sorted
// by path.
func groups(doc *openapi3.T) ([]docsGroup, error) {
	list := make([]docsGroup, len(doc.Tags))
	for i, tag := range doc.Tags {
		list[i].Tag = tag
	}
	paths := doc.Paths.InMatchingOrder()
	slices.Sort(paths)
	for _, path := range paths {
		item := doc.Paths.Value(path)
		for _, method := range []string{"GET", "POST", "PUT", "PATCH", "DELETE"} {
			o := item.GetOperation(method)
			if o == nil {
				continue
			}
			i := slices.IndexFunc(list, func(g docsGroup) bool { return g.Name == o.Tags[0] })
			d, err := newDocsOperation(method, path, item, o)
			if err != nil {
				return nil, fmt.Errorf("openapi.yaml: %s: %w", o.OperationID, err)
			}
			list[i].Operations = append(list[i].Operations, d)
		}
	}
	return list, nil
}

func newDocsOperation(
	method, path string, item *openapi3.PathItem, o *openapi3.Operation,
) (docsOperation, error) {
	d := docsOperation{Method: method, Path: path, Operation: o}
	roles, _ := o.Extensions["x-roles"].([]any)
	for _, r := range roles {
		d.Roles = append(d.Roles, fmt.Sprint(r))
	}
	for _, ps := range []openapi3.Parameters{item.Parameters, o.Parameters} {
		for _, p := range ps {
			d.Parameters = append(d.Parameters, p.Value)
		}
	}
	codes, err := problemsOf(o)
	for status, r := range o.Responses.Map() {
		of := slices.DeleteFunc(slices.Clone(codes), func(c service.Code) bool {
			return strconv.Itoa(kinds[c].status) != status
		})
		d.Responses = append(d.Responses, docsResponse{status, of, r.Value})
	}
	slices.SortFunc(d.Responses, func(a, b docsResponse) int { return cmp.Compare(a.Status, b.Status) })
	return d, err
}

// eventSamples returns the samples of the contract's events, by the order of their
// types.
func eventSamples(doc *openapi3.T) []docsEvent {
	var list []docsEvent
	samples := eventCallback(doc).RequestBody.Value.Content[echo.MIMEApplicationJSON].Examples
	for _, t := range doc.Components.Schemas["EventType"].Value.Enum {
		name := fmt.Sprint(t)
		if e := samples[name]; e != nil {
			list = append(list, docsEvent{name, e.Value.Summary, e.Value.Value})
		}
	}
	return list
}

// eventCallback returns the request by which an endpoint receives an event.
func eventCallback(doc *openapi3.T) *openapi3.Operation {
	callback := doc.Paths.Value("/v1/webhook-endpoints").Post.Callbacks["event"].Value
	return callback.Value("{$request.body#/url}").Post
}

// docsProblems returns the codes with the operations that name them.
func docsProblems(doc *openapi3.T, groups []docsGroup) []docsProblem {
	var list []docsProblem
	for _, name := range doc.Components.Schemas["ProblemCode"].Value.Enum {
		code := service.Code(fmt.Sprint(name))
		p := docsProblem{Code: code, Status: kinds[code].status, Title: kinds[code].title, Remedy: remedies[code],
			Example: exampleProblem(code)}
		for _, g := range groups {
			for _, o := range g.Operations {
				if !slices.Contains(general, code) && slices.ContainsFunc(o.Responses, func(r docsResponse) bool {
					return slices.Contains(r.Codes, code)
				}) {
					p.Operations = append(p.Operations, o)
				}
			}
		}
		list = append(list, p)
	}
	return list
}

func namedSchemas(doc *openapi3.T) []docsSchema {
	var list []docsSchema
	for name, s := range doc.Components.Schemas {
		if name != "ProblemCode" { // has its own section
			list = append(list, docsSchema{name, s.Value})
		}
	}
	slices.SortFunc(list, func(a, b docsSchema) int { return cmp.Compare(a.Name, b.Name) })
	return list
}

// text renders the Markdown of a description.
func text(s string) (template.HTML, error) {
	var b strings.Builder
	err := goldmark.Convert([]byte(s), &b)
	return template.HTML(b.String()), err
}

// inline renders the Markdown of a description of one paragraph, without the
// paragraph.
func inline(s string) (template.HTML, error) {
	t, err := text(s)
	return template.HTML(strings.TrimSuffix(strings.TrimPrefix(strings.TrimSpace(string(t)), "<p>"), "</p>")), err
}

// schemaText describes a schema in one line, with links to components.
func schemaText(ref *openapi3.SchemaRef) template.HTML {
	if ref == nil {
		return ""
	}
	if name, ok := strings.CutPrefix(ref.Ref, "#/components/schemas/"); ok {
		return template.HTML(`<a href="#schema-` + strings.ToLower(name) + `">` + html.EscapeString(name) + `</a>`)
	}
	s := ref.Value
	if len(s.AllOf) == 1 {
		return schemaText(s.AllOf[0])
	}
	if s.Type.Is("array") {
		return "list of " + schemaText(s.Items)
	}
	if s.Type.Is("object") && s.AdditionalProperties.Schema != nil {
		return "object of " + schemaText(s.AdditionalProperties.Schema)
	}
	words := []string{typeName(s)}
	if s.Format != "" {
		words = append(words, "("+s.Format+")")
	}
	if s.Min != nil || s.Max != nil {
		words = append(words, limits(s))
	}
	if s.MaxLength != nil {
		words = append(words, fmt.Sprintf("at most %d characters", *s.MaxLength))
	}
	if len(s.Enum) > 0 {
		words = append(words, "one of "+listed(s.Enum))
	}
	if s.Default != nil {
		words = append(words, fmt.Sprintf("default %v", s.Default))
	}
	return template.HTML(html.EscapeString(strings.Join(words, ", ")))
}

func example(v any) string {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return ""
	}
	return string(b)
}
