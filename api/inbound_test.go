package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	standard "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"tapeline/api"
	"tapeline/service"
)

// platform is a shop's platform that sends 'order paid' messages. It signs
// them with the Standard Webhooks project's own library.
type platform struct {
	*bench
	path   string
	secret string
}

func (b *bench) platform() *platform {
	b.Helper()
	var made api.InboundWithSecret
	b.post("/v1/inbound/rotate-secret", object{}).want(http.StatusOK, &made)
	return &platform{b, strings.TrimPrefix(made.Inbound.URL, "http://tapeline.test"), made.Secret}
}

// signed is a message as the platform sends it.
func (p *platform) signed(id string, at time.Time, body string) call {
	p.Helper()
	w, err := standard.NewWebhook(p.secret)
	p.must(err)
	signature, err := w.Sign(id, at, []byte(body))
	p.must(err)
	return call{method: "POST", path: p.path, body: body, header: map[string]string{
		"webhook-id": id, "webhook-timestamp": strconv.FormatInt(at.Unix(), 10), "webhook-signature": signature}}
}

func (p *platform) send(id string, body any) reply {
	p.Helper()
	data, err := json.Marshal(body)
	p.must(err)
	return p.do(p.signed(id, time.Now(), string(data)))
}

func paid(order object) object {
	return object{"type": "order.paid", "timestamp": "2026-03-14T09:26:53Z", "data": order}
}

func TestPaidOrderBecomesAPattern(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	p := b.platform()
	var o, again api.Order
	p.send("msg_1", paid(sampleOrder("IN-1"))).want(http.StatusCreated, &o)
	if o.Source != api.OrderSourceInbound || o.Reference != "IN-1" {
		t.Errorf("order: %+v", o)
	}
	hook.await(b, "order.ready", o.ID)
	// Sent again it is the same order, as it stands now; under another id its reference is taken.
	p.send("msg_1", paid(sampleOrder("IN-1"))).want(http.StatusCreated, &again)
	if again.ID != o.ID || again.Status != api.OrderStatusReady {
		t.Errorf("sent again: %+v", again)
	}
	p.send("msg_1", paid(sampleOrder("IN-1").with("fit", "loose"))).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeMessageIDReused)
	p.send("msg_2", paid(sampleOrder("IN-1"))).problem(http.StatusConflict, api.ProblemCodeReferenceTaken)
	// A message that was refused can be corrected and sent again under its id.
	refused := p.send("msg_3", paid(sampleOrder("IN-3").with("fit", "tight"))).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput)
	if len(refused.Errors) != 1 || refused.Errors[0].Pointer != "#/data/fit" {
		t.Errorf("errors: %+v", refused.Errors)
	}
	p.send("msg_3", paid(sampleOrder("IN-3"))).want(http.StatusCreated, nil)
	refused = p.send("msg_4", paid(sampleOrder("IN-4").with("customer", nil))).problem(http.StatusBadRequest,
		api.ProblemCodeInvalidRequest)
	if !slices.ContainsFunc(refused.Errors, func(e api.FieldError) bool {
		return e.Pointer == "#/data/customer" && e.Code == api.FieldErrorCodeMissing
	}) {
		t.Errorf("errors: %+v", refused.Errors)
	}
	p.send("msg_5", paid(sampleOrder("IN-5")).with("type", "order.refunded")).problem(http.StatusBadRequest,
		api.ProblemCodeInvalidRequest)
}

// A message sent many times at once makes one order.
func TestPaidOrderManyTimesAtOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	p := b.platform()
	var mu sync.Mutex
	ids := map[uuid.UUID]int{}
	var wg sync.WaitGroup
	for range 30 {
		wg.Go(func() {
			r := p.send("msg_1", paid(sampleOrder("IN-1")))
			if r.status == http.StatusConflict {
				r.problem(http.StatusConflict, api.ProblemCodeIdempotencyInFlight)
				return
			}
			var o api.Order
			r.want(http.StatusCreated, &o)
			mu.Lock()
			defer mu.Unlock()
			ids[o.ID]++
		})
	}
	wg.Wait()
	if len(ids) != 1 {
		t.Errorf("orders: %v", ids)
	}
}

func TestInboundSignature(t *testing.T) {
	t.Parallel()
	b := setup(t)
	p := b.platform()
	data, err := json.Marshal(paid(sampleOrder("IN-1")))
	b.must(err)
	now, body := time.Now(), string(data)
	good := func() call { return p.signed("msg_1", now, body) }
	forge := func(change func(*call)) call { c := good(); change(&c); return c }
	other, _, err := b.service.Access.EnsureShop(t.Context(), "other-row", "Other Row")
	b.must(err)
	for name, c := range map[string]call{
		"another body":       forge(func(c *call) { c.body = strings.Replace(body, "IN-1", "IN-2", 1) }),
		"another id":         forge(func(c *call) { c.header["webhook-id"] = "msg_2" }),
		"another time":       forge(func(c *call) { c.header["webhook-timestamp"] = fmt.Sprint(now.Unix() + 1) }),
		"no signature":       forge(func(c *call) { c.header["webhook-signature"] = "v1," }),
		"signature left out": forge(func(c *call) { delete(c.header, "webhook-signature") }),
		"too old":            p.signed("msg_1", now.Add(-6*time.Minute), body),
		"from the future":    p.signed("msg_1", now.Add(6*time.Minute), body),
		"another shop": forge(func(c *call) {
			c.path = strings.Replace(c.path, b.shop.ID.String(), other.ID.String(),
				1)
		}),
		"no such shop": forge(func(c *call) {
			c.path = strings.Replace(c.path, b.shop.ID.String(), uuid.NewString(),
				1)
		}),
		"a key instead": forge(func(c *call) {
			c.key = b.keys[service.RoleAdmin]
			c.header["webhook-signature"] = "v1,AAAA"
		}),
	} {
		t.Run(name, func(t *testing.T) {
			b := *b
			b.T = t
			b.do(c).problem(http.StatusUnauthorized, api.ProblemCodeSignatureInvalid)
		})
	}
	b.do(forge(func(c *call) { c.path = "/v1/inbound/orders?shop=none" })).problem(http.StatusBadRequest,
		api.ProblemCodeInvalidRequest)
	b.do(good()).want(http.StatusCreated, nil)
}

func TestInboundSecretRotation(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var in api.Inbound
	b.get("/v1/inbound").want(http.StatusOK, &in)
	if in.Enabled {
		t.Errorf("without a secret: %+v", in)
	}
	old := b.platform()
	var rotated api.InboundWithSecret
	b.post("/v1/inbound/rotate-secret", object{"overlap_seconds": 600}).want(http.StatusOK, &rotated)
	fresh := &platform{b, old.path, rotated.Secret}
	old.send("msg_1", paid(sampleOrder("IN-1"))).want(http.StatusCreated, nil)
	fresh.send("msg_2", paid(sampleOrder("IN-2"))).want(http.StatusCreated, nil)
	r := b.get("/v1/inbound").want(http.StatusOK, &in)
	if !in.Enabled || in.PreviousSecretUntil.IsZero() || strings.Contains(string(r.body), "whsec_") {
		t.Errorf("while both hold: %s", r.body)
	}
	b.post("/v1/inbound/rotate-secret", object{"overlap_seconds": 0}).want(http.StatusOK, &rotated)
	last := &platform{b, old.path, rotated.Secret}
	for i, p := range []*platform{old, fresh} {
		p.send(fmt.Sprint("msg_a", i), paid(sampleOrder(fmt.Sprint("IN-A", i)))).problem(http.StatusUnauthorized,
			api.ProblemCodeSignatureInvalid)
	}
	last.send("msg_3", paid(sampleOrder("IN-3"))).want(http.StatusCreated, nil)
	b.as(service.RoleAdmin, "DELETE", "/v1/inbound/secret", nil).want(http.StatusNoContent, nil)
	last.send("msg_4", paid(sampleOrder("IN-4"))).problem(http.StatusUnauthorized, api.ProblemCodeSignatureInvalid)
}
