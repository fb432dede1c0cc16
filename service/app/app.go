// Package app puts the use cases together: it opens them on one store, and
// starts and stops the jobs that they share.
package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus"

	"tapeline/db"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/customers"
	"tapeline/service/fittings"
	"tapeline/service/orders"
	"tapeline/service/patterns"
	"tapeline/service/refits"
	"tapeline/service/styles"
	"tapeline/service/webhooks"
	"tapeline/service/work"
)

// Config says how an App runs.
type Config struct {
	Log       *slog.Logger
	Registry  prometheus.Registerer
	Version   string // of the program, stored with every draft as its engine
	PublicURL string // of the API as its callers see it

	// PrivateWebhooks allows endpoints at private addresses and without TLS.
	// For development only.
	PrivateWebhooks bool

	DraftWorkers   int           // drafts at once; 0: two a processor
	DeliverWorkers int           // webhook deliveries at once; 0: 256
	JobTimeout     time.Duration // longest time that a job may run; 0: 40 seconds
	WorkTime       time.Duration // processor time of a draft, a file or a lay plan; 0: 2 seconds
	WorkMemory     int           // bytes that one may count; 0: 64 MB
	Memory         int           // bytes that all may count together, at least WorkMemory; 0: 128 MB
	Retention      Retention

	Now   func() time.Time // nil: the database's clock
	NewID func() uuid.UUID // nil: UUID version 7
}

// defaultDeliverWorkers is how many deliveries run at once unless Config says
// otherwise: they mostly wait.
const defaultDeliverWorkers = 256

// App has all use cases on one store, by subject.
type App struct {
	Access    *access.Service
	Customers *customers.Service
	Styles    *styles.Service
	Orders    *orders.Service
	Patterns  *patterns.Service
	Refits    *refits.Service
	Fittings  *fittings.Service
	Webhooks  *webhooks.Service

	store     *db.Store
	log       *slog.Logger
	clock     service.Clock
	jobs      *work.Jobs
	cores     *work.Cores
	retention Retention
	checked   atomic.Bool // schema and secrets were found right

	unfollow  context.CancelFunc // ends the following of the database's clock
	following sync.WaitGroup
}

// Open returns the use cases on a store. Their jobs run between Start and Stop.
func Open(store *db.Store, cfg Config) (*App, error) {
	if cfg.DeliverWorkers == 0 {
		cfg.DeliverWorkers = defaultDeliverWorkers
	}
	cfg.PublicURL = strings.TrimSuffix(cfg.PublicURL, "/")
	if cfg.Now == nil {
		cfg.Now = store.Now
	}
	clock := service.Clock{Time: cfg.Now, ID: cfg.NewID}
	limits := newLimitCounts(cfg.Registry)
	cores := work.NewCores(work.Options{Processors: runtime.GOMAXPROCS(0), Memory: cfg.Memory,
		Budget: work.Budget{Time: cfg.WorkTime, Memory: cfg.WorkMemory}, Log: cfg.Log,
		Panicked: limits.panicked, Exceeded: limits.costly.Inc})
	jobs, err := work.NewJobs(store, work.JobOptions{Log: cfg.Log, Clock: clock, DraftWorkers: cfg.DraftWorkers,
		JobTimeout: cfg.JobTimeout, Panicked: limits.panicked})
	if err != nil {
		return nil, err
	}
	a := &App{store: store, log: cfg.Log, clock: clock, jobs: jobs, cores: cores, retention: cfg.Retention,
		Access: access.New(store, clock)}
	a.Styles = styles.New(store, styles.Config{Log: cfg.Log, Version: cfg.Version, Clock: clock, Cores: cores, Jobs: jobs})
	times := newDurations(cfg.Registry)
	a.Patterns = patterns.New(store, patterns.Config{Clock: clock, Cores: cores, Version: cfg.Version,
		PublicURL: cfg.PublicURL, Rendered: times.rendered})
	a.Orders = orders.New(store, orders.Config{Clock: clock, Cores: cores, Jobs: jobs, Log: cfg.Log,
		Version: cfg.Version, PublicURL: cfg.PublicURL, Styles: a.Styles, Patterns: a.Patterns, Drafted: times.drafted})
	a.Customers = customers.New(store, clock, garments{store, a.Styles}, a.Orders)
	a.Fittings = fittings.New(store, fittings.Config{Clock: clock, Cores: cores, Jobs: jobs, Log: cfg.Log,
		Version: cfg.Version, Orders: a.Orders, Patterns: a.Patterns})
	a.Refits = refits.New(store, refits.Config{Clock: clock, Cores: cores, Jobs: jobs, Log: cfg.Log,
		Version: cfg.Version, Styles: a.Styles, Patterns: a.Patterns, Orders: a.Orders, Fittings: a.Fittings})
	a.Webhooks = webhooks.New(webhooks.Config{Store: store, Clock: clock, Log: cfg.Log, Registry: cfg.Registry,
		PublicURL: cfg.PublicURL, Workers: cfg.DeliverWorkers, AllowPrivate: cfg.PrivateWebhooks,
		Recovered: func(ctx context.Context, v any) error { return cores.Recovered(ctx, work.AtDelivery, v) }})
	a.registerRetention()
	cfg.Registry.MustRegister(queueCollector{store, clock}, clockAhead(store), memoryCollector{cores}, cacheCollector{
		"patterns": a.Patterns.CacheStats, "styles": a.Styles.CacheStats})
	return a, nil
}

// Start begins to work on jobs and to deliver webhook messages, until Stop.
func (a *App) Start(ctx context.Context) error {
	follow, cancel := context.WithCancel(ctx)
	a.unfollow = cancel
	a.following.Go(func() { a.store.FollowClock(follow) })
	if err := a.jobs.Start(ctx); err != nil {
		return err
	}
	a.Webhooks.Start(ctx)
	return nil
}

// Now returns the service's time, which is the database's.
func (a *App) Now() time.Time { return a.clock.Now() }

// Stop stops taking work and waits for what is under way. If ctx ends first,
// jobs are cancelled and go back to the queue, and messages stay pending.
func (a *App) Stop(ctx context.Context) error {
	var delivered error
	var wait sync.WaitGroup
	wait.Go(func() { delivered = a.Webhooks.Stop(ctx) })
	a.Fittings.Stop()
	err := a.jobs.Stop(ctx)
	wait.Wait()
	if a.unfollow != nil {
		a.unfollow()
		a.following.Wait()
	}
	return errors.Join(err, delivered)
}

// Recovered logs and counts a panic that a handler recovered. It is called by the
// deferred function that recovered it.
func (a *App) Recovered(ctx context.Context, v any) error {
	return a.cores.Recovered(ctx, work.AtRequest, v)
}

// Ready reports why the service could not serve: the database does not answer, its
// schema is not up to date, or its secrets are sealed with another key. Once it is
// ready, only the first is checked: no release takes a migration back while it
// serves.
func (a *App) Ready(ctx context.Context) error {
	if err := a.store.Ping(ctx); err != nil {
		return err
	}
	if a.checked.Load() {
		return nil
	}
	pending, err := db.Pending(ctx, a.store.Pool())
	if err == nil && len(pending) > 0 {
		err = fmt.Errorf("%d migrations are pending: run tapeline migrate", len(pending))
	}
	if err == nil {
		err = a.store.CheckSecrets(ctx)
	}
	a.checked.Store(err == nil)
	return err
}
