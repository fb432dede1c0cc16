package webhooks

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"
)

// receiver is a server on loopback that counts what reaches it.
type receiver struct {
	*httptest.Server
	requests, connections atomic.Int64
}

func receive(t *testing.T, handler http.HandlerFunc) *receiver {
	t.Helper()
	r := &receiver{}
	r.Server = httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		r.requests.Add(1)
		handler(w, req)
	}))
	r.Config.ConnState = func(_ net.Conn, state http.ConnState) {
		if state == http.StateNew {
			r.connections.Add(1)
		}
	}
	r.Start()
	t.Cleanup(r.Close)
	return r
}

func developer() *Client { return NewClient(Options{AllowPrivate: true}) }

func TestDeliverSendsWhatWasSigned(t *testing.T) {
	t.Parallel()
	secret, body := NewSecret(), []byte(`{"type":"order.ready"}`)
	r := receive(t, func(w http.ResponseWriter, req *http.Request) {
		got, _ := io.ReadAll(req.Body)
		if err := Verify([]string{secret}, req.Header, got, time.Now()); err != nil {
			t.Errorf("the receiver finds: %v", err)
		}
		if req.Method != http.MethodPost || req.Header.Get("Content-Type") != "application/json" || !bytes.Equal(got, body) ||
			req.URL.RawQuery != "a=b" {
			t.Errorf("received %s %s, %v, %q", req.Method, req.URL, req.Header, got)
		}
		w.WriteHeader(http.StatusNoContent)
	})
	h, err := Sign([]string{secret}, "msg_1", time.Now(), body)
	if err != nil {
		t.Fatal(err)
	}
	out := developer().Deliver(t.Context(), r.URL+"/in?a=b", h, body)
	if !out.Delivered() || out.Status != 204 || out.Err != nil || out.Duration <= 0 {
		t.Errorf("outcome %+v", out)
	}
	if len(h) != 3 {
		t.Errorf("Deliver changed its caller's headers: %v", h)
	}
}

func TestDeliverOutcomes(t *testing.T) {
	t.Parallel()
	elsewhere := receive(t, func(http.ResponseWriter, *http.Request) {})
	for name, tt := range map[string]struct {
		answer    http.HandlerFunc
		status    int
		delivered bool
		gone      bool
		wait      time.Duration
	}{
		"200": {func(w http.ResponseWriter, _ *http.Request) {}, 200, true, false, 0},
		"299": {func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(299) }, 299, true, false, 0},
		"410": {func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusGone) }, 410, false, true, 0},
		"500": {func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusInternalServerError) },
			500, false, false, 0},
		"redirect": {func(w http.ResponseWriter, req *http.Request) {
			http.Redirect(w, req, elsewhere.URL, http.StatusTemporaryRedirect)
		}, 307, false, false, 0},
		"429 asks for time": {func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", "90")
			w.WriteHeader(http.StatusTooManyRequests)
		}, 429, false, false, 90 * time.Second},
		"endless answer": {func(w http.ResponseWriter, req *http.Request) {
			for req.Context().Err() == nil {
				if _, err := w.Write(make([]byte, 64<<10)); err != nil {
					return
				}
			}
		}, 200, true, false, 0},
		"answer that claims to be compressed": {func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Encoding", "gzip")
			_, _ = io.WriteString(w, "not gzip at all")
		}, 200, true, false, 0},
	} {
		r := receive(t, tt.answer)
		out := developer().Deliver(t.Context(), r.URL, http.Header{}, []byte("{}"))
		if out.Status != tt.status || out.Delivered() != tt.delivered || out.Gone() != tt.gone || out.RetryAfter != tt.wait ||
			out.Refused {
			t.Errorf("%s: %+v", name, out)
		}
	}
	if n := elsewhere.requests.Load(); n != 0 {
		t.Errorf("a redirect was followed %d times", n)
	}
}

func TestDeliverWithoutAnswer(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	t.Cleanup(func() { close(release) })
	slow := receive(t, func(_ http.ResponseWriter, req *http.Request) {
		select {
		case <-release:
		case <-req.Context().Done():
		}
	})
	c := NewClient(Options{AllowPrivate: true, Timeout: 100 * time.Millisecond})
	if out := c.Deliver(t.Context(), slow.URL, http.Header{}, nil); out.Status != 0 || out.Err == nil || out.Refused ||
		out.Duration > 10*time.Second {
		t.Errorf("slow receiver: %+v", out)
	}
	// The answer begins in time and never ends: its status is known and stands.
	drip := receive(t, func(w http.ResponseWriter, req *http.Request) {
		w.WriteHeader(http.StatusOK)
		_ = http.NewResponseController(w).Flush()
		<-req.Context().Done()
	})
	if out := c.Deliver(t.Context(), drip.URL, http.Header{}, nil); !out.Delivered() {
		t.Errorf("dripping receiver: %+v", out)
	}

	garbage, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer garbage.Close()
	go func() {
		for {
			conn, err := garbage.Accept()
			if err != nil {
				return
			}
			_, _ = io.WriteString(conn, "\x00\xff not HTTP \r\n\r\n")
			conn.Close()
		}
	}()
	secretPath := "/hook/of-the-receiver-alone"
	out := developer().Deliver(t.Context(), "http://"+garbage.Addr().String()+secretPath, http.Header{}, nil)
	if out.Status != 0 || out.Err == nil || out.Refused {
		t.Errorf("garbage: %+v", out)
	}
	if out.Err != nil && strings.Contains(out.Err.Error(), secretPath) {
		t.Errorf("the error repeats the address: %v", out.Err)
	}

	closed := receive(t, func(http.ResponseWriter, *http.Request) {})
	closed.Close()
	if out := developer().Deliver(t.Context(), closed.URL, http.Header{}, nil); out.Status != 0 || out.Err == nil ||
		out.Refused {
		t.Errorf("nobody there: %+v", out)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if out := developer().Deliver(ctx, slow.URL, http.Header{}, nil); !errors.Is(out.Err, context.Canceled) {
		t.Errorf("cancelled: %+v", out)
	}
}

// answerRaw accepts connections and writes answer after a request, then keeps writing
// more every few milliseconds, if there is any, and never closes.
func answerRaw(t *testing.T, answer, more string) (url string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer conn.Close()
				_, _ = conn.Read(make([]byte, 1024)) // the request, or its beginning
				_, err := io.WriteString(conn, answer)
				for err == nil && t.Context().Err() == nil {
					time.Sleep(5 * time.Millisecond)
					_, err = io.WriteString(conn, more)
				}
			}()
		}
	}()
	return "http://" + l.Addr().String()
}

// No receiver makes an attempt last longer than the client's timeout, and each
// status is recorded as it came.
func TestNoAnswerStretchesADelivery(t *testing.T) {
	t.Parallel()
	c := NewClient(Options{AllowPrivate: true, Timeout: 500 * time.Millisecond})
	for name, tt := range map[string]struct {
		answer, more string
		status       int // 0: none
		words        string
	}{
		"switches protocols": {"HTTP/1.1 101 Switching Protocols\r\nConnection: Upgrade\r\nUpgrade: x\r\n\r\n", "", 101, ""},
		"status 099":         {"HTTP/1.1 099 Odd\r\nContent-Length: 0\r\n\r\n", "", 99, ""},
		"status 999":         {"HTTP/1.1 999 Odd\r\nContent-Length: 0\r\n\r\n", "", 999, ""},
		"trickling body":     {"HTTP/1.1 200 OK\r\nContent-Length: 1000000\r\n\r\n", "x", 200, ""},
		"silence":            {"", "", 0, "no answer in time"},
		"endless continues":  {"", "HTTP/1.1 100 Continue\r\n\r\n", 0, "no "},
		"endless headers":    {"HTTP/1.1 200 OK\r\n", "X-More: x\r\n", 0, "no "},
		"trickling status":   {"", "H", 0, "no "},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			ended := make(chan Outcome, 1)
			go func() { ended <- c.Deliver(t.Context(), answerRaw(t, tt.answer, tt.more), http.Header{}, nil) }()
			select {
			case out := <-ended:
				if out.Status != tt.status || (out.Err == nil) != (tt.status != 0) {
					t.Errorf("outcome %+v, want status %d", out, tt.status)
				}
				if out.Err != nil && !strings.Contains(Describe(out.Err), tt.words) {
					t.Errorf("described as %q, want %q", Describe(out.Err), tt.words)
				}
			case <-time.After(time.Minute): // far more than the timeout, for a busy machine
				t.Error("the delivery has not ended")
			}
		})
	}
}

func TestDescribe(t *testing.T) {
	t.Parallel()
	for want, err := range map[string]error{
		"connection refused":             &net.OpError{Op: "dial", Err: os.NewSyscallError("connect", syscall.ECONNREFUSED)},
		"connection closed before an an": fmt.Errorf("read: %w", io.ErrUnexpectedEOF),
		"the host name does not resolve": &net.DNSError{Err: "no such host", Name: "x.invalid"},
		"no answer in time":              fmt.Errorf("dial: %w", context.DeadlineExceeded),
		"the address is not public":      refused("the address is not public"),
		"TLS: certificate signed by unk": &tls.CertificateVerificationError{Err: x509.UnknownAuthorityError{}},
		"no valid HTTP answer":           errors.New("malformed HTTP status code"),
	} {
		if got := Describe(err); !strings.HasPrefix(got, want) {
			t.Errorf("Describe(%v) = %q, want %q", err, got, want)
		}
	}
}

func TestDeliverRefusesWhatCheckURLRefuses(t *testing.T) {
	t.Parallel()
	c := NewClient(Options{Resolver: testNames, Timeout: 5 * time.Second})
	for _, text := range hostileURLs {
		if out := c.Deliver(t.Context(), text, http.Header{}, nil); !out.Refused || out.Err == nil || out.Status != 0 {
			t.Errorf("Deliver to %q: %+v", text, out)
		}
	}
}

// rebinding answers with a public address at first and loopback from then on,
// as a hostile name server with a time to live of 0 would.
type rebinding struct{ lookups atomic.Int64 }

func (r *rebinding) LookupNetIP(context.Context, string, string) ([]netip.Addr, error) {
	if r.lookups.Add(1) == 1 {
		return []netip.Addr{netip.MustParseAddr("198.100.1.1")}, nil
	}
	return []netip.Addr{netip.MustParseAddr("127.0.0.1")}, nil
}

func TestRebindingIsRefused(t *testing.T) {
	t.Parallel()
	inside := receive(t, func(http.ResponseWriter, *http.Request) {})
	_, port, _ := net.SplitHostPort(inside.Listener.Addr().String())
	resolver := &rebinding{}
	c := NewClient(Options{Resolver: resolver})
	address := "https://rebind.example:" + port + "/"
	if err := c.CheckURL(t.Context(), address); err != nil {
		t.Fatalf("CheckURL: %v", err)
	}
	out := c.Deliver(t.Context(), address, http.Header{}, nil)
	if !out.Refused || resolver.lookups.Load() != 2 {
		t.Errorf("Deliver: %+v after %d look-ups, want it refused after a second look-up", out, resolver.lookups.Load())
	}
	if n := inside.connections.Load(); n != 0 {
		t.Errorf("%d connections reached the inside", n)
	}
}

// counting tells how often a name was looked up: between the check and the
// connection there must be no second look-up.
type counting struct{ lookups atomic.Int64 }

func (r *counting) LookupNetIP(context.Context, string, string) ([]netip.Addr, error) {
	r.lookups.Add(1)
	return []netip.Addr{netip.MustParseAddr("127.0.0.1")}, nil
}

func TestNameIsLookedUpOnceForAConnection(t *testing.T) {
	t.Parallel()
	r := receive(t, func(http.ResponseWriter, *http.Request) {})
	_, port, _ := net.SplitHostPort(r.Listener.Addr().String())
	resolver := &counting{}
	c := NewClient(Options{Resolver: resolver, AllowPrivate: true})
	for range 3 { // the connection is used again
		if out := c.Deliver(t.Context(), "http://hooks.example:"+port, http.Header{}, nil); !out.Delivered() {
			t.Errorf("outcome %+v", out)
		}
	}
	if found, made := resolver.lookups.Load(), r.connections.Load(); found != 1 || made != 1 {
		t.Errorf("%d look-ups, %d connections, want one of each", found, made)
	}
}

func TestControlIsTheLastLook(t *testing.T) {
	t.Parallel()
	c := NewClient(Options{})
	for address, want := range map[string]bool{
		"127.0.0.1:443": false, "[::1]:443": false, "[::ffff:10.0.0.1]:443": false, "nonsense": false,
		"198.100.1.1:443": true, "[2606:4700::1]:443": true,
	} {
		if err := c.control(t.Context(), "tcp", address, nil); (err == nil) != want {
			t.Errorf("control(%s) = %v", address, err)
		}
	}
}

// A dead address must not keep a message from a live one.
func TestNextAddressIsTried(t *testing.T) {
	t.Parallel()
	r := receive(t, func(http.ResponseWriter, *http.Request) {})
	_, port, _ := net.SplitHostPort(r.Listener.Addr().String())
	c := NewClient(Options{AllowPrivate: true, Resolver: names{"hooks.example": {"127.77.77.77", "127.0.0.1"}}})
	if out := c.Deliver(t.Context(), "http://hooks.example:"+port, http.Header{}, nil); !out.Delivered() {
		t.Errorf("outcome %+v", out)
	}
}

func TestProxyFromTheEnvironmentIsNotUsed(t *testing.T) {
	proxy := receive(t, func(http.ResponseWriter, *http.Request) {})
	t.Setenv("HTTP_PROXY", proxy.URL)
	t.Setenv("HTTPS_PROXY", proxy.URL)
	r := receive(t, func(http.ResponseWriter, *http.Request) {})
	c := NewClient(Options{AllowPrivate: true, Resolver: names{"hooks.example": {"127.0.0.1"}}})
	_, port, _ := net.SplitHostPort(r.Listener.Addr().String())
	if out := c.Deliver(t.Context(), "http://hooks.example:"+port, http.Header{}, nil); !out.Delivered() ||
		proxy.requests.Load() != 0 {
		t.Errorf("outcome %+v, %d requests to the proxy", out, proxy.requests.Load())
	}
}

func TestCertificatesAreChecked(t *testing.T) {
	t.Parallel()
	r := httptest.NewTLSServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	t.Cleanup(r.Close)
	c := NewClient(Options{AllowPrivate: true, Resolver: names{"example.com": {"127.0.0.1"},
		"other.example": {"127.0.0.1"}}})
	_, port, _ := net.SplitHostPort(r.Listener.Addr().String())
	if out := c.Deliver(t.Context(), "https://example.com:"+port, http.Header{}, nil); out.Status != 0 {
		t.Errorf("an unknown certificate was trusted: %+v", out)
	}
	theirs := r.Client().Transport.(*http.Transport).TLSClientConfig
	c.http.Transport.(*http.Transport).TLSClientConfig.RootCAs = theirs.RootCAs
	if out := c.Deliver(t.Context(), "https://example.com:"+port, http.Header{}, nil); !out.Delivered() {
		t.Errorf("trusted, and named in the certificate: %+v", out)
	}
	if out := c.Deliver(t.Context(), "https://other.example:"+port, http.Header{}, nil); out.Status != 0 {
		t.Errorf("a certificate of another name was taken: %+v", out)
	}
}

// defective is a resolver that panics.
type defective struct{}

func (defective) LookupNetIP(context.Context, string, string) ([]netip.Addr, error) {
	panic("injected")
}

// A panic while connecting is on a goroutine of http.Transport, which nothing that
// calls Deliver can recover.
func TestPanicWhileConnecting(t *testing.T) {
	t.Parallel()
	recovered := errors.New("recovered")
	c := NewClient(Options{Resolver: defective{}, Recovered: func(_ context.Context, v any) error {
		if v != "injected" {
			t.Errorf("recovered %v", v)
		}
		return recovered
	}})
	out := c.Deliver(t.Context(), "https://hooks.example/in", http.Header{}, []byte("{}"))
	if !errors.Is(out.Err, recovered) || out.Delivered() || out.Refused {
		t.Errorf("outcome %+v", out)
	}
	out = NewClient(Options{Resolver: defective{}}).Deliver(t.Context(), "https://hooks.example/in", http.Header{}, nil)
	if out.Err == nil {
		t.Errorf("outcome %+v", out)
	}
}
