package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"
)

// hostile is the shop that attacks.
type hostile struct {
	*client
	serial    atomic.Int64
	orders    []string // ready
	customer  string
	revisions []string // paths of the styles' revisions
	body      []byte   // large, made once so that the attack costs the server, not its caller
	listener  net.Listener

	mu    sync.Mutex
	calls map[int]int // by status; 0 for no response
}

// prepare makes the shop and what the attack needs.
func (h *hostile) prepare(ctx context.Context, s *server, a attack) error {
	key, err := s.key(ctx, "hostile-row", "admin")
	if err != nil {
		return err
	}
	h.client = newClient(s.base, key)
	return a.prepare(ctx, h)
}

func (h *hostile) close() {
	if h.listener != nil {
		_ = h.listener.Close()
	}
}

// send calls within a time and counts the status.
func (h *hostile) send(ctx context.Context, within time.Duration, method, path string, body []byte, header ...string) {
	ctx, cancel := context.WithTimeout(ctx, within)
	defer cancel()
	r, err := h.call(ctx, method, path, body, header...)
	if err != nil {
		r.status = 0
		pause(ctx, 10*time.Millisecond)
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.calls[r.status]++
}

// placed is an order as the API returns it.
type placed struct {
	ID       string
	Status   string
	Customer string `json:"customer_id"`
}

// orderOf returns the body of another order, of a style if one is named.
func (h *hostile) orderOf(style string) (body, key string) {
	n := h.serial.Add(1)
	body = string(order(n))
	if style != "" {
		body = strings.NewReplacer(`"block":"torso","fit":"regular","choices":{"length":"hip"}`, `"style":"`+style+`"`,
			`"allowances":{"default":1.5,"hem":3}`, `"allowances":{}`).Replace(body)
	}
	return body, fmt.Sprint("hostile-", n)
}

// place creates an order and waits until it is drafted or held.
func (h *hostile) place(ctx context.Context, style string) error {
	body, key := h.orderOf(style)
	var o placed
	err := h.must(ctx, http.MethodPost, "/v1/orders", body, http.StatusCreated, &o, "Idempotency-Key", key)
	if err != nil {
		return err
	}
	for o.Status == "received" && ctx.Err() == nil {
		time.Sleep(20 * time.Millisecond)
		if err := h.must(ctx, http.MethodGet, "/v1/orders/"+o.ID, "", http.StatusOK, &o); err != nil {
			return err
		}
	}
	if o.Status != "ready" {
		return fmt.Errorf("order is %s", o.Status)
	}
	h.orders, h.customer = append(h.orders, o.ID), o.Customer
	return nil
}

// publish uploads, proves and publishes a style.
func (h *hostile) publish(ctx context.Context, slug, script string) error {
	if err := h.upload(ctx, slug, script); err != nil {
		return err
	}
	revision := h.revisions[len(h.revisions)-1]
	input := proofOf(20, 88)
	var proof struct {
		ID, Status string
		Report     json.RawMessage
	}
	if err := h.must(ctx, http.MethodPost, revision+"/proofs", string(input), http.StatusAccepted, &proof); err != nil {
		return err
	}
	for proof.Status != "done" {
		if proof.Status == "failed" || ctx.Err() != nil {
			return fmt.Errorf("proof of %s: %s %w", slug, proof.Status, ctx.Err())
		}
		time.Sleep(50 * time.Millisecond)
		if err := h.must(ctx, http.MethodGet, "/v1/style-proofs/"+proof.ID, "", http.StatusOK, &proof); err != nil {
			return err
		}
	}
	if err := h.must(ctx, http.MethodPost, revision+"/publish", "", http.StatusOK, nil); err != nil {
		return fmt.Errorf("%w; its proof: %.600s", err, proof.Report)
	}
	return nil
}

func (h *hostile) upload(ctx context.Context, slug, script string) error {
	input, err := json.Marshal(map[string]string{"script": script, "reason": "attack"})
	if err != nil {
		return err
	}
	h.revisions = append(h.revisions, "/v1/styles/"+slug+"/revisions/1")
	return h.must(ctx, http.MethodPost, "/v1/styles", string(input), http.StatusCreated, nil)
}

// misbehave listens for deliveries and answers each connection as told, for as
// long as the connection lasts.
func (h *hostile) misbehave(ctx context.Context, answer func(net.Conn)) (url string, err error) {
	h.listener, err = (&net.ListenConfig{}).Listen(ctx, "tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	go func() {
		for {
			c, err := h.listener.Accept()
			if err != nil {
				return
			}
			go func() {
				defer c.Close()
				answer(c)
			}()
		}
	}()
	return "http://" + h.listener.Addr().String(), nil
}
