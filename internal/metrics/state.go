package metrics

import (
	"context"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// A State is what is looked up when somebody asks, and is the same on every
// replica but for the disk. What is not known is zero and not shown.
type State struct {
	Database    bool // it answers
	Schema      int  // newest migration
	JobsWaiting int
	JobsGivenUp int           // in the last days, while the queue remembers them
	JobsLate    time.Duration // how long the job that waits longest has been due

	Backup      time.Time // end of the last verified one
	BackupBytes int64
	DiskFree    uint64    // bytes for the data folder
	Certificate time.Time // its end
}

// lookWithin bounds one look at the state.
const lookWithin = 2 * time.Second

// Watch shows what look finds at each scrape.
func (m *Metrics) Watch(look func(ctx context.Context) State) {
	m.registry.MustRegister(watcher{look})
}

// A watcher looks the state up at each scrape.
type watcher struct{ look func(context.Context) State }

// Describe implements prometheus.Collector. It tells nothing beforehand, since
// what is not known is left out.
func (watcher) Describe(chan<- *prometheus.Desc) {}

// Collect implements prometheus.Collector.
func (w watcher) Collect(to chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), lookWithin)
	defer cancel()
	s := w.look(ctx)
	show := func(known bool, name, help string, value float64) {
		if known {
			desc := prometheus.NewDesc(prometheus.BuildFQName(namespace, "", name), help, nil, nil)
			to <- prometheus.MustNewConstMetric(desc, prometheus.GaugeValue, value)
		}
	}
	up := 0.0
	if s.Database {
		up = 1
	}
	show(true, "database_up", "Whether the database answers.", up)
	show(s.Database, "schema_version", "Newest migration of the database.", float64(s.Schema))
	show(s.Database, "jobs_waiting", "Background work that is due and not begun.", float64(s.JobsWaiting))
	show(s.Database, "jobs_given_up", "Background work that went wrong for good in the last days.", float64(s.JobsGivenUp))
	show(s.Database, "jobs_late_seconds", "How long the work that waits longest has been due.", s.JobsLate.Seconds())
	show(!s.Backup.IsZero(), "backup_verified_timestamp_seconds", "When the last verified backup was made.", float64(s.Backup.Unix()))
	show(!s.Backup.IsZero(), "backup_verified_bytes", "Size of the last verified backup.", float64(s.BackupBytes))
	show(s.DiskFree > 0, "disk_free_bytes", "Room left for the data folder.", float64(s.DiskFree))
	show(!s.Certificate.IsZero(), "certificate_end_timestamp_seconds", "When the server's certificate ends.", float64(s.Certificate.Unix()))
}
