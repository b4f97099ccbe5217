package jobs

import (
	"context"
	"time"

	"github.com/riverqueue/river"

	"ropewalk.example/internal/privacy"
)

// hourly is the work that comes by itself: to forget what the gyms' rules say.
func hourly() []*river.PeriodicJob {
	return []*river.PeriodicJob{river.NewPeriodicJob(river.PeriodicInterval(time.Hour), func() (river.JobArgs, *river.InsertOpts) {
		return keepArgs{}, &river.InsertOpts{UniqueOpts: river.UniqueOpts{ByPeriod: time.Hour}}
	}, &river.PeriodicJobOpts{RunOnStart: true})}
}

type keepArgs struct{}

func (keepArgs) Kind() string { return "keep_promises" }

// A keepWorker carries out erasures whose time has come and forgets what is old.
type keepWorker struct {
	river.WorkerDefaults[keepArgs]
	privacy *privacy.Privacy
}

// Work goes through every gym. Doing it twice changes nothing.
func (w *keepWorker) Work(ctx context.Context, _ *river.Job[keepArgs]) error {
	if w.privacy == nil {
		return nil
	}
	return w.privacy.Run(ctx)
}
