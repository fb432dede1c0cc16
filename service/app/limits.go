package app

import (
	"github.com/prometheus/client_golang/prometheus"

	"tapeline/service/cache"
	"tapeline/service/work"
)

// limitCounts counts what went over a limit or through the floor.
type limitCounts struct {
	panics *prometheus.CounterVec
	costly prometheus.Counter
}

func newLimitCounts(registry prometheus.Registerer) limitCounts {
	c := limitCounts{
		panics: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tapeline_panics_total",
			Help: "Panics that were recovered, by place: work, proof, request, job or delivery."}, []string{"place"}),
		costly: prometheus.NewCounter(prometheus.CounterOpts{Name: "tapeline_too_costly_total",
			Help: "Drafts, files, lay plans and comparisons that exceeded their budget of processor time or memory."}),
	}
	for _, p := range work.Places() { // so that the first panic of a place is an increase
		c.panics.WithLabelValues(string(p))
	}
	registry.MustRegister(c.panics, c.costly)
	return c
}

func (c limitCounts) panicked(at work.Place) { c.panics.WithLabelValues(string(at)).Inc() }

// cacheCollector reads the counts of caches by their names when it is scraped.
type cacheCollector map[string]func() cache.Stats

var (
	cacheBytes   = prometheus.NewDesc("tapeline_cache_bytes", "Memory of a cache, as estimated.", []string{"cache"}, nil)
	cacheEntries = prometheus.NewDesc("tapeline_cache_entries", "Entries of a cache.", []string{"cache"}, nil)
	cacheHits    = prometheus.NewDesc("tapeline_cache_hits_total", "Look-ups that found their entry.",
		[]string{"cache"}, nil)
	cacheMisses  = prometheus.NewDesc("tapeline_cache_misses_total", "Look-ups that did not.", []string{"cache"}, nil)
	cacheEvicted = prometheus.NewDesc("tapeline_cache_evictions_total", "Entries dropped to make room.",
		[]string{"cache"}, nil)
)

// Describe implements prometheus.Collector.
func (cacheCollector) Describe(ch chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{cacheBytes, cacheEntries, cacheHits, cacheMisses, cacheEvicted} {
		ch <- d
	}
}

// Collect implements prometheus.Collector.
func (c cacheCollector) Collect(ch chan<- prometheus.Metric) {
	for name, stats := range c {
		s := stats()
		report := func(d *prometheus.Desc, t prometheus.ValueType, v float64) {
			ch <- prometheus.MustNewConstMetric(d, t, v, name)
		}
		report(cacheBytes, prometheus.GaugeValue, float64(s.Bytes))
		report(cacheEntries, prometheus.GaugeValue, float64(s.Entries))
		report(cacheHits, prometheus.CounterValue, float64(s.Hits))
		report(cacheMisses, prometheus.CounterValue, float64(s.Misses))
		report(cacheEvicted, prometheus.CounterValue, float64(s.Evicted))
	}
}

// memoryCollector reads the memory that work counts when it is scraped.
type memoryCollector struct{ cores *work.Cores }

var (
	workMemory = prometheus.NewDesc("tapeline_work_memory_bytes",
		"Memory that drafts, files, lay plans and comparisons under way have counted.", nil, nil)
	workMemoryWaiting = prometheus.NewDesc("tapeline_work_memory_waiting",
		"Drafts, files, lay plans and comparisons that wait for memory.", nil, nil)
)

// Describe implements prometheus.Collector.
func (memoryCollector) Describe(ch chan<- *prometheus.Desc) {
	ch <- workMemory
	ch <- workMemoryWaiting
}

// Collect implements prometheus.Collector.
func (c memoryCollector) Collect(ch chan<- prometheus.Metric) {
	use := c.cores.MemoryUse()
	ch <- prometheus.MustNewConstMetric(workMemory, prometheus.GaugeValue, float64(use.Bytes))
	ch <- prometheus.MustNewConstMetric(workMemoryWaiting, prometheus.GaugeValue, float64(use.Waiting))
}
