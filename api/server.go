// Package api serves tapeline over HTTP. Its handlers implement the interface that is
// generated from openapi.yaml; middleware checks keys and roles, limits and validates
// requests, and writes problem documents, logs and metrics. It has no business rules
// and no SQL.
package api

import (
	"cmp"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus"

	"tapeline/api/linkpage"
	"tapeline/api/workroom"
	"tapeline/service/app"
)

// Config configures a Server.
type Config struct {
	Log       *slog.Logger
	Registry  prometheus.Registerer
	PerSecond float64      // requests per second of each key; 0 is no limit
	Metrics   http.Handler // of /metrics; nil: they are served elsewhere
	Version   string
	PublicURL string // as browsers see it; if it is https, cookies are for https alone

	// TrustedProxies are the networks whose X-Forwarded-For says a client's address.
	TrustedProxies []*net.IPNet

	// RequestTimeout is the time within which a request must end; 0: 25 s. Health
	// checks have less and exports more.
	RequestTimeout time.Duration
}

// Server serves the API.
type Server struct {
	service   *app.App
	contract  *contract
	limiter   *limiter
	admission *admission
	within    time.Duration // a request's time
	log       *slog.Logger
	metrics   http.Handler
	observe   requestObserver
	version   string
	docs      []byte
	room      *workroom.Room
	pages     *linkpage.Pages
	origins   *http.CrossOriginProtection
	echo      *echo.Echo
	stopping  atomic.Bool
	fetching  sync.Map // IDs of the listeners with a call in progress
}

// embedded is the contract and its page, which are the same for all servers of a process.
var embedded = sync.OnceValues(func() (e struct {
	contract *contract
	docs     []byte
}, err error,
) {
	if e.contract, err = loadContract(); err != nil {
		return e, err
	}
	if e.docs, err = renderDocs(e.contract.doc); err != nil {
		return e, fmt.Errorf("render /docs: %w", err)
	}
	return e, nil
})

// New returns a server. It fails only if the contract and the code disagree.
func New(svc *app.App, cfg Config) (*Server, error) {
	own, err := embedded()
	if err != nil {
		return nil, err
	}
	s := &Server{
		service:   svc,
		contract:  own.contract,
		limiter:   newLimiter(cfg.PerSecond),
		admission: newAdmission(),
		within:    cmp.Or(cfg.RequestTimeout, requestWithin),
		log:       cfg.Log,
		metrics:   cfg.Metrics,
		observe:   newRequestObserver(cfg.Registry),
		version:   cfg.Version,
		docs:      own.docs,
		origins:   http.NewCrossOriginProtection(),
	}
	s.room, err = workroom.New(svc, workroom.Config{Log: cfg.Log, Version: cfg.Version, PublicURL: cfg.PublicURL,
		Limits: s.limiter, Stopping: s.stopping.Load, Address: echo.Context.RealIP, RequestID: requestID})
	if err != nil {
		return nil, err
	}
	if s.pages, err = linkpage.New(svc); err != nil {
		return nil, err
	}
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.Binder = binder{}
	e.IPExtractor = addressBehind(cfg.TrustedProxies)
	e.HTTPErrorHandler = s.handleError
	e.Logger.SetOutput(discard{})
	e.Use(
		identify,
		s.route,
		s.record,
		s.recover,
		s.limitTime,
		secureHeaders,
		s.authorize,
		s.preflight,
		s.verifyInbound,
		leadToPage,
		s.admit,
		s.validate,
	)
	RegisterHandlers(e, NewStrictHandler(s, nil))
	s.room.Register(e)
	s.pages.Register(e)
	s.echo = e
	return s, nil
}

// discard drops the log lines of echo, which may quote requests. record and
// handleError log instead.
type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

// ServeHTTP serves a request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.echo.ServeHTTP(w, headAsGet(r)) }

// Limits of a connection. A slower client is disconnected and its request
// cancelled.
const (
	readHeaderTimeout = 5 * time.Second
	readTimeout       = 15 * time.Second
	writeTimeout      = 60 * time.Second
	idleTimeout       = 2 * time.Minute
	maxHeader         = 16 << 10 // bytes
)

// HTTPServer returns a server for addr with limits for slow clients.
func (s *Server) HTTPServer(addr string) *http.Server {
	return &http.Server{
		Addr:              addr,
		Handler:           s,
		ReadHeaderTimeout: readHeaderTimeout,
		ReadTimeout:       readTimeout,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    maxHeader,
		ErrorLog:          slog.NewLogLogger(s.log.Handler(), slog.LevelDebug),
	}
}
