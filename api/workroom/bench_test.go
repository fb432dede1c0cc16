package workroom_test

import (
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"tapeline/service"
)

// queued is the number of orders in the queue that pages are measured with.
const queued = 10_000

// BenchmarkPages measures how long the server takes for pages of a shop with 10,000
// orders.
func BenchmarkPages(b *testing.B) {
	s := newSite(b)
	o := s.place("THR-1", "Mara Vell", nil)
	// Copies of the order, each with its reference, history and place in time.
	_, err := s.store.Pool().Exec(b.Context(), `
		WITH copied AS (
			INSERT INTO orders (id, shop_id, reference, customer_id, measurement_set_id, source, spec, status, reason_code,
				draft_request, due_date, assignee, created_at, updated_at)
			SELECT uuid_v7(o.created_at - n * interval '1 minute'), o.shop_id, 'THR-C' || n, o.customer_id,
				o.measurement_set_id, o.source, o.spec, CASE WHEN n % 20 = 0 THEN 'held' ELSE 'cancelled' END, 'by_request',
				1, current_date - 200 + n % 400, 'maker ' || n % 20, o.created_at, o.updated_at
			FROM orders o, generate_series(1, $1) n
			RETURNING id, shop_id, status, created_at
		)
		INSERT INTO order_events (shop_id, order_id, event, to_status, at)
		SELECT shop_id, id, 'received', status, created_at FROM copied`, queued)
	s.must(err)
	_, err = s.store.Pool().Exec(b.Context(), "ANALYZE orders, order_events, customers")
	s.must(err)
	client := s.client(service.RoleAdmin)
	order := "/workroom/orders/" + o.ID.String()
	for _, path := range []string{"/workroom/orders", "/workroom/orders?show=all", "/workroom/orders?show=all&q=c999",
		"/workroom/orders?show=all&q=vell", "/workroom/orders?show=asks", "/workroom/orders?show=late",
		"/workroom/orders?show=mine", "/workroom/orders?show=all&assignee=maker+7", order, order + "/papers",
		order + "/making-sheet.svg", order + "/fitting", "/workroom/customers",
		"/workroom/customers/" + o.CustomerID.String(), "/workroom/refits", "/workroom/styles", "/workroom/settings/audit"} {
		b.Run(strings.NewReplacer(o.ID.String(), "ID", o.CustomerID.String(), "ID").Replace(path), func(b *testing.B) {
			least := time.Hour
			for b.Loop() {
				begun := time.Now()
				answer, err := client.Get(s.URL + path)
				if err != nil {
					b.Fatal(err)
				}
				_, _ = io.Copy(io.Discard, answer.Body)
				_ = answer.Body.Close()
				if answer.StatusCode != http.StatusOK {
					b.Fatal(answer.Status)
				}
				least = min(least, time.Since(begun))
			}
			b.ReportMetric(float64(least.Microseconds())/1000, "least-ms") // what other programs delay least
		})
	}
}
