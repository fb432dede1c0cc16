package api

import (
	"encoding/hex"
	"errors"
	"log/slog"
	"net/http"
	"regexp"
	"strconv"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus"

	"tapeline/api/linkpage"
	"tapeline/api/workroom"
	"tapeline/service"
)

// plainRequestID matches the request IDs that are taken from callers. They go
// into the log and into the audit trail, which cannot be changed.
var plainRequestID = regexp.MustCompile(`^[A-Za-z0-9._-]{1,64}$`)

// identify names the request in its answer, the log and the audit trail: by the
// caller's X-Request-Id if that is short and plain, otherwise by a random one.
func identify(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		id := c.Request().Header.Get(echo.HeaderXRequestID)
		if !plainRequestID.MatchString(id) {
			random := uuid.New()
			id = hex.EncodeToString(random[:])
		}
		c.Response().Header().Set(echo.HeaderXRequestID, id)
		return next(c)
	}
}

// requestID returns the ID that identify gave the request.
func requestID(c echo.Context) string { return c.Response().Header().Get(echo.HeaderXRequestID) }

// requestObserver measures requests by operation.
type requestObserver struct {
	seconds *prometheus.HistogramVec
}

func newRequestObserver(registry prometheus.Registerer) requestObserver {
	o := requestObserver{seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
		Name:    "tapeline_request_duration_seconds",
		Help:    "How long requests took to answer, by operation of the contract and status.",
		Buckets: []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 10},
	}, []string{"operation", "status"})}
	registry.MustRegister(o.seconds)
	return o
}

// record logs and measures every request. It logs the operation instead of the URL,
// which may contain references and signatures.
func (s *Server) record(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		start := time.Now()
		if err := next(c); err != nil {
			s.handleError(err, c)
		}
		took := time.Since(start)
		op, status := operationOf(c).id, c.Response().Status
		if workroom.Serves(c.Path()) || linkpage.Serves(c.Path()) {
			op = c.Path() // of a page, with names in place of IDs
		}
		s.observe.seconds.WithLabelValues(op, strconv.Itoa(status)).Observe(took.Seconds())
		level := slog.LevelInfo
		if op == "getHealth" || op == "getReadiness" || op == "getMetrics" {
			level = slog.LevelDebug
		}
		attrs := []slog.Attr{
			slog.String("method", method(c.Request())),
			slog.String("operation", op),
			slog.Int("status", status),
			slog.Float64("duration_ms", float64(took.Microseconds())/1000),
			slog.Int64("bytes", c.Response().Size),
			slog.String("request_id", requestID(c)),
		}
		if caller, ok := c.Get(callerContextKey).(service.Caller); ok {
			attrs = append(attrs, slog.String("key_id", caller.Key.String()))
		}
		s.log.LogAttrs(c.Request().Context(), level, "request", attrs...)
		return nil
	}
}

// method returns a known method for the log.
func method(r *http.Request) string {
	if isHead(r.Context()) {
		return http.MethodHead
	}
	switch r.Method {
	case http.MethodGet, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete,
		http.MethodOptions:
		return r.Method
	default:
		return "other"
	}
}

// recover turns a panic into an internal error. It logs the type and the stack, not
// the value, which may contain a measurement.
func (s *Server) recover(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) (err error) {
		defer func() {
			if v := recover(); v != nil {
				if cause, ok := v.(error); ok && errors.Is(cause, http.ErrAbortHandler) {
					panic(v)
				}
				err = s.service.Recovered(c.Request().Context(), v)
			}
		}()
		return next(c)
	}
}

// secureHeaders sets headers for an API that browsers do not use. The page at /docs
// has its own policy.
func secureHeaders(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Strict-Transport-Security", "max-age=31536000")
		h.Set("Cache-Control", "no-store")
		return next(c)
	}
}
