package app

import (
	"context"
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"tapeline/db"
	"tapeline/service"
	"tapeline/service/orders"
)

// durations measures how long drafting and rendering take.
type durations struct {
	drafts  *prometheus.HistogramVec
	renders *prometheus.HistogramVec
}

func newDurations(registry prometheus.Registerer) durations {
	buckets := []float64{.001, .002, .005, .01, .02, .05, .1, .2, .5, 1}
	d := durations{
		drafts: prometheus.NewHistogramVec(prometheus.HistogramOpts{Buckets: buckets,
			Name: "tapeline_draft_duration_seconds",
			Help: "Duration of drafting and proving, by outcome: drafted, refused or failed.",
		}, []string{"outcome"}),
		renders: prometheus.NewHistogramVec(prometheus.HistogramOpts{Buckets: buckets,
			Name: "tapeline_render_duration_seconds",
			Help: "Duration of rendering a file, by format.",
		}, []string{"format"}),
	}
	registry.MustRegister(d.drafts, d.renders)
	return d
}

func (d durations) drafted(took time.Duration, err error) {
	outcome := "drafted"
	if _, ok := errors.AsType[*orders.UndraftedError](err); ok {
		outcome = "refused"
	} else if err != nil {
		outcome = "failed"
	}
	d.drafts.WithLabelValues(outcome).Observe(took.Seconds())
}

func (d durations) rendered(format string, took time.Duration) {
	d.renders.WithLabelValues(format).Observe(took.Seconds())
}

// queueCollector reads the depth and age of the queues when it is scraped: they
// are the same on every replica.
type queueCollector struct {
	store *db.Store
	clock service.Clock
}

// clockAhead reports how far a store's clock is ahead of the machine's.
func clockAhead(store *db.Store) prometheus.Collector {
	return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "tapeline_database_clock_ahead_seconds",
		Help: "Time by which the database's clock, by which the service works, is ahead of this machine's.",
	}, func() float64 { return store.Now().Round(0).Sub(time.Now().Round(0)).Seconds() })
}

// scrapeTimeout limits what a scrape may cost.
const scrapeTimeout = 2 * time.Second

var (
	jobsCount = prometheus.NewDesc("tapeline_queue_jobs", "Jobs that are not finished.", []string{"kind", "state"}, nil)
	jobsAge   = prometheus.NewDesc("tapeline_queue_age_seconds", "Time since the longest waiting job was due.",
		[]string{"kind", "state"}, nil)

	messagesCount = prometheus.NewDesc("tapeline_webhook_messages_pending", "Webhook messages still to be delivered.",
		nil, nil)
	messagesAge = prometheus.NewDesc("tapeline_webhook_messages_pending_age_seconds", "Age of the oldest of them.",
		nil, nil)
	endpointsPaused = prometheus.NewDesc("tapeline_webhook_endpoints_paused",
		"Webhook endpoints that get no messages for a while because they keep failing.", nil, nil)
	ordersCount = prometheus.NewDesc("tapeline_orders_waiting", "Orders accepted and not yet drafted.", nil, nil)
	ordersAge   = prometheus.NewDesc("tapeline_orders_waiting_age_seconds",
		"Time that the longest of them has waited.", nil, nil)
	databaseSize = prometheus.NewDesc("tapeline_database_size_bytes", "Size of the database on disk.", nil, nil)
	keyFits      = prometheus.NewDesc("tapeline_secret_key_fits",
		"1 if TAPELINE_SECRET_KEY has the keys of all stored secrets, 0 if webhooks or links cannot be signed.", nil, nil)
)

// Describe implements prometheus.Collector.
func (c queueCollector) Describe(ch chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{jobsCount, jobsAge, messagesCount, messagesAge, endpointsPaused,
		ordersCount, ordersAge, databaseSize, keyFits} {
		ch <- d
	}
}

// Collect implements prometheus.Collector. It leaves out what the database does
// not answer; /readyz shows that it does not.
func (c queueCollector) Collect(ch chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), scrapeTimeout)
	defer cancel()
	now := c.clock.Now()
	report := func(count, age *prometheus.Desc, n int64, oldest time.Time, labels ...string) {
		seconds := 0.0
		if n > 0 {
			seconds = max(0, now.Sub(oldest).Seconds())
		}
		ch <- prometheus.MustNewConstMetric(count, prometheus.GaugeValue, float64(n), labels...)
		ch <- prometheus.MustNewConstMetric(age, prometheus.GaugeValue, seconds, labels...)
	}
	if jobs, err := c.store.QueuedJobs(ctx); err == nil {
		for _, j := range jobs {
			report(jobsCount, jobsAge, j.Count, j.Oldest, j.Kind, j.State)
		}
	}
	if m, err := c.store.OwedMessages(ctx, now); err == nil {
		report(messagesCount, messagesAge, m.Count, m.Oldest)
		ch <- prometheus.MustNewConstMetric(endpointsPaused, prometheus.GaugeValue, float64(m.Paused))
	}
	if o, err := c.store.WaitingOrders(ctx); err == nil {
		report(ordersCount, ordersAge, o.Count, o.Oldest)
	}
	if size, err := c.store.DatabaseSize(ctx); err == nil {
		ch <- prometheus.MustNewConstMetric(databaseSize, prometheus.GaugeValue, float64(size))
	}
	switch err := c.store.CheckSecrets(ctx); {
	case err == nil:
		ch <- prometheus.MustNewConstMetric(keyFits, prometheus.GaugeValue, 1)
	case errors.Is(err, db.ErrSealed):
		ch <- prometheus.MustNewConstMetric(keyFits, prometheus.GaugeValue, 0)
	}
}
