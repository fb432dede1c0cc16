package api_test

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"
)

// A connection keeps to the program's limits: the size of its headers, and the
// time to send them and the body.
func TestConnectionLimits(t *testing.T) {
	t.Parallel()
	b := setup(t)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	b.must(err)
	server := b.server.HTTPServer("")
	go func() { _ = server.Serve(listener) }()
	t.Cleanup(func() { _ = server.Close() })
	dial := func(text string) net.Conn {
		t.Helper()
		c, err := net.Dial("tcp", listener.Addr().String())
		b.must(err)
		t.Cleanup(func() { _ = c.Close() })
		_, err = io.WriteString(c, text)
		b.must(err)
		return c
	}
	response := func(c net.Conn) (int, error) {
		res, err := http.ReadResponse(bufio.NewReader(c), nil)
		if err != nil {
			return 0, err
		}
		return res.StatusCode, res.Body.Close()
	}
	start := "GET /healthz HTTP/1.1\r\nHost: tapeline.test\r\n"

	if status, err := response(dial(start + "\r\n")); err != nil || status != http.StatusOK {
		t.Errorf("an ordinary request: %d %v", status, err)
	}
	status, err := response(dial(start + "X-Long: " + strings.Repeat("x", 32<<10) + "\r\n\r\n"))
	if err != nil || status != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("headers of 32 kB: %d %v", status, err)
	}

	t.Run("headers that trickle in", func(t *testing.T) {
		t.Parallel()
		slow := dial(start)
		began := time.Now()
		for {
			if _, err := io.WriteString(slow, "X: y\r\n"); err != nil {
				break
			}
			if time.Since(began) > 15*time.Second {
				t.Fatal("headers may trickle in without limit")
			}
			time.Sleep(200 * time.Millisecond)
		}
		if took := time.Since(began); took < 3*time.Second {
			t.Errorf("closed after %s, before the time limit", took)
		}
	})
	t.Run("a body that never comes", func(t *testing.T) {
		t.Parallel()
		c := dial(fmt.Sprintf("POST /v1/drafts HTTP/1.1\r\nHost: tapeline.test\r\nAuthorization: Bearer %s\r\n"+
			"Content-Type: application/json\r\nContent-Length: 100\r\n\r\n{", b.keys["shop"]))
		if err := c.SetReadDeadline(time.Now().Add(25 * time.Second)); err != nil {
			t.Fatal(err)
		}
		status, err := response(c)
		if err == nil && status != http.StatusBadRequest {
			t.Errorf("status %d", status)
		}
		if e, ok := errors.AsType[net.Error](err); ok && e.Timeout() {
			t.Error("the server waits for it without limit")
		}
	})
}
