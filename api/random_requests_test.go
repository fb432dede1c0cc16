package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// requestCount returns how many random requests a test sends: TAPELINE_REQUESTS,
// or a sample.
func requestCount(t *testing.T, sample int) int {
	t.Helper()
	n, err := strconv.Atoi(os.Getenv("TAPELINE_REQUESTS"))
	if err != nil {
		return sample
	}
	return n
}

// Requests of every operation with random values of the contract's schemas, at
// the edges of what they permit, half of them broken somewhere. No response is a
// 5xx, every response is as the contract says, what the contract refuses is
// refused, and a refusal names what was broken.
//
//	TAPELINE_REQUESTS=100000 go test ./api -run TestRandomRequests -timeout 30m
func TestRandomRequests(t *testing.T) {
	t.Parallel()
	f := newFuzzer(t)
	ops := operations(t)
	n := requestCount(t, 500)
	began := time.Now()
	for i := range n {
		f.Rand = rand.New(rand.NewPCG(7, uint64(i)))
		op := ops[f.IntN(len(ops))]
		f.request(i, op)
	}
	t.Logf("%d requests in %.0f s: %v", n, time.Since(began).Seconds(), f.statuses)
	if refused, ok := f.class(4), f.class(2); refused < n/3 || ok < n/20 {
		t.Errorf("%d refused and %d accepted of %d: the requests do not reach both", refused, ok, n)
	}
}

// fuzzer sends random requests to a shop with a few records of each kind.
type fuzzer struct {
	*probe
	*generator
	known    map[string][]string // IDs that responses had, by the tag of the operation
	tag      string              // of the operation that is called
	statuses map[int]int
}

func newFuzzer(t *testing.T) *fuzzer {
	t.Helper()
	f := &fuzzer{probe: &probe{bench: setup(t)}, known: map[string][]string{}, statuses: map[int]int{}}
	f.generator = &generator{ids: f.id}
	f.ready("FUZZ-1")
	return f
}

// id returns an ID of the shop's records, mostly of the kind that the operation
// is about, or seldom an unknown one.
func (f *fuzzer) id() string {
	known := f.known[f.tag]
	if f.IntN(4) == 0 {
		tags := slices.Sorted(maps.Keys(f.known))
		if len(tags) > 0 {
			known = f.known[tags[f.IntN(len(tags))]]
		}
	}
	if len(known) == 0 || f.IntN(10) == 0 {
		return uuid.NewString()
	}
	return known[f.IntN(len(known))]
}

func (f *fuzzer) class(hundreds int) (n int) {
	for status, count := range f.statuses {
		if status/100 == hundreds {
			n += count
		}
	}
	return n
}

// request sends the random request of a number.
func (f *fuzzer) request(i int, op contractOperation) {
	f.tag = op.Tags[0]
	c := call{method: op.method, path: op.path, header: map[string]string{}}
	broken := f.addParameters(op, &c)
	var wrong []string // pointers into the body that were broken
	schema := requestSchema(op)
	if schema != nil {
		body := copyOf(f.value(schema))
		if f.IntN(2) == 0 {
			body = copyOf(example(schema)) // reaches deeper than random values
		}
		if f.IntN(2) == 0 {
			body, wrong = f.breakBody(body)
		}
		c.body = encode(body)
	}
	what := fmt.Sprintf("request %d: %s %v %v", i, c.path, broken, wrong)
	a := f.send(op, c, what)
	if a.status == http.StatusUnauthorized && len(op.roles) > 0 { // a request before has revoked the keys
		for _, role := range service.Roles() {
			f.keys[role] = f.newKey(f.shop, role)
		}
		a = f.send(op, c, what)
	}
	f.statuses[a.status]++
	f.learn(a)
	switch {
	case a.status == http.StatusBadRequest || a.status == http.StatusUnprocessableEntity:
		f.named(op, a, what, c, broken, wrong)
	case schema != nil && a.status < 300:
		var decoded any
		err := json.Unmarshal([]byte(c.body.(string)), &decoded)
		if err == nil {
			err = schema.VisitJSON(decoded, openapi3.VisitAsRequest())
		}
		if err != nil {
			f.Errorf("%s: accepted with %d, but: %.300v", what, a.status, err)
		}
	}
}

// addParameters adds random parameters and headers and returns the names of
// those that the contract refuses.
func (f *fuzzer) addParameters(op contractOperation, c *call) (broken []string) {
	query := url.Values{}
	for _, p := range op.params {
		p := p.Value
		hostile := f.IntN(8) == 0
		text := parameterText(f.value(p.Schema.Value))
		if hostile {
			text = f.hostileText()
		}
		switch p.In {
		case openapi3.ParameterInPath:
			if text == "" || text == "." || text == ".." {
				text = "0"
			}
			c.path = strings.ReplaceAll(c.path, "{"+p.Name+"}", url.PathEscape(text))
		case openapi3.ParameterInQuery:
			if p.Required || f.IntN(3) == 0 {
				query.Set(p.Name, text)
			}
		case openapi3.ParameterInHeader:
			if p.Required || f.IntN(4) == 0 {
				c.header[p.Name] = visible(text)
			}
		}
		if hostile {
			broken = append(broken, p.Name)
		}
	}
	if f.IntN(20) == 0 {
		query.Set([]string{"limitt", "", "a[b]", "\x00", "💥"}[f.IntN(5)], f.hostileText())
	}
	if len(query) > 0 {
		c.path += "?" + query.Encode()
	}
	return broken
}

// hostileText returns the text of a hostile value for a parameter.
func (f *fuzzer) hostileText() string {
	v := f.hostileValue()
	text, ok := v.(string)
	if !ok {
		text = encode(v)
	}
	return text[:min(len(text), 3000)]
}

// visible keeps what a header may hold.
func visible(text string) string {
	return strings.Map(func(c rune) rune {
		if c < ' ' || c > '~' {
			return '?'
		}
		return c
	}, text[:min(len(text), 1000)])
}

var anyID = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}`)

// learn remembers a few of the IDs of a response.
func (f *fuzzer) learn(a reply) {
	if a.status >= 300 || !strings.Contains(a.header.Get("Content-Type"), "json") {
		return
	}
	for _, id := range anyID.FindAllString(string(a.body[:min(len(a.body), 4000)]), 2) {
		if known := f.known[f.tag]; len(known) < 50 {
			f.known[f.tag] = append(known, id)
		} else {
			known[f.IntN(len(known))] = id
		}
	}
}

// named checks that a refusal names at least one of the fields, each error of it
// a place, and a place that was broken if the rest was right.
func (f *fuzzer) named(op contractOperation, a reply, what string, c call, broken, wrong []string) {
	var p api.Problem
	f.must(json.Unmarshal(a.body, &p))
	body, _ := c.body.(string)
	if body != "" && !json.Valid([]byte(body)) {
		return // there is no field to name
	}
	if len(p.Errors) == 0 && p.Detail == "" || p.Detail == "a parameter or the body is not readable" {
		f.Errorf("%s: names nothing: %.400s", what, a.body)
	}
	for _, e := range p.Errors {
		if e.Pointer == "" && e.Parameter == "" && e.Header == "" {
			f.Errorf("%s: an error names no place: %.400s", what, a.body)
		}
	}
	schema := requestSchema(op)
	if len(broken) > 0 || len(wrong) == 0 || a.status != http.StatusBadRequest {
		return
	}
	var decoded any
	if json.Unmarshal([]byte(body), &decoded) != nil || schema.VisitJSON(decoded, openapi3.VisitAsRequest()) == nil {
		return
	}
	if !slices.ContainsFunc(p.Errors, func(e api.FieldError) bool {
		got := strings.TrimPrefix(e.Pointer, "#")
		return slices.ContainsFunc(wrong, func(place string) bool {
			place, _, _ = strings.Cut(place, " ")
			return strings.HasPrefix(got, place) || strings.HasPrefix(place, got) && e.Pointer != ""
		})
	}) {
		f.Errorf("%s: none of the broken fields is named: %.600s", what, a.body)
	}
}

// An independent generator (npm package json-schema-faker) makes bodies from the
// contract's schemas. The service accepts of them what the contract permits and
// refuses the rest; no response is a 5xx.
func TestRequestsByOtherGenerator(t *testing.T) {
	t.Parallel()
	dir := outside(t)
	f := newFuzzer(t)
	f.Rand = rand.New(rand.NewPCG(8, 0))
	ops := map[string]contractOperation{}
	schemas := map[string]any{}
	for _, op := range operations(t) {
		if requestSchema(op) != nil {
			ops[op.OperationID], schemas[op.OperationID] = op, op.RequestBody.Value.Content.Get("application/json").Schema
		}
	}
	input, err := json.Marshal(map[string]any{"schemas": schemas,
		"components": map[string]any{"schemas": contractDoc(t).Components.Schemas},
		"count":      requestCount(t, 300) / len(ops), "seed": 5})
	f.must(err)
	cmd := exec.CommandContext(t.Context(), "node", "values.mjs")
	cmd.Dir, cmd.Stdin = dir, bytes.NewReader(input)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, said.String())
	}
	values, permitted := 0, 0
	for line := range bytes.Lines(out) {
		var pair []any
		f.must(json.Unmarshal(line, &pair))
		op := ops[pair[0].(string)]
		f.tag = op.Tags[0]
		c := validCall(op, f.Rand)
		c.path, _, _ = strings.Cut(c.path, "?")
		c.body = pair[1]
		err := requestSchema(op).VisitJSON(pair[1], openapi3.VisitAsRequest())
		a := f.send(op, c, fmt.Sprintf("%.300s", line))
		if err != nil && a.status < 400 {
			f.Errorf("%.300s: accepted with %d, but: %v", line, a.status, err)
		}
		if err == nil && a.status == http.StatusBadRequest && !onlyAcrossFields(a) {
			f.Errorf("%.300s: the contract permits it: %s", line, a.body)
		}
		if values++; err == nil {
			permitted++
		}
	}
	if t.Logf("%d values, %d of them permitted", values, permitted); permitted < values*9/10 {
		t.Errorf("the contract permits %d of %d values made from it", permitted, values)
	}
}

// onlyAcrossFields reports whether a request's body was refused only because of
// fields that exclude or require each other, which the contract says in words.
func onlyAcrossFields(a reply) bool {
	var p api.Problem
	return json.Unmarshal(a.body, &p) == nil && !slices.ContainsFunc(p.Errors, func(e api.FieldError) bool {
		return e.Pointer != "" && e.Code != api.FieldErrorCodeExcluded && e.Code != api.FieldErrorCodeMissing
	})
}
