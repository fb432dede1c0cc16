package api_test

import (
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"

	"tapeline/api"
)

// The server behind the checkout form of each language hands out the page and the
// publishable key, never the other, places a filled form as an order, and says which
// fields are at fault.
func TestSampleForm(t *testing.T) {
	t.Parallel()
	for language := range languages {
		t.Run(language, func(t *testing.T) {
			t.Parallel()
			b := setup(t)
			port := b.freePort()
			site := "http://127.0.0.1:" + port
			var publishable api.APIKeyWithSecret
			b.post("/v1/api-keys", object{"name": "Checkout", "role": "publishable", "origins": []string{site}}).
				want(http.StatusCreated, &publishable)
			b.clientServer(port, language, "form", "TAPELINE_PUBLISHABLE_KEY="+publishable.Secret)

			fetch := func(method, path string, body object) string {
				t.Helper()
				data, err := json.Marshal(body)
				b.must(err)
				r, err := http.NewRequestWithContext(t.Context(), method, site+path, strings.NewReader(string(data)))
				b.must(err)
				res, err := http.DefaultClient.Do(r)
				b.must(err)
				defer res.Body.Close()
				said, err := io.ReadAll(res.Body)
				b.must(err)
				return string(said)
			}
			if page := fetch("GET", "/", nil); !strings.Contains(page, `src="form.js"`) {
				t.Errorf("the page: %s", page)
			}
			var settings struct{ API, Key, Style, Unit string }
			b.must(json.Unmarshal([]byte(fetch("GET", "/settings", nil)), &settings))
			if settings.API != b.URL || settings.Key != publishable.Secret {
				t.Errorf("the page is told %+v", settings)
			}
			form := b.do(call{method: "GET", path: "/v1/styles/" + settings.Style + "/form?unit=" + settings.Unit,
				key: settings.Key, header: map[string]string{"Origin": site}}).want(http.StatusOK, nil)
			if got := form.header.Get("Access-Control-Allow-Origin"); got != site {
				t.Errorf("the form is for pages of %q", got)
			}
			filled := object{"fit": "regular", "choices": object{"sleeve": "short"}, "measurements": figure()}
			if said := fetch("POST", "/order", filled); !strings.HasPrefix(said, "Thank you.") {
				t.Fatalf("a filled form: %s", said)
			}
			var orders api.OrderList
			b.get("/v1/orders").want(http.StatusOK, &orders)
			if len(orders.Items) != 1 || orders.Items[0].Style != settings.Style ||
				b.settled(orders.Items[0].ID).Status != api.OrderStatusReady {
				t.Errorf("orders: %+v", orders.Items)
			}
			said := fetch("POST", "/order", filled.with("measurements", object{"bust_girth": 92}))
			if !strings.Contains(said, "#/measurements/waist_girth: required") {
				t.Errorf("without measurements it says %q", said)
			}
		})
	}
}
