package metrics

import "time"

// How background work ends.
const (
	Done    = "done"
	Retried = "retried"  // it went wrong and is tried again
	GivenUp = "given_up" // it went wrong for the last time
	Stopped = "stopped"  // somebody took it back
)

// Job counts background work that ended here.
func (m *Metrics) Job(kind, outcome string, took time.Duration) {
	if m == nil {
		return
	}
	m.jobs.WithLabelValues(kind, outcome).Inc()
	m.working.WithLabelValues(kind).Observe(took.Seconds())
}

// Planned counts the plans that were composed for a class.
func (m *Metrics) Planned(plans int, took time.Duration) {
	if m == nil {
		return
	}
	m.plans.Add(float64(plans))
	m.plan.Observe(took.Seconds())
}
