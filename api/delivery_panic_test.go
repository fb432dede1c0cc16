package api_test

import (
	"net/http"
	"runtime/debug"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tapeline/api"
	"tapeline/service/app"
)

// An attempt to deliver a message panics. The server goes on, counts it, and delivers
// the message when its claim has run out.
func TestPanicInDelivery(t *testing.T) {
	t.Parallel()
	var armed, stepped atomic.Bool
	b := setup(t, func(c *app.Config, _ *api.Config) {
		c.Now = func() time.Time {
			if strings.Contains(string(debug.Stack()), "webhooks.(*Service).attempt(") && armed.CompareAndSwap(true, false) {
				panic("injected")
			}
			if stepped.Load() {
				return time.Now().Add(2 * time.Minute)
			}
			return time.Now()
		}
	})
	hook := b.listen("order.received")
	armed.Store(true)
	o := b.placed("LL-1")
	counted := func() bool {
		r := b.do(call{method: "GET", path: "/metrics"}).want(http.StatusOK, nil)
		return strings.Contains(string(r.body), `tapeline_panics_total{place="delivery"} 1`+"\n")
	}
	b.eventually("the panic is counted", counted)
	stepped.Store(true)
	hook.await(b, "order.received", o.ID)
	b.settled(o.ID)
	if !counted() {
		t.Error("it panicked again")
	}
}
