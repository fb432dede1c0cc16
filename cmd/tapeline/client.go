package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"

	"tapeline/api"
)

// apiClient calls the API.
type apiClient struct {
	base, key string
	http      http.Client
}

// call sends a body as JSON, where there is one, and reads the answer into a
// value, unless that is nil. A refusal is an error that says what it was.
func (c *apiClient) call(ctx context.Context, method, path string, body, into any) error {
	var sent io.Reader
	if body != nil {
		data, err := json.Marshal(body)
		if err != nil {
			return err
		}
		sent = bytes.NewReader(data)
	}
	data, err := c.do(ctx, method, path, sent)
	if err != nil || into == nil {
		return err
	}
	if err := json.Unmarshal(data, into); err != nil {
		return fmt.Errorf("answer of %s cannot be read: %w", c.base+path, err)
	}
	return nil
}

func (c *apiClient) get(ctx context.Context, path string) ([]byte, error) {
	return c.do(ctx, http.MethodGet, path, nil)
}

func (c *apiClient) do(ctx context.Context, method, path string, body io.Reader) ([]byte, error) {
	q, err := http.NewRequestWithContext(ctx, method, strings.TrimSuffix(c.base, "/")+path, body)
	if err != nil {
		return nil, err
	}
	q.Header.Set("Authorization", "Bearer "+c.key)
	if body != nil {
		q.Header.Set("Content-Type", "application/json")
	}
	a, err := c.http.Do(q)
	if err != nil {
		return nil, err
	}
	defer a.Body.Close()
	data, err := io.ReadAll(a.Body)
	if err != nil {
		return nil, fmt.Errorf("answer of %s: %w", q.URL, err)
	}
	if a.StatusCode >= 300 {
		return nil, refusalOf(a, data)
	}
	return data, nil
}

// refusedError is an answer that is no success.
type refusedError struct {
	status int
	text   string
}

func (e *refusedError) Error() string { return e.text }

// refusalOf writes a problem document (RFC 9457) as a person reads it.
func refusalOf(a *http.Response, body []byte) error {
	var p api.Problem
	if json.Unmarshal(body, &p) != nil || p.Code == "" {
		return &refusedError{a.StatusCode, "the server answers " + a.Status}
	}
	var b strings.Builder
	b.WriteString(p.Title)
	if p.Detail != "" {
		b.WriteString(": " + p.Detail)
	}
	for _, e := range p.Errors {
		fmt.Fprintf(&b, "\n  %s%s: %s", strings.TrimPrefix(e.Pointer, "#"), e.Parameter, e.Detail)
		if e.Value != "" {
			fmt.Fprintf(&b, " (given: %s)", e.Value)
		}
	}
	return &refusedError{a.StatusCode, fmt.Sprintf("%s [%s]", b.String(), p.Code)}
}
