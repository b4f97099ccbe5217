package metrics

import (
	"strconv"
	"time"
)

// elsewhere is the route of a request that fits none, and the method of one
// that no page has.
const elsewhere = "other"

// Begin counts a request that is being answered; the returned function ends it.
func (m *Metrics) Begin() (end func()) {
	if m == nil {
		return func() {}
	}
	m.inFlight.Inc()
	return m.inFlight.Dec
}

// Answered counts a request. route is the pattern it fits, empty for none.
func (m *Metrics) Answered(route, method string, status int, took time.Duration) {
	if m == nil {
		return
	}
	switch method {
	case "GET", "HEAD", "POST":
	default:
		route, method = elsewhere, elsewhere
	}
	if route == "" {
		route = elsewhere
	}
	m.requests.WithLabelValues(route, method, strconv.Itoa(status/100)+"xx").Inc()
	m.took.WithLabelValues(route, method).Observe(took.Seconds())
}

// Board counts a page of a class hour that is kept up to date; the returned
// function ends it. kind is the route that keeps it so.
func (m *Metrics) Board(kind string) (end func()) {
	if m == nil {
		return func() {}
	}
	gauge := m.boards.WithLabelValues(kind)
	gauge.Inc()
	return gauge.Dec
}

// SignIn counts a try to sign in.
func (m *Metrics) SignIn(well bool) {
	if m == nil {
		return
	}
	outcome := "refused"
	if well {
		outcome = "in"
	}
	m.signIns.WithLabelValues(outcome).Inc()
}

// OutboxEntry counts what became of an entry that a phone had kept. The caller
// names kinds and answers from its own short lists; known says that the kind is
// on it.
func (m *Metrics) OutboxEntry(kind, answer string, known bool) {
	if m == nil {
		return
	}
	if !known {
		kind = elsewhere
	}
	m.outbox.WithLabelValues(kind, answer).Inc()
}
