package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"sync/atomic"
	"time"
)

// client calls the API of a server with one key.
type client struct {
	base, key string
	others    []string // addresses of replicas, called in turn with base
	turn      *atomic.Int64
	http      *http.Client
}

// address returns the address to call next.
func (c *client) address() string {
	if n := int(c.turn.Add(1)) % (len(c.others) + 1); n > 0 {
		return c.others[n-1]
	}
	return c.base
}

func newClient(base, key string) *client {
	transport := &http.Transport{MaxIdleConnsPerHost: 256, MaxConnsPerHost: 256}
	return &client{base: base, key: key, turn: new(atomic.Int64),
		http: &http.Client{Timeout: 60 * time.Second, Transport: transport}}
}

// response is the part of a response that is measured.
type response struct {
	status int
	body   []byte
	etag   string
}

// call sends a request with an optional body of JSON and pairs of header names
// and values.
func (c *client) call(ctx context.Context, method, path string, body []byte, header ...string) (response, error) {
	r, err := http.NewRequestWithContext(ctx, method, c.address()+path, bytes.NewReader(body))
	if err != nil {
		return response{}, err
	}
	r.Header.Set("Authorization", "Bearer "+c.key)
	if len(body) > 0 {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	res, err := c.http.Do(r)
	if err != nil {
		return response{}, err
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	return response{res.StatusCode, data, res.Header.Get("ETag")}, err
}

// must calls and decodes the body, unless into is nil. Another status than the
// expected one is an error.
func (c *client) must(ctx context.Context, method, path, body string, status int, into any, header ...string) error {
	r, err := c.call(ctx, method, path, []byte(body), header...)
	if err == nil && r.status != status {
		err = fmt.Errorf("%s %s: %d %.300s", method, path, r.status, r.body)
	}
	if err == nil && into != nil {
		err = json.Unmarshal(r.body, into)
	}
	return err
}

// listen registers a webhook endpoint for events, all if none is named, and
// returns its secret.
func (c *client) listen(ctx context.Context, url string, events ...string) (string, error) {
	var made struct{ Secret string }
	body, err := json.Marshal(map[string]any{"url": url, "events": events})
	if len(events) == 0 {
		body, err = json.Marshal(map[string]any{"url": url})
	}
	if err == nil {
		err = c.must(ctx, http.MethodPost, "/v1/webhook-endpoints", string(body), http.StatusCreated, &made)
	}
	return made.Secret, err
}
