package legacy

import (
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"tapeline/service/orders"
)

// metrics are what an operator watches beside requests.
type metrics struct {
	draftSeconds  *prometheus.HistogramVec
	renderSeconds *prometheus.HistogramVec
}

func newMetrics(registry prometheus.Registerer) metrics {
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
	}
	registry.MustRegister(m.draftSeconds, m.renderSeconds)
	return m
}

func (m metrics) drafted(took time.Duration, err error) {
	outcome := "drafted"
	if _, ok := errors.AsType[*orders.UndraftedError](err); ok {
		outcome = "refused"
	} else if err != nil {
		outcome = "failed"
	}
	m.draftSeconds.WithLabelValues(outcome).Observe(took.Seconds())
}

func (m metrics) rendered(format string, took time.Duration) {
	m.renderSeconds.WithLabelValues(format).Observe(took.Seconds())
}
