package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/pprof"
	"os"
	"runtime"
	"runtime/debug"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"tapeline/api"
	"tapeline/service/app"
)

const serveAbout = `
Serves the API and works on its jobs until it is interrupted; then it finishes or hands
back its requests and jobs. Any number of servers may run on one database. /docs
documents the API; "tapeline keys add" adds the first key.
` + secretKeyAbout

func runServe(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	var s settings
	fs := newFlags("serve", "[flags]", serveAbout, stderr)
	s.serveFlags(fs)
	if code, ok := parseSettings(fs, &s, args, stderr); !ok {
		return code
	}
	log := newLogger(stderr, s.LogLevel)
	addProcessor()
	running, err := start(ctx, s, log)
	if err != nil {
		log.Error("cannot serve", "error", err)
		return exitFaults
	}
	fmt.Fprintf(stdout, "tapeline serves http://%s (documentation at /docs)\n", running.addr)
	var failed error
	select {
	case <-ctx.Done():
		log.Info("stopping")
		time.Sleep(running.beginStop())
	case failed = <-running.failed:
		log.Error("stopped serving", "error", failed)
	}
	if err := running.stop(ctx); err != nil {
		log.Error("not everything ended in time", "error", err)
		return exitFaults
	}
	if failed != nil {
		return exitFaults
	}
	log.Info("stopped")
	return exitDone
}

// addProcessor gives Go one processor more than the machine has. The schedule of work
// keeps one free for handlers, and the operating system lets these go first; without it
// orders would leave a processor of the machine idle. GOMAXPROCS in the environment is
// left as it is.
func addProcessor() {
	if os.Getenv("GOMAXPROCS") == "" {
		runtime.GOMAXPROCS(runtime.GOMAXPROCS(0) + 1)
	}
}

// running is a server at work.
type running struct {
	settings settings
	addr     net.Addr
	service  *app.App
	api      *api.Server
	database *app.Database
	servers  []*http.Server
	failed   chan error // a listener that ended by itself

	requests       context.Context //nolint:containedctx // of all requests: http.Server asks for it
	cancelRequests context.CancelFunc
}

// A draft and its PDF leave much behind that dies at once. The collector runs
// less often than by default, up to a limit well under what the
// service promises to stay below; GOGC and GOMEMLIMIT are heeded.
const (
	collectAt   = 400       // percent of what lives
	memoryLimit = 160 << 20 // bytes
)

func tuneCollector() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(collectAt)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(memoryLimit)
	}
}

// publicURL returns the address of a server as callers on this machine see it.
func publicURL(addr net.Addr) string {
	host, port, err := net.SplitHostPort(addr.String())
	if ip := net.ParseIP(host); err == nil && ip.IsUnspecified() {
		return "http://" + net.JoinHostPort("127.0.0.1", port)
	}
	return "http://" + addr.String()
}

// start takes the port, opens the database, brings a private one up to date, and
// serves.
func start(ctx context.Context, s settings, log *slog.Logger) (_ *running, err error) {
	tuneCollector()
	r := &running{settings: s, failed: make(chan error, 2)}
	r.requests, r.cancelRequests = context.WithCancel(context.WithoutCancel(ctx))
	listener, err := net.Listen("tcp", s.Addr)
	if err != nil {
		return nil, err
	}
	r.addr = listener.Addr()
	if s.PublicURL == "" {
		s.PublicURL = publicURL(r.addr)
	}
	if r.database, err = s.openDatabase(ctx, log, true); err != nil {
		return nil, errors.Join(err, listener.Close())
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, listener.Close(), r.stop(ctx))
		}
	}()
	if s.Database != "" && !s.secrets.Sealing() {
		log.Warn("TAPELINE_SECRET_KEY is not set: secrets are stored unencrypted")
	}
	if s.Migrate || r.database.Private() {
		if _, err := r.database.Migrate(ctx); err != nil {
			return nil, err
		}
	}
	registry := prometheus.NewRegistry()
	registry.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	metrics := promhttp.HandlerFor(registry, promhttp.HandlerOpts{ErrorHandling: promhttp.ContinueOnError})
	r.service, err = r.database.Open(app.Config{
		Log: log, Registry: registry, Version: version(), PublicURL: s.PublicURL, PrivateWebhooks: s.PrivateWebhooks,
		DraftWorkers: s.DraftWorkers, WorkTime: s.WorkTime, WorkMemory: s.WorkMemory << 20, Memory: s.Memory << 20,
		JobTimeout: s.JobTimeout, DeliverWorkers: s.DeliverWorkers,
	})
	if err != nil {
		return nil, err
	}
	if err := r.service.Ready(ctx); err != nil {
		return nil, err
	}
	config := api.Config{Log: log, Registry: registry, PerSecond: s.Rate, Metrics: metrics, Version: version(),
		PublicURL: s.PublicURL, TrustedProxies: s.TrustedProxies}
	if s.MetricsAddr != "" {
		config.Metrics = nil
	}
	if r.api, err = api.New(r.service, config); err != nil {
		return nil, err
	}
	// Jobs outlive the context that asks us to stop: stop ends them in order.
	if err := r.service.Start(context.WithoutCancel(ctx)); err != nil {
		return nil, err
	}
	if s.MetricsAddr != "" {
		metricsListener, err := net.Listen("tcp", s.MetricsAddr)
		if err != nil {
			return nil, err
		}
		r.serve(metricsListener, &http.Server{Handler: operations(metrics), ReadHeaderTimeout: 5 * time.Second})
	}
	r.serve(listener, r.api.HTTPServer(s.Addr))
	return r, nil
}

// operations serves the operator's own address: metrics and profiles.
func operations(metrics http.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", metrics)
	mux.HandleFunc("GET /debug/pprof/", pprof.Index)
	mux.HandleFunc("GET /debug/pprof/profile", pprof.Profile)
	mux.HandleFunc("GET /debug/pprof/trace", pprof.Trace)
	return mux
}

// serve begins to serve.
func (r *running) serve(listener net.Listener, server *http.Server) {
	server.BaseContext = func(net.Listener) context.Context { return r.requests }
	r.servers = append(r.servers, server)
	go func() {
		if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			r.failed <- err
		}
	}()
}

// beginStop makes /readyz say no, and tells how long to go on serving.
func (r *running) beginStop() time.Duration {
	r.api.Stopping()
	return r.settings.Drain
}

// stop ends requests first, then jobs, then the database. It cancels requests after
// half of the grace; they get 503. What does not end within the grace is broken
// off: its transaction is rolled back and its job goes back to the queue.
func (r *running) stop(ctx context.Context) error {
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), r.settings.Grace)
	defer cancel()
	defer r.cancelRequests()
	defer time.AfterFunc(r.settings.Grace/2, r.cancelRequests).Stop()
	var errs []error
	for _, server := range r.servers {
		if err := server.Shutdown(grace); err != nil {
			errs = append(errs, err, server.Close())
		}
	}
	if r.service != nil {
		errs = append(errs, r.service.Stop(grace))
	}
	return errors.Join(append(errs, r.database.Close(ctx))...)
}

// version returns the tag or commit that the program was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			return s.Value[:min(12, len(s.Value))]
		}
	}
	return "devel"
}
