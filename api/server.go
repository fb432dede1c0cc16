// Package api is the HTTP face of tapeline: handlers generated from
// openapi.yaml, and around them what HTTP asks for: keys and roles, limits,
// validation, problem documents, logs and metrics. It holds no rule of the
// business and no SQL.
package api

import (
	"fmt"
	"log/slog"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus"

	"tapeline/service/app"
)

// Config is what a Server needs to know.
type Config struct {
	Log       *slog.Logger
	Registry  prometheus.Registerer
	PerSecond float64      // requests a second for each key; 0 is no limit
	Metrics   http.Handler // what /metrics gives; nil: it is served elsewhere
	Version   string
}

// Server answers the API.
type Server struct {
	service  *app.App
	contract *contract
	limiter  *limiter
	log      *slog.Logger
	metrics  http.Handler
	observe  requestObserver
	version  string
	docs     []byte
	echo     *echo.Echo
	stopping atomic.Bool
}

// New makes the server. It fails only when the contract and the code disagree.
func New(svc *app.App, cfg Config) (*Server, error) {
	contract, err := loadContract()
	if err != nil {
		return nil, err
	}
	docs, err := renderDocs(contract.doc)
	if err != nil {
		return nil, fmt.Errorf("render /docs: %w", err)
	}
	s := &Server{
		service:  svc,
		contract: contract,
		limiter:  newLimiter(cfg.PerSecond),
		log:      cfg.Log,
		metrics:  cfg.Metrics,
		observe:  newRequestObserver(cfg.Registry),
		version:  cfg.Version,
		docs:     docs,
	}
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.Binder = binder{}
	e.HTTPErrorHandler = s.handleError
	e.Logger.SetOutput(discard{})
	e.Use(
		identify,
		s.route,
		s.record,
		s.recover,
		secureHeaders,
		s.authorize,
		s.verifyInbound,
		s.validate,
	)
	RegisterHandlers(e, NewStrictHandler(s, nil))
	s.echo = e
	return s, nil
}

// discard takes echo's own log lines, which may quote requests; what matters
// is logged by record and handleError.
type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.echo.ServeHTTP(w, r) }

// Limits of a connection: a client that sends or reads slower than this is
// let go, and what it had begun with it.
const (
	readHeaderTimeout = 5 * time.Second
	readTimeout       = 15 * time.Second
	writeTimeout      = 60 * time.Second
	idleTimeout       = 2 * time.Minute
	maxHeader         = 16 << 10 // bytes
)

// HTTPServer is the net/http server for addr with its limits set.
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
