package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/legacy"
	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"tapeline/api"
	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/app"
)

// bench is a running API with a shop, a key of each role, and its jobs at work.
type bench struct {
	*testing.T
	URL     string
	server  *api.Server
	service *app.App
	store   *db.Store
	shop    access.Shop
	keys    map[service.Role]string
	log     *syncBuffer
}

// setting changes how a bench is made.
type setting func(*app.Config, *api.Config)

func setup(t *testing.T, settings ...setting) *bench {
	t.Helper()
	b := &bench{T: t, store: dbtest.New(t), keys: map[service.Role]string{}, log: &syncBuffer{}}
	registry := prometheus.NewRegistry()
	log := slog.New(slog.NewJSONHandler(b.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	sc := app.Config{Log: log, Registry: registry, Version: "test", PublicURL: "http://tapeline.test",
		PrivateWebhooks: true, DeliverWorkers: 8}
	ac := api.Config{Log: log, Registry: registry, Version: "test",
		Metrics: promhttp.HandlerFor(registry, promhttp.HandlerOpts{})}
	for _, set := range settings {
		set(&sc, &ac)
	}
	var err error
	b.service, err = app.Open(b.store, sc)
	b.must(err)
	b.server, err = api.New(b.service, ac)
	b.must(err)
	b.shop, _, err = b.service.Access.EnsureShop(t.Context(), "thimble-row", "Thimble Row")
	b.must(err)
	for _, role := range service.Roles() {
		b.keys[role] = b.newKey(b.shop, role)
	}
	b.must(b.service.Start(context.WithoutCancel(t.Context())))
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := b.service.Stop(ctx); err != nil {
			t.Errorf("stop jobs: %v", err)
		}
	})
	http := httptest.NewServer(b.server)
	t.Cleanup(http.Close)
	b.URL = http.URL
	return b
}

// newKey creates a key of a shop.
func (b *bench) newKey(shop access.Shop, role service.Role) string {
	b.Helper()
	_, key, err := b.service.Access.CreateKey(b.Context(), service.Caller{Shop: shop.ID},
		access.NewKey{Name: string(role), Role: role, Origins: originsOf(role)})
	b.must(err)
	return key
}

// shopOrigin is where the shop's pages are.
const shopOrigin = "https://shop.example"

// originsOf returns the origins that a key of a role needs.
func originsOf(role service.Role) []string {
	if role == service.RolePublishable {
		return []string{shopOrigin}
	}
	return nil
}

// otherShop creates another shop and returns a key of it.
func (b *bench) otherShop(role service.Role) string {
	b.Helper()
	shop, _, err := b.service.Access.EnsureShop(b.Context(), "other-row", "Other Row")
	b.must(err)
	return b.newKey(shop, role)
}

func (b *bench) must(err error) {
	b.Helper()
	if err != nil {
		b.Fatal(err)
	}
}

// call is a request to be made.
type call struct {
	method, path string
	key          string            // "" sends none
	body         any               // a string is sent as it is, anything else as JSON
	header       map[string]string // "-" removes
}

// reply is an answer that was held against the contract.
type reply struct {
	*testing.T
	status int
	header http.Header
	body   []byte
}

// do makes a call and fails the test when the answer is not as the contract
// says. It is the only way in which these tests talk to the API.
func (b *bench) do(c call) reply {
	b.Helper()
	var body io.Reader
	switch v := c.body.(type) {
	case nil:
	case string:
		body = strings.NewReader(v)
	default:
		data, err := json.Marshal(v)
		b.must(err)
		body = bytes.NewReader(data)
	}
	r, err := http.NewRequestWithContext(b.Context(), c.method, b.URL+c.path, body)
	b.must(err)
	if c.body != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	if c.key != "" {
		r.Header.Set("Authorization", "Bearer "+c.key)
	}
	for name, v := range c.header {
		r.Header.Del(name)
		if v != "-" {
			r.Header.Set(name, v)
		}
	}
	res, err := http.DefaultTransport.RoundTrip(r) // follows no redirects
	b.must(err)
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	b.must(err)
	b.hold(r, res, data)
	return reply{b.T, res.StatusCode, res.Header, data}
}

// What these media types hold is text to the contract.
func init() {
	openapi3filter.RegisterBodyDecoder("text/html", openapi3filter.PlainBodyDecoder)
	openapi3filter.RegisterBodyDecoder("image/svg+xml", openapi3filter.PlainBodyDecoder)
	openapi3filter.RegisterBodyDecoder("application/yaml", openapi3filter.PlainBodyDecoder)
}

// contractRouter finds the operation that a request is for.
var contractRouter = sync.OnceValues(func() (routers.Router, error) {
	doc, err := openapi3.NewLoader().LoadFromData(api.Contract)
	if err != nil {
		return nil, err
	}
	return legacy.NewRouter(doc)
})

// hold fails the test when an answer is not as the contract says: its status,
// headers and body.
func (b *bench) hold(r *http.Request, res *http.Response, body []byte) {
	b.Helper()
	router, err := contractRouter()
	b.must(err)
	bare := r.Clone(b.Context())
	bare.URL.Scheme, bare.URL.Host, bare.Host = "", "", ""
	if r.Method == http.MethodOptions {
		return // preflights are the Fetch standard's
	}
	isHead := r.Method == http.MethodHead
	if isHead {
		bare.Method = http.MethodGet // of which the contract says all
	}
	route, params, err := router.FindRoute(bare)
	if err != nil {
		isPage := strings.HasPrefix(r.URL.Path, "/customer/")
		if !isPage && res.StatusCode != http.StatusNotFound && res.StatusCode != http.StatusMethodNotAllowed {
			b.Errorf("%s %s is not in the contract and gave %d", r.Method, r.URL.Path, res.StatusCode)
		}
		return
	}
	input := &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{Request: r, PathParams: params, Route: route},
		Status:                 res.StatusCode,
		Header:                 res.Header,
		Options: &openapi3filter.Options{IncludeResponseStatus: true, MultiError: true,
			ExcludeResponseBody: isHead},
	}
	input.SetBodyBytes(body)
	if err := openapi3filter.ValidateResponse(b.Context(), input); err != nil {
		b.Errorf("%s %s gave %d, which is not as the contract says: %v\n%.600s", r.Method, route.Path, res.StatusCode, err,
			body)
	}
	var p api.Problem
	if res.Header.Get("Content-Type") == "application/problem+json" && json.Unmarshal(body, &p) == nil {
		listed, err := api.ProblemsOf(route.Operation)
		b.must(err)
		if !slices.Contains(listed, string(p.Code)) && p.Code != api.ProblemCodeMethodNotAllowed {
			b.Errorf("%s %s gave %s; x-problems of %s and its statuses permit %v", r.Method, route.Path, p.Code,
				route.Operation.OperationID, listed)
		}
	}
	if res.Header.Get("X-Request-Id") == "" || res.Header.Get("X-Content-Type-Options") != "nosniff" {
		b.Errorf("%s %s: no request id or security headers: %v", r.Method, route.Path, res.Header)
	}
}

// want checks the status and reads the body into v.
func (r reply) want(status int, v any) reply {
	r.Helper()
	if r.status != status {
		r.Fatalf("status %d, want %d: %.800s", r.status, status, r.body)
	}
	if v != nil {
		reflect.ValueOf(v).Elem().SetZero() // fields left out must not keep what was there
		if err := json.Unmarshal(r.body, v); err != nil {
			r.Fatalf("read answer: %v: %.400s", err, r.body)
		}
	}
	return r
}

// problem checks status and code, and gives the problem.
func (r reply) problem(status int, code api.ProblemCode) api.Problem {
	r.Helper()
	var p api.Problem
	r.want(status, &p)
	if p.Code != code || p.Status != status {
		r.Fatalf("problem %s (%d), want %s: %s", p.Code, p.Status, code, r.body)
	}
	if got := r.header.Get("Content-Type"); got != "application/problem+json" {
		r.Fatalf("Content-Type %q", got)
	}
	return p
}

// Shorthands.

func (b *bench) as(role service.Role, method, path string, body any) reply {
	b.Helper()
	return b.do(call{method: method, path: path, key: b.keys[role], body: body})
}

func (b *bench) get(path string) reply { b.Helper(); return b.as(service.RoleAdmin, "GET", path, nil) }

func (b *bench) post(path string, body any) reply {
	b.Helper()
	return b.as(service.RoleAdmin, "POST", path, body)
}

// order posts an order.
func (b *bench) order(body any, key string) reply {
	b.Helper()
	return b.do(call{method: "POST", path: "/v1/orders", key: b.keys[service.RoleShop], body: body,
		header: map[string]string{"Idempotency-Key": key}})
}

// object is a JSON object to be sent.
type object map[string]any

// with is o with another value.
func (o object) with(key string, v any) object {
	c := object{}
	for k, old := range o {
		c[k] = old
	}
	if v == nil {
		delete(c, key)
	} else {
		c[key] = v
	}
	return c
}

// figure are the measurements of an invented person.
func figure() object {
	return object{"bust_girth": 92, "waist_girth": 74, "hip_girth": 98, "neck_base_girth": 37, "shoulder_length": 12.6,
		"back_width": 35, "nape_to_waist": 41, "waist_to_hip": 20.5, "upper_arm_girth": 29, "wrist_girth": 16,
		"arm_length": 58}
}

// sampleOrder is an order with everything in full.
func sampleOrder(reference string) object {
	return object{"reference": reference, "customer": object{"reference": "C-" + reference, "name": "Mara Vell"},
		"unit":         "cm",
		"measurements": figure(), "block": "torso", "fit": "regular", "choices": object{"length": "hip"},
		"allowances": object{"default": 1.5, "hem": 3}}
}

// placed places an order and gives it.
func (b *bench) placed(reference string) api.Order {
	b.Helper()
	var o api.Order
	b.order(sampleOrder(reference), uuid.NewString()).want(http.StatusCreated, &o)
	return o
}

// settled waits until an order is no longer waiting to be drafted.
func (b *bench) settled(id uuid.UUID) api.Order {
	b.Helper()
	var o api.Order
	b.eventually("order "+id.String()+" to be drafted", func() bool {
		b.get("/v1/orders/"+id.String()).want(http.StatusOK, &o)
		return o.Status != api.OrderStatusReceived
	})
	return o
}

// ready places an order and waits for its pattern.
func (b *bench) ready(reference string) api.Order {
	b.Helper()
	o := b.settled(b.placed(reference).ID)
	if o.Status != api.OrderStatusReady {
		b.Fatalf("order is %s: %+v", o.Status, o.Reasons)
	}
	return o
}

// eventually waits for something that jobs bring about.
func (b *bench) eventually(what string, done func() bool) {
	b.Helper()
	b.within(20*time.Second, what, done)
}

func (b *bench) within(limit time.Duration, what string, done func() bool) {
	b.Helper()
	deadline := time.Now().Add(limit)
	for !done() {
		if time.Now().After(deadline) {
			b.Fatalf("waited in vain for %s; log:\n%s", what, b.log.tail())
		}
		time.Sleep(10 * time.Millisecond)
	}
}

// syncBuffer is a log that is written from many goroutines.
type syncBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buf.Write(p)
}

func (s *syncBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buf.String()
}

func (s *syncBuffer) tail() string {
	all := s.String()
	return all[max(0, len(all)-4000):]
}
