// Package legacy holds the use cases of tapeline: what a shop, its staff and
// an operator can do, and the rules of doing it. It knows no HTTP and no SQL.
//
// A change of state, the job that follows from it and the message that tells
// of it are written in one transaction, always.
package legacy

import (
	"context"
	"log/slog"
	"time"

	"tapeline/service/customers"
	"tapeline/service/patterns"

	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus"

	"tapeline/db"
	"tapeline/service"
	"tapeline/service/orders"
	"tapeline/service/styles"
	"tapeline/service/work"
)

// Config is what a Service needs beside its store.
type Config struct {
	Log       *slog.Logger
	Registry  prometheus.Registerer
	Version   string // of the program, kept with every draft as its engine
	PublicURL string // of the API as its callers see it, without a slash at the end

	Clock service.Clock
	Cores *work.Cores
	Jobs  *work.Jobs

	Styles *styles.Service
}

// Service is all use cases on one store.
type Service struct {
	Customers *customers.Service
	Patterns  *patterns.Service

	store   *db.Store
	cfg     Config
	log     *slog.Logger
	jobs    *work.Jobs
	measure metrics
	cores   *work.Cores

	Orders *orders.Service
}

// New makes a Service and registers its jobs.
func New(store *db.Store, cfg Config) *Service {
	s := &Service{store: store, cfg: cfg, log: cfg.Log, cores: cfg.Cores, jobs: cfg.Jobs}
	s.measure = newMetrics(cfg.Registry)
	s.Patterns = patterns.New(store, patterns.Config{Clock: cfg.Clock, Cores: cfg.Cores, Version: cfg.Version,
		PublicURL: cfg.PublicURL, Rendered: s.measure.rendered})
	s.Orders = orders.New(store, orders.Config{Clock: cfg.Clock, Cores: cfg.Cores, Jobs: cfg.Jobs, Log: cfg.Log, Version: cfg.Version,
		PublicURL: cfg.PublicURL, Styles: cfg.Styles, Patterns: s.Patterns, Drafted: s.measure.drafted})
	s.Customers = customers.New(store, cfg.Clock, s, s.Orders)
	s.registerJobs()
	return s
}

// now is the time to stamp one use case with, as precise as Postgres keeps it.
func (s *Service) now() time.Time { return s.cfg.Clock.Now() }

func (s *Service) newID() uuid.UUID { return s.cfg.Clock.NewID() }

// onCore runs work that a caller or an order waits for.
func (s *Service) onCore(ctx context.Context, do func() error) error {
	return s.cores.Do(ctx, work.Request, uuid.Nil, func(context.Context) error { return do() })
}

// onIdleCore runs work in bulk, in steps of a few milliseconds.
func (s *Service) onIdleCore(ctx context.Context, do func() error) error {
	return s.cores.Do(ctx, work.Bulk, uuid.Nil, func(context.Context) error { return do() })
}

func Unavailable(err error) bool { return service.Unavailable(err) }

func optional[T comparable](v T) *T { return service.Optional(v) }
