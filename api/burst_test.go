package api_test

import (
	"context"
	"fmt"
	"net/http"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// The orders of another shop come before those of a burst, all of which are
// drafted in the end.
func TestBurstOfAShopComesLast(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.must(b.service.Stop(t.Context())) // no job is taken meanwhile
	for i := range 30 {
		b.placed(fmt.Sprint("BURST-", i))
	}
	other := b.do(call{method: "POST", path: "/v1/orders", key: b.otherShop(service.RoleShop), body: sampleOrder("OTHER"),
		header: map[string]string{"Idempotency-Key": uuid.NewString()}})
	var o api.Order
	other.want(http.StatusCreated, &o)
	var before int
	b.must(b.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM river_job AS burst, river_job AS other
		WHERE burst.kind = 'draft' AND burst.args ->> 'order_id' <> $1::text AND other.args ->> 'order_id' = $1::text
		AND (burst.priority, burst.id) < (other.priority, other.id)`, o.ID.String()).Scan(&before))
	if before != 20 {
		t.Errorf("%d orders of the burst come before the other shop's, want 20", before)
	}
	b.must(b.service.Start(context.WithoutCancel(t.Context())))
	b.eventually("all orders to be drafted", func() bool {
		var waiting int
		b.must(b.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM orders WHERE status <> 'ready'`).Scan(&waiting))
		return waiting == 0
	})
}
