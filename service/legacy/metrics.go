package legacy

import (
	"context"
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"tapeline/db"
)

// metrics are what an operator watches beside requests.
type metrics struct {
	draftSeconds  *prometheus.HistogramVec
	renderSeconds *prometheus.HistogramVec
	attempts      *prometheus.CounterVec
}

func newMetrics(registry prometheus.Registerer, store *db.Store) metrics {
	m := metrics{
		draftSeconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name:    "tapeline_draft_duration_seconds",
			Help:    "How long drafting and proving took, by outcome: drafted, refused or failed.",
			Buckets: []float64{.001, .002, .005, .01, .02, .05, .1, .2, .5, 1},
		}, []string{"outcome"}),
		renderSeconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name:    "tapeline_render_duration_seconds",
			Help:    "How long making a file took, by format.",
			Buckets: []float64{.001, .002, .005, .01, .02, .05, .1, .2, .5, 1},
		}, []string{"format"}),
		attempts: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "tapeline_webhook_attempts_total",
			Help: "Attempts at delivering webhook messages, by outcome.",
		}, []string{"outcome"}),
	}
	registry.MustRegister(m.draftSeconds, m.renderSeconds, m.attempts, newQueueCollector(store))
	return m
}

func (m metrics) drafted(took time.Duration, err error) {
	outcome := "drafted"
	if _, ok := errors.AsType[*undrafted](err); ok {
		outcome = "refused"
	} else if err != nil {
		outcome = "failed"
	}
	m.draftSeconds.WithLabelValues(outcome).Observe(took.Seconds())
}

func (m metrics) rendered(format string, took time.Duration) {
	m.renderSeconds.WithLabelValues(format).Observe(took.Seconds())
}

func (m metrics) attempted(outcome string) { m.attempts.WithLabelValues(outcome).Inc() }

// queueCollector reads depth and age of the queues when it is asked: they are
// the same on every replica.
type queueCollector struct {
	store                        *db.Store
	depth, age, owed, oldestOwed *prometheus.Desc
	waiting, oldestWaiting       *prometheus.Desc
}

// scrapeTimeout bounds what a scrape may cost.
const scrapeTimeout = 2 * time.Second

func newQueueCollector(store *db.Store) *queueCollector {
	return &queueCollector{
		store:         store,
		depth:         prometheus.NewDesc("tapeline_queue_jobs", "Jobs that are not finished.", []string{"kind", "state"}, nil),
		age:           prometheus.NewDesc("tapeline_queue_age_seconds", "How long the longest waiting job is due.", []string{"kind", "state"}, nil),
		owed:          prometheus.NewDesc("tapeline_webhook_messages_pending", "Webhook messages still to be delivered.", nil, nil),
		oldestOwed:    prometheus.NewDesc("tapeline_webhook_messages_pending_age_seconds", "Age of the oldest of them.", nil, nil),
		waiting:       prometheus.NewDesc("tapeline_orders_waiting", "Orders accepted and not yet drafted.", nil, nil),
		oldestWaiting: prometheus.NewDesc("tapeline_orders_waiting_age_seconds", "How long the longest of them waits.", nil, nil),
	}
}

func (c *queueCollector) Describe(ch chan<- *prometheus.Desc) {
	ch <- c.depth
	ch <- c.age
	ch <- c.owed
	ch <- c.oldestOwed
	ch <- c.waiting
	ch <- c.oldestWaiting
}

func (c *queueCollector) Collect(ch chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), scrapeTimeout)
	defer cancel()
	now := time.Now()
	// A database that does not answer leaves these out; that it does not answer shows in /readyz.
	jobs, err := c.store.QueuedJobs(ctx)
	if err != nil {
		return
	}
	for _, j := range jobs {
		ch <- prometheus.MustNewConstMetric(c.depth, prometheus.GaugeValue, float64(j.Count), j.Kind, j.State)
		ch <- prometheus.MustNewConstMetric(c.age, prometheus.GaugeValue, max(0, now.Sub(j.Oldest).Seconds()), j.Kind, j.State)
	}
	for _, backlog := range [...]struct {
		count, age *prometheus.Desc
		read       func(context.Context) (int64, time.Time, error)
	}{
		{c.owed, c.oldestOwed, c.store.OwedMessages},
		{c.waiting, c.oldestWaiting, c.store.WaitingOrders},
	} {
		count, oldest, err := backlog.read(ctx)
		if err != nil {
			return
		}
		age := 0.0
		if count > 0 {
			age = max(0, now.Sub(oldest).Seconds())
		}
		ch <- prometheus.MustNewConstMetric(backlog.count, prometheus.GaugeValue, float64(count))
		ch <- prometheus.MustNewConstMetric(backlog.age, prometheus.GaugeValue, age)
	}
}
