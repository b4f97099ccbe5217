// Package metrics keeps the figures by which operators see how a server runs:
// what was asked of it, how long it and its database took, what waits. Figures
// hold no name and no id; what labels them comes from short lists. It imports
// the Prometheus client and pgx, and nothing of ours.
package metrics

import (
	"runtime"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
)

// Metrics are the figures of one program. A nil *Metrics counts nothing, so
// that tests and commands need none.
type Metrics struct {
	registry *prometheus.Registry

	requests *prometheus.CounterVec
	took     *prometheus.HistogramVec
	inFlight prometheus.Gauge
	boards   *prometheus.GaugeVec
	signIns  *prometheus.CounterVec
	outbox   *prometheus.CounterVec

	trips   *prometheus.HistogramVec
	queries prometheus.Counter
	faults  *prometheus.CounterVec

	jobs    *prometheus.CounterVec
	working *prometheus.HistogramVec
	plans   prometheus.Counter
	plan    prometheus.Histogram
}

// New returns figures that are all zero. version names this build.
func New(version string) *Metrics {
	m := &Metrics{registry: prometheus.NewRegistry()}
	m.requests = counters("http_requests_total", "Requests answered.", "route", "method", "status")
	m.took = histograms("http_request_duration_seconds", "Time until a request was answered.", answering(), "route", "method")
	m.inFlight = prometheus.NewGauge(prometheus.GaugeOpts{Namespace: namespace, Name: "http_requests_in_flight", Help: "Requests being answered."})
	m.boards = prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: namespace, Name: "live_boards", Help: "Pages of class hours that are kept up to date."}, []string{"board"})
	m.signIns = counters("sign_ins_total", "Tries to sign in.", "outcome")
	m.outbox = counters("outbox_entries_total", "Entries that phones had kept, by what became of them.", "kind", "answer")
	m.trips = histograms("database_trip_duration_seconds", "Time of a round trip to the database.", answering(), "kind")
	m.queries = counter("database_queries_total", "Statements sent to the database.")
	m.faults = counters("database_errors_total", "Errors of the database by the class of their SQLSTATE.", "class")
	m.jobs = counters("jobs_total", "Background work that ended here.", "kind", "outcome")
	m.working = histograms("job_duration_seconds", "Time that background work took.", working(), "kind")
	m.plans = counter("plans_total", "Plans composed.")
	m.plan = prometheus.NewHistogram(prometheus.HistogramOpts{Namespace: namespace, Name: "plan_duration_seconds",
		Help: "Time to compose the plans of a class, without the database.", Buckets: answering()})
	build := prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: namespace, Name: "build_info", Help: "Always 1; the labels say which program this is."},
		[]string{"version", "goversion"})
	build.WithLabelValues(version, runtime.Version()).Set(1)
	m.registry.MustRegister(m.requests, m.took, m.inFlight, m.boards, m.signIns, m.outbox, m.trips, m.queries, m.faults,
		m.jobs, m.working, m.plans, m.plan, build,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// Registry returns what a scrape gathers from.
func (m *Metrics) Registry() *prometheus.Registry { return m.registry }

const namespace = "ropewalk"

// answering are the bounds of the time in which people wait, in seconds. They
// are few, since each is a series for each route.
func answering() []float64 { return []float64{0.01, 0.05, 0.25, 1, 5} }

// working are the bounds of the time that background work takes, in seconds.
func working() []float64 { return []float64{0.1, 1, 10, 60, 600} }

func counter(name, help string) prometheus.Counter {
	return prometheus.NewCounter(prometheus.CounterOpts{Namespace: namespace, Name: name, Help: help})
}

func counters(name, help string, labels ...string) *prometheus.CounterVec {
	return prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: namespace, Name: name, Help: help}, labels)
}

func histograms(name, help string, bounds []float64, labels ...string) *prometheus.HistogramVec {
	return prometheus.NewHistogramVec(prometheus.HistogramOpts{Namespace: namespace, Name: name, Help: help, Buckets: bounds}, labels)
}
