package api_test

import (
	"encoding/json"
	"maps"
	"net/http"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
)

// eventSamples returns the sample payload of each event in the contract.
func eventSamples(t *testing.T) map[string]any {
	t.Helper()
	callback := contractDoc(t).Paths.Value("/v1/webhook-endpoints").Post.Callbacks["event"].Value
	body := callback.Value("{$request.body#/url}").Post.RequestBody.Value
	samples := map[string]any{}
	for name, e := range body.Content["application/json"].Examples {
		data, err := json.Marshal(e.Value.Value)
		if err != nil {
			t.Fatal(err)
		}
		var plain any
		if err := json.Unmarshal(data, &plain); err != nil {
			t.Fatal(err)
		}
		samples[name] = plain
	}
	return samples
}

// shape returns the paths of a value with the kinds that are there.
func shape(v any) []string {
	var paths []string
	var walk func(at string, v any)
	walk = func(at string, v any) {
		if fields, ok := v.(map[string]any); ok {
			for name, inner := range fields {
				walk(at+"/"+name, inner)
			}
			return
		}
		paths = append(paths, at+" "+reflect.TypeOf(v).Kind().String())
	}
	walk("", v)
	slices.Sort(paths)
	return paths
}

// Every event has a sample that its schema accepts and that has the fields of what is
// delivered.
func TestEventSamples(t *testing.T) {
	t.Parallel()
	samples := eventSamples(t)
	doc := contractDoc(t)
	for _, name := range doc.Components.Schemas["EventType"].Value.Enum {
		if samples[name.(string)] == nil {
			t.Errorf("%s has no sample", name)
		}
	}
	for name, sample := range samples {
		if err := doc.Components.Schemas["WebhookEvent"].Value.VisitJSON(sample); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	b := setup(t)
	delivered := map[string]any{}
	hook := b.listen()
	doubtful := figure().with("waist_girth", 47)
	var held api.Order
	b.order(sampleOrder("LL-1").with("measurements", doubtful), uuid.NewString()).want(http.StatusCreated, &held)
	b.settled(held.ID)
	o := b.ready("LL-2")
	path := "/v1/orders/" + o.ID.String()
	b.fitted(b.tryOn(o.ID))
	b.post(path+"/revise", object{"reason": "first fitting", "fit": "loose"}).want(http.StatusOK, nil)
	b.settled(o.ID)
	for _, progress := range []string{"cut", "uncut", "cut", "shipped"} {
		b.post(path+"/progress", object{"progress": progress}).want(http.StatusOK, nil)
	}
	cancelled := b.ready("LL-3")
	b.post("/v1/orders/"+cancelled.ID.String()+"/cancel", object{"reason": "as asked"}).want(http.StatusOK, nil)
	b.post("/v1/webhook-endpoints/"+hook.endpoint.ID.String()+"/test", nil).want(http.StatusAccepted, nil)
	var test api.APIKeyWithSecret
	b.post("/v1/api-keys", object{"name": "Tests", "role": "shop", "test": true}).want(http.StatusCreated, &test)
	b.do(call{method: "POST", path: "/v1/orders", key: test.Secret, body: sampleOrder("TEST-FAILED-1"),
		header: map[string]string{"Idempotency-Key": "failed"}}).want(http.StatusCreated, nil)
	b.eventually("a delivery of each event", func() bool {
		for _, d := range hook.deliveries() {
			var plain map[string]any
			b.must(json.Unmarshal(d.body, &plain))
			data := plain["data"].(map[string]any)
			if data["test"] == true && d.event.Type != api.EventTypeOrderFailed {
				continue
			}
			delete(data, "test") // only a test order fails on purpose
			delivered[string(d.event.Type)] = plain
		}
		return len(delivered) == len(samples)
	})
	for _, name := range slices.Sorted(maps.Keys(samples)) {
		got, want := shape(delivered[name]), shape(samples[name])
		if !slices.Equal(got, want) {
			t.Errorf("%s is delivered with\n%s\nand its sample has\n%s", name, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
	}
}
