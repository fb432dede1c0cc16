package api_test

import (
	"fmt"
	"net/http"
	"sync"
	"testing"

	"tapeline/api"
	"tapeline/service"
)

// A shop that asks for more lay plans at once than it may gets 429, and those that
// it may have are laid.
func TestTooManyAtOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	path := "/v1/orders/" + b.ready("LL-1").ID.String() + "/lay-plan.json?cloth_width="
	replies := make([]reply, 40)
	var wait sync.WaitGroup
	for i := range replies {
		wait.Go(func() {
			replies[i] = b.do(call{method: "GET", path: path + fmt.Sprint(120+i), key: b.keys[service.RoleShop]})
		})
	}
	wait.Wait()
	laid, refused := 0, 0
	for _, r := range replies {
		if r.status == http.StatusOK {
			laid++
			continue
		}
		refused++
		r.problem(http.StatusTooManyRequests, api.ProblemCodeTooManyAtOnce)
		if r.header.Get("Retry-After") != "1" {
			t.Errorf("Retry-After is %q", r.header.Get("Retry-After"))
		}
	}
	if laid < 4 || refused == 0 {
		t.Errorf("%d laid, %d refused", laid, refused)
	}
	b.get(path+"170").want(http.StatusOK, nil)
}
