package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"time"

	"github.com/google/uuid"

	"tapeline/service/webhooks"
)

// receiver takes the shop's webhook messages as a shop's system should: it
// checks the signature over the body as it came, and answers at once.
type receiver struct {
	server   *http.Server
	secret   chan string
	received chan demoEvent
}

type demoEvent struct {
	ID   string `json:"-"`
	Type string
	Data struct {
		OrderID     uuid.UUID `json:"order_id"`
		ReasonCodes []string  `json:"reason_codes"`
	}
}

func newReceiver(listener net.Listener) *receiver {
	r := &receiver{secret: make(chan string, 1), received: make(chan demoEvent, 100)}
	r.server = &http.Server{Handler: r, ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = r.server.Serve(listener) }() // until Close
	return r
}

func (r *receiver) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	secret := <-r.secret
	r.secret <- secret
	body, err := io.ReadAll(http.MaxBytesReader(w, req.Body, 20<<10))
	if err != nil || webhooks.Verify([]string{secret}, req.Header, body, time.Now()) != nil {
		http.Error(w, "the signature does not hold", http.StatusUnauthorized)
		return
	}
	e := demoEvent{ID: req.Header.Get("webhook-id")}
	if err := json.Unmarshal(body, &e); err != nil {
		http.Error(w, "not an event", http.StatusBadRequest)
		return
	}
	w.WriteHeader(http.StatusNoContent)
	r.received <- e
}

// await waits until an order's pattern is ready.
func (r *receiver) await(ctx context.Context, order uuid.UUID, out io.Writer) error {
	ctx, cancel := context.WithTimeout(ctx, demoWait)
	defer cancel()
	for {
		select {
		case <-ctx.Done():
			return fmt.Errorf("no webhook for the order in %s", demoWait)
		case e := <-r.received:
			if e.Data.OrderID != order {
				continue // of a former demo
			}
			fmt.Fprintf(out, "received webhook %s, signature checked: %s\n", e.ID, e.Type)
			switch e.Type {
			case "order.ready":
				return nil
			case "order.held", "order.failed":
				return fmt.Errorf("the order was not drafted: %v", e.Data.ReasonCodes)
			}
		}
	}
}
