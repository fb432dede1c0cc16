package api

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"

	"tapeline/service"
)

// Every operation has a curl command and a call of fetch, whose body its schema accepts.
func TestDocsSamples(t *testing.T) {
	t.Parallel()
	c, err := loadContract()
	if err != nil {
		t.Fatal(err)
	}
	list, err := groups(c.doc)
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range list {
		for _, o := range g.Operations {
			for _, text := range []string{o.Curl(), o.TypeScript()} {
				if strings.Contains(text, "<nil>") || strings.Contains(text, "/{") {
					t.Errorf("%s: a parameter is not replaced:\n%s", o.OperationID, text)
				}
			}
			media, value := o.sampleBody()
			if media == "" {
				continue
			}
			read, data := asJSON(t, value)
			if err := o.RequestBody.Value.Content[media].Schema.Value.VisitJSON(read,
				openapi3.EnableFormatValidation()); err != nil {
				t.Errorf("%s: its schema refuses the sample %s: %v", o.OperationID, data, err)
			}
		}
	}
}

// Every operation, parameter and field of the contract says what it is, and every answer
// and body in JSON has an example that its schema accepts.
func TestContractSaysWhatEverythingIs(t *testing.T) {
	t.Parallel()
	c, err := loadContract()
	if err != nil {
		t.Fatal(err)
	}
	list, err := groups(c.doc)
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range list {
		for _, o := range g.Operations {
			if o.Description == "" {
				t.Errorf("%s has no description", o.OperationID)
			}
			for _, p := range o.Parameters {
				if p.Description == "" {
					t.Errorf("%s: %s has no description", o.OperationID, p.Name)
				}
			}
			for _, r := range o.Responses {
				media := r.Content[echo.MIMEApplicationJSON]
				if media == nil {
					continue
				}
				value, text := asJSON(t, r.Sample())
				if err := media.Schema.Value.VisitJSON(value, openapi3.EnableFormatValidation()); err != nil {
					t.Errorf("%s: its schema refuses the example of %s: %v", o.OperationID, r.Status, err)
				}
				if strings.Contains(text, `"..."`) {
					t.Errorf("%s: the example of %s has a field without one: %.300s", o.OperationID, r.Status, text)
				}
			}
		}
	}
	for name, s := range c.doc.Components.Schemas {
		if s.Value.Description == "" {
			t.Errorf("schema %s has no description", name)
		}
		undescribed(t, name, s.Value)
	}
}

// undescribed reports the fields of a schema that do not say what they are.
func undescribed(t *testing.T, at string, s *openapi3.Schema) {
	t.Helper()
	for name, field := range s.Properties {
		described := field.Value.Description != ""
		for _, part := range field.Value.AllOf {
			described = described || part.Value.Description != ""
		}
		if !described {
			t.Errorf("%s: %s has no description", at, name)
		}
		if field.Ref == "" {
			undescribed(t, at+"."+name, field.Value)
		}
	}
	if s.Items != nil && s.Items.Ref == "" {
		undescribed(t, at+"[]", s.Items.Value)
	}
}

// asJSON returns a value as JSON reads it, and its text.
func asJSON(t *testing.T, v any) (value any, text string) {
	t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &value); err != nil {
		t.Fatal(err)
	}
	return value, string(data)
}

// Every recipe has its code in both languages, which the tests of the sample clients run.
func TestRecipes(t *testing.T) {
	t.Parallel()
	list, err := cutRecipes()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list {
		for _, code := range []string{r.TypeScript, r.Python} {
			if len(code) < 100 || strings.Contains(code, "recipe:") {
				t.Errorf("%s: %q", r.ID, code)
			}
		}
	}
}

// Every code has a remedy, and there are no others.
func TestRemedies(t *testing.T) {
	t.Parallel()
	codes := func(m any) map[service.Code]bool {
		set := map[service.Code]bool{}
		for _, k := range reflect.ValueOf(m).MapKeys() {
			set[k.Interface().(service.Code)] = true
		}
		return set
	}
	if got, want := codes(remedies), codes(kinds); !reflect.DeepEqual(got, want) {
		t.Errorf("codes with a remedy %v, want %v", got, want)
	}
}

// The served contract equals openapi.yaml without the generator's instructions.
func TestPublishedContract(t *testing.T) {
	t.Parallel()
	if bytes.Contains(published, []byte("x-go")) || bytes.Contains(published, []byte("x-oapi")) {
		t.Error("the served contract holds instructions to the generator")
	}
	read := func(data []byte) any {
		doc, err := openapi3.NewLoader().LoadFromData(data)
		if err != nil {
			t.Fatal(err)
		}
		text, err := doc.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		var tree any
		if err := json.Unmarshal(text, &tree); err != nil {
			t.Fatal(err)
		}
		return without(tree)
	}
	if !reflect.DeepEqual(read(Contract), read(published)) {
		t.Error("the served contract differs from openapi.yaml in more than the generator's instructions")
	}
}

// without removes the generator's instructions from a tree of JSON.
func without(tree any) any {
	switch v := tree.(type) {
	case map[string]any:
		for name, value := range v {
			if strings.HasPrefix(name, "x-go-") || strings.HasPrefix(name, "x-oapi-") {
				delete(v, name)
				continue
			}
			v[name] = without(value)
		}
	case []any:
		for i := range v {
			v[i] = without(v[i])
		}
	}
	return tree
}
