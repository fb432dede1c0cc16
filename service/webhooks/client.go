package webhooks

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"syscall"
	"time"

	"tapeline/service"
)

// Resolver finds the addresses of a name; *net.Resolver is one.
type Resolver interface {
	LookupNetIP(ctx context.Context, network, host string) ([]netip.Addr, error)
}

// Options of a Client.
type Options struct {
	// AllowPrivate takes http, any port, and addresses that are not public: for development and
	// tests, where the receiver is on the same machine.
	AllowPrivate bool
	Timeout      time.Duration // of one delivery, from looking up the name to the end of the answer; 0 is 15 s
	Resolver     Resolver      // nil is the system's
	Clock        service.Clock // for certificates, and a Retry-After that is a date

	// Recovered returns the error for a panic while connecting, which http.Transport does on a
	// goroutine of its own; nil: an error with the type of its value.
	Recovered func(ctx context.Context, v any) error
}

// Client delivers messages. It is for use by many goroutines.
type Client struct {
	opts Options
	http *http.Client
}

const (
	timeoutDefault = 15 * time.Second // the specification: 15 to 30 s
	dialTimeout    = 5 * time.Second  // for each address of a host
	answerLimit    = 4 << 10          // read of an answer's body, which nobody looks at
)

// NewClient makes a client.
func NewClient(opts Options) *Client {
	if opts.Timeout == 0 {
		opts.Timeout = timeoutDefault
	}
	if opts.Resolver == nil {
		opts.Resolver = net.DefaultResolver
	}
	if opts.Recovered == nil {
		opts.Recovered = func(_ context.Context, v any) error { return fmt.Errorf("panic of type %T", v) }
	}
	c := &Client{opts: opts}
	c.http = &http.Client{
		// An answer that sends us elsewhere is a failure: where it points to was never checked.
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{
			Proxy:                  nil, // also not from the environment: a proxy would connect for us, unchecked
			DialContext:            c.dial,
			ForceAttemptHTTP2:      true,
			TLSClientConfig:        &tls.Config{MinVersion: tls.VersionTLS12, Time: opts.Clock.Now},
			TLSHandshakeTimeout:    10 * time.Second,
			DisableCompression:     true, // a small answer must not unpack into a large one
			MaxResponseHeaderBytes: 16 << 10,
			MaxIdleConns:           100,
			MaxIdleConnsPerHost:    4,
			IdleConnTimeout:        30 * time.Second,
		},
	}
	return c
}

// dial looks the host up, refuses it unless every address is public, and
// connects to the very addresses that were checked. A name that resolves
// differently a moment later gains nothing.
func (c *Client) dial(ctx context.Context, network, hostPort string) (conn net.Conn, err error) {
	defer func() {
		if v := recover(); v != nil {
			conn, err = nil, c.opts.Recovered(ctx, v)
		}
	}()
	host, port, err := net.SplitHostPort(hostPort)
	if err != nil {
		return nil, err
	}
	addrs, err := c.resolve(ctx, host)
	if err != nil {
		return nil, err
	}
	dialer := net.Dialer{Timeout: dialTimeout, ControlContext: c.control}
	var failures error
	for _, a := range addrs {
		conn, err := dialer.DialContext(ctx, network, net.JoinHostPort(a.String(), port))
		if err == nil {
			return conn, nil
		}
		failures = errors.Join(failures, err)
		if ctx.Err() != nil {
			break
		}
	}
	return nil, failures
}

// control is the last look, at the address that the kernel is about to be
// given.
func (c *Client) control(_ context.Context, _, address string, _ syscall.RawConn) error {
	if c.opts.AllowPrivate {
		return nil
	}
	a, err := netip.ParseAddrPort(address)
	if err != nil || !public(a.Addr()) {
		return refused("the address is not public")
	}
	return nil
}

// Outcome is the result of one attempt.
type Outcome struct {
	Status     int           // of the answer, if Err is nil
	RetryAfter time.Duration // that the receiver asks for; 0 when it does not
	Refused    bool          // not sent, for its address: see Err
	Err        error         // why there was no answer
	Duration   time.Duration
}

// Delivered reports whether the receiver took the message: any 2xx.
func (o Outcome) Delivered() bool { return o.Err == nil && o.Status >= 200 && o.Status < 300 }

// Gone reports whether the receiver wants no message any more: 410.
func (o Outcome) Gone() bool { return o.Status == http.StatusGone }

// Deliver posts a message once. It follows no redirect, and reads of the
// answer only its status, Retry-After, and enough of the body to use the
// connection again. No answer makes it last longer than the client's timeout.
func (c *Client) Deliver(ctx context.Context, address string, header http.Header, body []byte) Outcome {
	ctx, cancel := context.WithTimeout(ctx, c.opts.Timeout)
	defer cancel()
	start := time.Now()
	out := c.deliver(ctx, address, header, body)
	out.Duration = time.Since(start)
	return out
}

func (c *Client) deliver(ctx context.Context, address string, header http.Header, body []byte) Outcome {
	u, err := c.parse(address)
	if err != nil {
		return Outcome{Refused: true, Err: err}
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, u.String(), bytes.NewReader(body))
	if err != nil {
		return Outcome{Refused: true, Err: refused("the address is not a URL")}
	}
	req.Header = header.Clone()
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "tapeline-webhook/1")
	resp, err := c.http.Do(req)
	if err != nil {
		if e, ok := errors.AsType[*url.Error](err); ok { // its text has the URL
			err = e.Err
		}
		_, isAddress := errors.AsType[*AddressError](err) // net wraps it
		return Outcome{Refused: isAddress, Err: err}
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusSwitchingProtocols { // the body of that one is the connection, and has no end
		_, _ = io.CopyN(io.Discard, resp.Body, answerLimit) // however it ends, the status stands
	}
	return Outcome{Status: resp.StatusCode, RetryAfter: retryAfter(resp.Header, c.opts.Clock.Now())}
}

// Describe says for a shop why there was no answer. It names no
// address of our network.
func Describe(err error) string {
	if e, ok := errors.AsType[reportedError](err); ok {
		return string(e)
	}
	if e, ok := errors.AsType[*AddressError](err); ok {
		return e.Reason
	}
	if _, ok := errors.AsType[*net.DNSError](err); ok {
		return "the host name does not resolve"
	}
	if e, ok := errors.AsType[net.Error](err); ok && e.Timeout() {
		return "no answer in time"
	}
	if e, ok := errors.AsType[*tls.CertificateVerificationError](err); ok {
		return "TLS: " + strings.TrimPrefix(e.Err.Error(), "x509: ")
	}
	if _, ok := errors.AsType[tls.RecordHeaderError](err); ok {
		return "TLS: the host does not speak it on this port"
	}
	if _, ok := errors.AsType[tls.AlertError](err); ok {
		return "TLS: the host refuses the handshake"
	}
	switch {
	case errors.Is(err, syscall.ECONNREFUSED):
		return "connection refused"
	case errors.Is(err, syscall.ECONNRESET), errors.Is(err, syscall.EPIPE), errors.Is(err, io.EOF),
		errors.Is(err, io.ErrUnexpectedEOF):
		return "connection closed before an answer"
	case errors.Is(err, syscall.EHOSTUNREACH), errors.Is(err, syscall.ENETUNREACH):
		return "host unreachable"
	default:
		return "no valid HTTP answer"
	}
}
