package orders_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"tapeline/service"
	"tapeline/service/orders"
)

var statuses = []orders.Status{orders.Received, orders.Held, orders.Ready, orders.Failed, orders.Cancelled}

func refused(t *testing.T, err error) bool {
	t.Helper()
	if e, ok := errors.AsType[*service.Error](err); err != nil && (!ok || e.Code != service.CodeWrongState) {
		t.Fatalf("error %v, want a refusal for the state", err)
	}
	return err != nil
}

func TestActions(t *testing.T) {
	t.Parallel()
	allowed := map[orders.Action]string{orders.Hold: "received ready", orders.Confirm: "held",
		orders.Revise: "ready held failed"}
	for action, states := range allowed {
		got := map[orders.Status]bool{}
		for _, s := range statuses {
			got[s] = !refused(t, s.Allow(action))
		}
		for _, s := range statuses {
			if want := slices.Contains(strings.Fields(states), string(s)); got[s] != want {
				t.Errorf("an order that is %s can be %s: %t, want %t", s, action, got[s], want)
			}
		}
	}
}

func TestProgress(t *testing.T) {
	t.Parallel()
	type step struct{ from, to orders.Progress }
	forward := []step{{orders.Uncut, orders.Cut}, {orders.Uncut, orders.Shipped}, {orders.Cut, orders.Shipped}}
	back := []step{{orders.Cut, orders.Uncut}, {orders.Shipped, orders.Cut}}
	never := []step{{orders.Shipped, orders.Uncut}, {orders.Uncut, "sold"}}
	for _, s := range statuses {
		for _, p := range forward {
			if got := refused(t, p.from.Become(p.to, s)); got != (s != orders.Ready) {
				t.Errorf("%s to %s while %s: refused %t", p.from, p.to, s, got)
			}
		}
		for _, p := range back {
			if refused(t, p.from.Become(p.to, s)) {
				t.Errorf("%s back to %s while %s is refused", p.from, p.to, s)
			}
		}
		for _, p := range never {
			if !refused(t, p.from.Become(p.to, s)) {
				t.Errorf("%s to %s while %s is allowed", p.from, p.to, s)
			}
		}
	}
}

func TestStands(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		revision  int
		reason    orders.Reason
		unchanged bool
		want      bool
	}{
		{1, orders.ByRequest, true, true},
		{0, orders.ByRequest, true, false},
		{1, orders.Implausible, true, false},
		{1, orders.ByRequest, false, false},
	} {
		if got := orders.Stands(tt.revision, tt.reason, tt.unchanged); got != tt.want {
			t.Errorf("%+v: stands %t", tt, got)
		}
	}
}
