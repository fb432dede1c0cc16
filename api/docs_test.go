package api

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"tapeline/service"
)

// Every operation has a curl command and a call of fetch, whose body its schema accepts.
func TestDocsSamples(t *testing.T) {
	t.Parallel()
	c, err := loadContract()
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range groups(c.doc) {
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
			data, err := json.Marshal(value)
			if err != nil {
				t.Fatal(err)
			}
			var read any
			if err := json.Unmarshal(data, &read); err != nil {
				t.Fatal(err)
			}
			if err := o.RequestBody.Value.Content[media].Schema.Value.VisitJSON(read,
				openapi3.EnableFormatValidation()); err != nil {
				t.Errorf("%s: its schema refuses the sample %s: %v", o.OperationID, data, err)
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
