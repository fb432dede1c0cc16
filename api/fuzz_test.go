package api_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// Requests are made from the contract: a valid one for every operation, then
// the same with something wrong in every field. None may be answered with a
// 5xx, every answer must be one that the contract lists (b.do holds it to
// that), and what is wrong by the contract alone must be refused with the field
// named.

// example makes a valid value of a schema.
func example(s *openapi3.Schema) any {
	switch {
	case s.Example != nil:
		return s.Example
	case s.Default != nil:
		return s.Default
	case len(s.Enum) > 0:
		return s.Enum[0]
	case len(s.AllOf) > 0:
		all := map[string]any{}
		for _, part := range s.AllOf {
			if m, ok := example(part.Value).(map[string]any); ok {
				maps.Copy(all, m)
			}
		}
		return all
	case len(s.OneOf) > 0:
		return example(s.OneOf[0].Value)
	case len(s.AnyOf) > 0:
		return example(s.AnyOf[0].Value)
	case s.Type.Is("object"):
		m := map[string]any{}
		for _, name := range s.Required {
			if p := s.Properties[name]; p != nil {
				m[name] = example(p.Value)
			}
		}
		return m
	case s.Type.Is("array"):
		return []any{example(s.Items.Value)}
	case s.Type.Is("integer"), s.Type.Is("number"):
		if s.Min != nil {
			return *s.Min
		}
		return 1.0
	case s.Type.Is("boolean"):
		return true
	}
	switch s.Format {
	case "uuid":
		return uuid.NewString()
	case "date":
		return "2026-01-31"
	case "date-time":
		return "2026-01-31T12:00:00Z"
	}
	return "word"
}

// hostile are values that no field of the contract takes, or that break
// careless programs.
var hostile = []any{
	nil, true, -1.0, 1e308, "", strings.Repeat("x", 70_000), "\u202e\u0000\ufeff",
	"'; DROP TABLE orders; --", "🧵🪡\u0301",
	[]any{}, []any{[]any{[]any{}}}, map[string]any{"": map[string]any{"~/": 1.0}},
}

// field is a place in a JSON value.
type field struct {
	pointer string
	set     func(any) // puts another value there
	drop    func()    // takes it away; nil where it can't be
	value   any
}

// fields lists every place in v, v itself left out.
func fields(v any, pointer string) []field {
	var list []field
	switch v := v.(type) {
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(v)) {
			at := pointer + "/" + strings.NewReplacer("~", "~0", "/", "~1").Replace(name)
			list = append(list, field{at, func(x any) { v[name] = x }, func() { delete(v, name) }, v[name]})
			list = append(list, fields(v[name], at)...)
		}
	case []any:
		for i := range v {
			at := fmt.Sprintf("%s/%d", pointer, i)
			list = append(list, field{at, func(x any) { v[i] = x }, nil, v[i]})
			list = append(list, fields(v[i], at)...)
		}
	}
	return list
}

// copyOf is a deep copy of a JSON value.
func copyOf(v any) any {
	data, _ := json.Marshal(v)
	var c any
	_ = json.Unmarshal(data, &c)
	return c
}

// parameterText returns the form that a value has in a path, query or header.
func parameterText(v any) string {
	switch v := v.(type) {
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	case []any:
		items := make([]string, len(v))
		for i := range v {
			items[i] = fmt.Sprint(v[i])
		}
		return strings.Join(items, ",")
	}
	return fmt.Sprint(v)
}

// validCall is a call of an operation as the contract has it.
func validCall(op contractOperation, r *rand.Rand) call {
	c := call{method: op.method, path: op.path, header: map[string]string{}}
	query := url.Values{}
	for _, p := range op.params {
		v := parameterText(example(p.Value.Schema.Value))
		switch p.Value.In {
		case "path":
			c.path = strings.ReplaceAll(c.path, "{"+p.Value.Name+"}", url.PathEscape(v))
		case "header":
			if p.Value.Required {
				c.header[p.Value.Name] = v
			}
			if p.Value.Name == "Idempotency-Key" {
				c.header[p.Value.Name] = fmt.Sprintf("%q", uuid.NewString())
			}
		case "query":
			if p.Value.Required || r.IntN(2) == 0 {
				query.Set(p.Value.Name, v)
			}
		}
	}
	if len(query) > 0 {
		c.path += "?" + query.Encode()
	}
	return c
}

func requestSchema(op contractOperation) *openapi3.Schema {
	if op.RequestBody == nil {
		return nil
	}
	if m := op.RequestBody.Value.Content.Get("application/json"); m != nil && m.Schema != nil {
		return m.Schema.Value
	}
	return nil
}

func TestRequestsFromTheContract(t *testing.T) {
	t.Parallel()
	p := &probe{bench: setup(t), random: rand.New(rand.NewPCG(1, 2))}
	for _, op := range operations(t) {
		c := validCall(op, p.random)
		schema := requestSchema(op)
		if schema != nil {
			c.body = example(schema)
		}
		p.send(op, c, "valid")
		p.parameters(op, c.body)
		if schema != nil {
			p.fields(op, schema, c.body)
			p.unknownField(op, c.body)
		}
	}
	t.Logf("%d requests, %d refused", p.calls, p.refused)
	if p.calls < 1500 || p.refused < p.calls/2 {
		t.Errorf("%d requests, %d refused: want at least 1500, half of them refused", p.calls, p.refused)
	}
}

// probe sends requests made from the contract, and counts them.
type probe struct {
	*bench
	random         *rand.Rand
	calls, refused int
}

func (p *probe) send(op contractOperation, c call, what string) reply {
	c.key = p.keys[service.RoleAdmin]
	if strings.HasPrefix(op.OperationID, "rotateInbound") || op.OperationID == "removeInboundSecrets" {
		c.key = p.keys[service.RoleShop] // leave the secret alone
	}
	if op.OperationID == "previewFitting" && !strings.Contains(c.path, "level=") { // the full level takes longer
		c.path += map[bool]string{true: "&", false: "?"}[strings.Contains(c.path, "?")] + "level=quick"
	}
	a := p.do(c)
	p.calls++
	if a.status >= 500 {
		p.Errorf("%s, %s: %d %s", op.OperationID, what, a.status, a.body)
	}
	if a.status >= 400 {
		p.refused++
	}
	return a
}

// parameters sends hostile parameters, one at a time.
func (p *probe) parameters(op contractOperation, valid any) {
	for _, param := range op.params {
		for _, v := range []string{"", "%00", "x'\"<>", strings.Repeat("9", 5000), "-1", "💥"} {
			w := validCall(op, p.random)
			w.body = valid
			switch param.Value.In {
			case "query":
				w.path, _, _ = strings.Cut(w.path, "?")
				w.path += "?" + url.Values{param.Value.Name: {v}}.Encode()
			case "path":
				w.path = strings.ReplaceAll(op.path, "{"+param.Value.Name+"}", url.PathEscape(v))
				if strings.Contains(w.path, "{") || v == "" {
					continue
				}
			case "header":
				w.header[param.Value.Name] = strings.Map(func(c rune) rune {
					if c < ' ' || c > '~' {
						return '?'
					}
					return c
				}, v)
			}
			p.send(op, w, param.Value.Name+"="+v[:min(len(v), 20)])
		}
	}
}

// fields sends every field of the body with every hostile value and without it.
func (p *probe) fields(op contractOperation, schema *openapi3.Schema, valid any) {
	for i := range fields(copyOf(valid), "") {
		for _, bad := range append(slices.Clone(hostile), "absent") {
			w := validCall(op, p.random)
			w.body = copyOf(valid)
			f := fields(w.body, "")[i]
			if bad == "absent" {
				if f.drop == nil {
					continue
				}
				f.drop()
			} else {
				f.set(bad)
			}
			a := p.send(op, w, fmt.Sprintf("%s = %.40v", f.pointer, bad))
			// The contract refuses it, so the service must, and name the field.
			if err := schema.VisitJSON(w.body, openapi3.VisitAsRequest()); err != nil && a.status < 400 {
				p.Errorf("%s: %s = %.40v was accepted with %d", op.OperationID, f.pointer, bad, a.status)
			}
			if _, object := bad.(map[string]any); object && a.status == http.StatusUnprocessableEntity {
				p.names(op, a, f.pointer)
			}
		}
	}
}

func (p *probe) unknownField(op contractOperation, valid any) {
	w := validCall(op, p.random)
	body := copyOf(valid)
	if m, ok := body.(map[string]any); ok && len(m) > 0 {
		m["not_in_the_contract"] = 1.0
		w.body = body
		if a := p.send(op, w, "unknown field"); a.status < 400 {
			p.Errorf("%s accepts a field that the contract does not have", op.OperationID)
		}
	}
}

// names checks that a problem names the field that is wrong, or one in or
// around it.
func (b *bench) names(op contractOperation, a reply, pointer string) {
	b.Helper()
	var p api.Problem
	b.must(json.Unmarshal(a.body, &p))
	for _, e := range p.Errors {
		got := strings.TrimPrefix(e.Pointer, "#")
		if strings.HasPrefix(got, pointer) || strings.HasPrefix(pointer, got) {
			return
		}
	}
	b.Errorf("%s: %s is wrong and the problem names %+v", op.OperationID, pointer, p.Errors)
}

// Bodies that are not what they say, or far too much.
func TestHostileBodies(t *testing.T) {
	t.Parallel()
	b := setup(t)
	bomb := func() string {
		var z bytes.Buffer
		w := gzip.NewWriter(&z)
		_, _ = w.Write(bytes.Repeat([]byte(" "), 50<<20))
		_ = w.Close()
		return z.String()
	}
	for _, tt := range []struct {
		name, body string
		header     map[string]string
	}{
		{"not JSON", "{", nil},
		{"two values", "{} {}", nil},
		{"no body", "", nil},
		{"deep", strings.Repeat(`{"a":`, 100_000) + "1" + strings.Repeat("}", 100_000), nil},
		{"deep arrays", strings.Repeat("[", 200_000), nil},
		{"huge", `{"reference":"` + strings.Repeat("x", 20<<20) + `"}`, nil},
		{"twice the same key", `{"reference":"a","reference":"b"}`, nil},
		{"not UTF-8", "{\"reference\":\"\xff\xfe\"}", nil},
		{"other type", "reference=1", map[string]string{"Content-Type": "application/x-www-form-urlencoded"}},
		{"no type", "{}", map[string]string{"Content-Type": "-"}},
		{"gzip bomb", bomb(), map[string]string{"Content-Encoding": "gzip"}},
		{"unknown encoding", "{}", map[string]string{"Content-Encoding": "br"}},
		{"huge header", "{}", map[string]string{"X-Long": strings.Repeat("x", 64<<10)}},
	} {
		header := map[string]string{"Idempotency-Key": fmt.Sprintf("%q", uuid.NewString())}
		maps.Copy(header, tt.header)
		a := b.do(call{method: "POST", path: "/v1/orders", key: b.keys[service.RoleShop], body: tt.body, header: header})
		if a.status < 400 || a.status >= 500 {
			t.Errorf("%s: %d %s", tt.name, a.status, a.body)
		}
	}
}
