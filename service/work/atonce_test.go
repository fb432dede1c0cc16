package work_test

import (
	"errors"
	"testing"
	"time"

	"tapeline/service"
	"tapeline/service/work"
)

func TestAtOnce(t *testing.T) {
	t.Parallel()
	plans := work.NewAtOnce("lay plans", 2)
	enter := func(shop int) func() {
		t.Helper()
		leave, err := plans.Enter(shops[shop])
		if err != nil {
			t.Fatal(err)
		}
		return leave
	}
	first := enter(0)
	enter(0)
	_, err := plans.Enter(shops[0])
	e, ok := errors.AsType[*service.Error](err)
	if !ok || e.Code != service.CodeTooManyAtOnce || e.RetryAfter != time.Second ||
		e.Detail != "a shop may have 2 lay plans at once" {
		t.Errorf("a third: %+v", err)
	}
	enter(1) // another shop's
	first()
	enter(0)
	if _, err := plans.Enter(shops[0]); err == nil {
		t.Error("one that left made room for two")
	}
}
