package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"strings"
	"time"
)

// Scripts of the hostile shop.
const (
	scriptHead = `style(slug = "%s", title = "Probe", block = "straight", draft = {"length": "hip", "sleeve": "none"},
    fits = [fit("regular", like = "regular", back_shoulder = 0, back_shoulder_dart = 0)])

def make(body, ease, choose, block):
`
	// heavy has nearly as many strokes and cut pieces as a garment may have, and takes
	// longer than it may.
	heavy = `    z = line(*[point(4 * i, 10 * (i %% 2)) for i in range(281)])
    p = piece("p", "P", top = z, rest = line(point(1120, 0), point(1120, 400), point(0, 400), point(0, 0)))
    q = cutting(role(p, top = "edge", rest = "edge"), count = 25)
    return garment([copy(q, "q%%d" %% i, "Q") for i in range(10)], [], ["Sew."])
`
	// many has as many cut pieces, and can be proved.
	many = `    z = line(*[point(8 * i, 10 * (i %% 2)) for i in range(61)])
    p = piece("p", "P", top = z, rest = line(point(480, 0), point(480, 400), point(0, 400), point(0, 0)))
    q = cutting(role(p, top = "edge", rest = "edge"), count = 30)
    return garment([copy(q, "q%%d" %% i, "Q") for i in range(8)], [], ["Sew."])
`
	// spin computes for as long as it may.
	spin = `    z = line(*[point(i, 10 * (i %% 2)) for i in range(500)])
    for i in range(1000000):
        x = length(z)
    return garment([block.back, block.front], [], ["Sew."])
`
	// trap is cheap in its proof and dear for the bodies of the orders.
	trap = `    if body.bust_girth > 900.5:
        z = line(*[point(i, 10 * (i %% 2)) for i in range(500)])
        for i in range(1000000):
            x = length(z)
    return garment([block.back, block.front], [
        seam("back/shoulder", "front/shoulder"), seam("back/side", "front/side")], ["Sew."])
`
)

func script(slug, body string) string { return fmt.Sprintf(scriptHead+body, slug) }

// draftOf returns the body of a request that drafts a revision of a style.
func (h *hostile) draftOf(slug string) []byte {
	var m map[string]any
	_ = json.Unmarshal(order(rand.Int64N(41)), &m) // our own
	for _, name := range []string{"reference", "customer", "block", "fit", "choices", "allowances"} {
		delete(m, name)
	}
	m["style"], m["style_revision"] = slug, 1
	body, _ := json.Marshal(m)
	return body
}

// uploaded prepares drafts of a style that is not published.
func uploaded(slug, body string) func(context.Context, *hostile) error {
	return func(ctx context.Context, h *hostile) error { return h.upload(ctx, slug, script(slug, body)) }
}

// ordered prepares n orders of a style.
func ordered(n int, slug string) func(context.Context, *hostile) error {
	return func(ctx context.Context, h *hostile) error {
		for range n {
			if err := h.place(ctx, slug); err != nil {
				return err
			}
		}
		return nil
	}
}

// get prepares nothing and reads a path of one of the orders.
func get(within time.Duration, path string) func(context.Context, *hostile) {
	return func(ctx context.Context, h *hostile) {
		h.send(ctx, within, http.MethodGet, "/v1/orders/"+h.orders[rand.IntN(len(h.orders))]+path, nil)
	}
}

var attacks = []attack{
	{"script", "drafts of a script that computes without end; the clients leave after a second", 16,
		uploaded("spin", spin), func(ctx context.Context, h *hostile) {
			h.send(ctx, time.Second, http.MethodPost, "/v1/drafts?format=pdf", h.draftOf("spin"))
		}},
	{"heavy", "drafts, as PDF, of a garment of as many strokes as one may have", 16, uploaded("heavy", heavy),
		func(ctx context.Context, h *hostile) {
			h.send(ctx, 20*time.Second, http.MethodPost, "/v1/drafts?format=pdf", h.draftOf("heavy"))
		}},
	{"trap", "orders of a style that is cheap in its proof and computes without end for their bodies", 4,
		func(ctx context.Context, h *hostile) error { return h.publish(ctx, "trap", script("trap", trap)) },
		func(ctx context.Context, h *hostile) {
			body, key := h.orderOf("trap")
			h.send(ctx, 10*time.Second, http.MethodPost, "/v1/orders", []byte(body), "Idempotency-Key", key)
			pause(ctx, 100*time.Millisecond)
		}},
	{"lay-plans", "100 lay plans at once of a dress, each of another width", 100, ordered(3, "shift-dress"),
		func(ctx context.Context, h *hostile) {
			get(30*time.Second, fmt.Sprintf("/lay-plan.json?unit=cm&cloth_width=%d", 90+rand.IntN(100)))(ctx, h)
		}},
	{"lay-plan", "lay plans of 250 cut pieces; the clients leave after a second", 16,
		func(ctx context.Context, h *hostile) error {
			if err := h.publish(ctx, "many", script("many", many)); err != nil {
				return err
			}
			return h.place(ctx, "many")
		}, get(time.Second, "/lay-plan.json?unit=cm&cloth_width=140")},
	{"cache", "patterns of 24 heavy garments in all formats, to fill the caches", 8,
		func(ctx context.Context, h *hostile) error {
			if err := h.publish(ctx, "many", script("many", many)); err != nil {
				return err
			}
			return ordered(24, "many")(ctx, h)
		}, func(ctx context.Context, h *hostile) {
			formats := []string{"pdf?paper=a4", "svg", "dxf", "json"}
			get(30*time.Second, "/pattern."+formats[rand.IntN(len(formats))])(ctx, h)
		}},
	{"estimates", "the estimates of an order, 32 at once", 32, ordered(3, "wrap-robe"), get(30*time.Second, "/estimates")},
	{"burst", "orders as fast as 32 callers can place them", 32, none, func(ctx context.Context, h *hostile) {
		body, key := h.orderOf("wrap-robe")
		h.send(ctx, 20*time.Second, http.MethodPost, "/v1/orders", []byte(body), "Idempotency-Key", key)
	}},
	{"proofs", "proofs of 70,000 bodies, 24 at once", 24, func(ctx context.Context, h *hostile) error {
		h.body = proofOf(70_000, 90)
		return h.upload(ctx, "spin", script("spin", many))
	}, func(ctx context.Context, h *hostile) {
		h.send(ctx, 20*time.Second, http.MethodPost, "/v1/styles/spin/revisions/1/proofs", h.body)
		pause(ctx, 50*time.Millisecond)
	}},
	{"keys", "requests with wrong keys, and of health, from 64 callers", 64, none, func(ctx context.Context, h *hostile) {
		wrong := *h.client
		wrong.key = fmt.Sprintf("tl_aaaaaaaa_%d", rand.Int64())
		guess := hostile{client: &wrong, calls: map[int]int{}}
		guess.send(ctx, 5*time.Second, http.MethodGet, "/v1/orders", nil)
		h.send(ctx, 5*time.Second, http.MethodGet, "/healthz", nil)
	}},
	{"exports", "the export of a customer with 200 orders, 16 at once", 16, manyOrders(200),
		func(ctx context.Context, h *hostile) {
			h.send(ctx, 30*time.Second, http.MethodGet, "/v1/customers/"+h.customer+"/export", nil)
		}},
	{"bodies", "bodies of 4 MB, from 64 callers", 64, func(_ context.Context, h *hostile) error {
		h.body = []byte(strings.Repeat("[", 4_000_000))
		return nil
	}, func(ctx context.Context, h *hostile) {
		h.send(ctx, 20*time.Second, http.MethodPost, "/v1/orders", h.body)
	}},
	{"slow", "3,000 connections that send a header slowly", 300, none, slowHeaders},
	{"receivers", "10 receivers that trickle, hang, send 1xx or headers without end", 4, receivers,
		func(ctx context.Context, h *hostile) {
			h.send(ctx, 5*time.Second, http.MethodPost, h.orders[rand.IntN(len(h.orders))], nil)
			pause(ctx, 20*time.Millisecond)
		}},
}

// none prepares nothing.
func none(context.Context, *hostile) error { return nil }

// pause waits unless ctx ends.
func pause(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(d):
	}
}

// proofOf returns the body of a request that starts a proof of n bodies, of a bust
// girth in cm and up to 2 cm more.
func proofOf(n int, bust float64) []byte {
	var csv strings.Builder
	csv.WriteString("bust_girth,waist_girth,hip_girth,neck_base_girth,shoulder_length,back_width,nape_to_waist," +
		"waist_to_hip,upper_arm_girth,wrist_girth,arm_length\n")
	for i := range n {
		fmt.Fprintf(&csv, "%.1f,74,98,37,12.6,35,41,20.5,29,16,58\n", bust+float64(i%100)/50)
	}
	body, _ := json.Marshal(map[string]string{"bodies": "file", "csv": csv.String()})
	return body
}

// manyOrders prepares a customer with n orders.
func manyOrders(n int) func(context.Context, *hostile) error {
	return func(ctx context.Context, h *hostile) error {
		if err := h.place(ctx, ""); err != nil {
			return err
		}
		for range n {
			body, key := h.orderOf("")
			start := strings.Index(body, `"customer":{`)
			end := start + strings.Index(body[start:], "}") + 1
			body = body[:start] + `"customer_id":"` + h.customer + `"` + body[end:]
			if err := h.must(ctx, http.MethodPost, "/v1/orders", body, http.StatusCreated, nil, "Idempotency-Key",
				key); err != nil {
				return err
			}
		}
		return nil
	}
}

// slowHeaders holds ten connections that send a byte of a header a second.
func slowHeaders(ctx context.Context, h *hostile) {
	address := strings.TrimPrefix(h.base, "http://")
	var open []net.Conn
	for range 10 {
		c, err := (&net.Dialer{Timeout: time.Second}).DialContext(ctx, "tcp", address)
		if err == nil {
			open = append(open, c)
		}
	}
	for range 8 {
		for _, c := range open {
			_, _ = io.WriteString(c, "G")
		}
		pause(ctx, time.Second)
	}
	for _, c := range open {
		_ = c.Close()
	}
}

// receivers registers ten endpoints of every misbehaviour; the paths of their test
// messages stand in for orders.
func receivers(ctx context.Context, h *hostile) error {
	url, err := h.misbehave(ctx, func(c net.Conn) {
		_ = c.SetDeadline(time.Now().Add(5 * time.Minute))
		buffer := make([]byte, 4096)
		if _, err := c.Read(buffer); err != nil {
			return
		}
		repeat := func(first, again string, every time.Duration) {
			_, err := io.WriteString(c, first)
			for err == nil && ctx.Err() == nil {
				time.Sleep(every)
				_, err = io.WriteString(c, again)
			}
		}
		switch rand.IntN(5) {
		case 0: // the connection changes its protocol and stays open
			repeat("HTTP/1.1 101 Switching Protocols\r\nUpgrade: x\r\nConnection: Upgrade\r\n\r\n", "x", time.Second)
		case 1:
			repeat("", "HTTP/1.1 103 Early Hints\r\n\r\n", 100*time.Millisecond)
		case 2:
			repeat("HTTP/1.1 200 OK\r\n", "X-More: and more\r\n", 10*time.Millisecond)
		case 3:
			repeat("HTTP/1.1 200 OK\r\nContent-Length: 1000000\r\n\r\n", "x", 100*time.Millisecond)
		case 4: // silence
			_, _ = io.Copy(io.Discard, c)
		}
	})
	if err != nil {
		return err
	}
	for i := range 10 {
		var made struct{ Endpoint struct{ ID string } }
		body := fmt.Sprintf(`{"url":"%s/%d","events":["order.ready"]}`, url, i)
		if err := h.must(ctx, http.MethodPost, "/v1/webhook-endpoints", body, http.StatusCreated, &made); err != nil {
			return err
		}
		path := "/v1/webhook-endpoints/" + made.Endpoint.ID + "/test"
		h.orders = append(h.orders, path)
		for range 40 {
			if err := h.must(ctx, http.MethodPost, path, "", http.StatusAccepted, nil); err != nil {
				return err
			}
		}
	}
	return nil
}
