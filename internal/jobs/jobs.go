// Package jobs does work in the background, in order, on as many machines as run
// the program: it makes the files that people asked for and removes them in time,
// and forgets by the hour what package privacy says. The queue lives in the
// database, so that work goes on where a machine stopped. It wires package
// reporting to package report.
package jobs

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivertype"

	"ropewalk.example/internal/metrics"
	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/privacy"
	"ropewalk.example/internal/report"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
)

// Schema is where the queue keeps its tables.
const Schema = "river"

// How a file is made: two at a time on a machine, each tried three times, none
// longer than anybody would wait.
const (
	connections = 3
	workers     = 2
	tries       = 3
	longestWork = 20 * time.Minute
)

// Options are what a queue works with. All but Asleep, Privacy, Metrics and Voices are required.
type Options struct {
	Store     *store.Store
	Reporting *reporting.Reporting
	Privacy   *privacy.Privacy
	Log       *slog.Logger
	Metrics   *metrics.Metrics
	Voices    map[string]report.Voice // languages of PDF files beside English, by tag
	// Asleep lets this program put work into the queue and do none of it.
	Asleep bool
}

// Jobs is the queue as this program sees it.
type Jobs struct {
	client  *river.Client[pgx.Tx]
	pool    *pgxpool.Pool
	metrics *metrics.Metrics
	asleep  bool
	counted chan struct{} // closed when all that ended here is counted
}

// New returns a queue that does nothing before Start. It sets Queue of the
// reporting that it works for.
func New(ctx context.Context, o Options) (*Jobs, error) {
	letters, err := paper.OpenLetters()
	if err != nil {
		return nil, err
	}
	// A few connections of its own: waiting for work must not keep pages waiting.
	pool, err := o.Store.SessionPool(ctx, connections)
	if err != nil {
		return nil, err
	}
	j := &Jobs{pool: pool, metrics: o.Metrics, asleep: o.Asleep, counted: make(chan struct{})}
	o.Metrics.Pool("jobs", pool.Stat)
	register := river.NewWorkers()
	river.AddWorker(register, &fileWorker{jobs: j, reporting: o.Reporting, letters: letters, voices: o.Voices, log: o.Log})
	river.AddWorker(register, &forgetWorker{reporting: o.Reporting})
	river.AddWorker(register, &keepWorker{privacy: o.Privacy})
	settings := &river.Config{
		Schema:               Schema,
		Workers:              register,
		Logger:               o.Log,
		JobTimeout:           longestWork,
		RescueStuckJobsAfter: longestWork + time.Minute,
		MaxAttempts:          tries,
		ReindexerIndexNames:  []string{}, // the app's role owns no index
		SoftStopTimeout:      5 * time.Second,
		PeriodicJobs:         hourly(),
	}
	if !o.Asleep {
		settings.Queues = map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: workers}}
	}
	if j.client, err = river.NewClient(riverpgxv5.New(pool), settings); err != nil {
		pool.Close()
		return nil, fmt.Errorf("preparing the queue: %w", err)
	}
	o.Reporting.Queue = j.queueFile
	return j, nil
}

// Start begins to work. A program that is asleep only puts work in.
func (j *Jobs) Start(ctx context.Context) error {
	if j.asleep {
		return nil
	}
	ended, _ := j.client.Subscribe(river.EventKindJobCompleted, river.EventKindJobFailed, river.EventKindJobCancelled)
	if err := j.client.Start(context.WithoutCancel(ctx)); err != nil {
		return fmt.Errorf("starting the queue: %w", err)
	}
	go j.count(ended)
	return nil
}

// count counts the work that ends here, until the queue closes ended.
func (j *Jobs) count(ended <-chan *river.Event) {
	defer close(j.counted)
	for event := range ended {
		outcome := metrics.Done
		switch {
		case event.Kind == river.EventKindJobCancelled:
			outcome = metrics.Stopped
		case event.Job.State == rivertype.JobStateDiscarded:
			outcome = metrics.GivenUp
		case event.Kind == river.EventKindJobFailed:
			outcome = metrics.Retried
		}
		j.metrics.Job(event.Job.Kind, outcome, event.JobStats.RunDuration)
	}
}

// Stop ends the work at hand, or leaves it for another machine if it takes longer
// than ctx allows.
func (j *Jobs) Stop(ctx context.Context) error {
	defer j.pool.Close()
	if j.asleep {
		return nil
	}
	if err := j.client.StopAndCancel(ctx); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("stopping the queue: %w", err)
	}
	return nil
}

// queueFile puts the making of a file into the queue within tx.
func (j *Jobs) queueFile(ctx context.Context, tx *store.Tx, report uuid.UUID, urgency int) error {
	return j.insert(ctx, tx, fileArgs{Gym: tx.Gym(), Report: report}, &river.InsertOpts{Priority: urgency})
}

// queueForget puts the removal of a file's bytes into the queue, for later.
func (j *Jobs) queueForget(report uuid.UUID) func(ctx context.Context, tx *store.Tx, at time.Time) error {
	return func(ctx context.Context, tx *store.Tx, at time.Time) error {
		return j.insert(ctx, tx, forgetArgs{Gym: tx.Gym(), Report: report}, &river.InsertOpts{ScheduledAt: at})
	}
}

func (j *Jobs) insert(ctx context.Context, tx *store.Tx, args river.JobArgs, opts *river.InsertOpts) error {
	return tx.Queue(ctx, func(ctx context.Context, raw pgx.Tx) error {
		if _, err := j.client.InsertTx(ctx, raw, args, opts); err != nil {
			return fmt.Errorf("queueing %s: %w", args.Kind(), err)
		}
		return nil
	})
}

// The jobs there are. They hold ids alone: whose they are stays in the gym.

type fileArgs struct {
	Gym    uuid.UUID `json:"gym"`
	Report uuid.UUID `json:"report"`
}

func (fileArgs) Kind() string { return "make_file" }

type forgetArgs struct {
	Gym    uuid.UUID `json:"gym"`
	Report uuid.UUID `json:"report"`
}

func (forgetArgs) Kind() string { return "forget_file" }

// A forgetWorker removes the bytes of files that have been there for long.
type forgetWorker struct {
	river.WorkerDefaults[forgetArgs]
	reporting *reporting.Reporting
}

// Work removes one.
func (w *forgetWorker) Work(ctx context.Context, job *river.Job[forgetArgs]) error {
	return w.reporting.Forget(ctx, job.Args.Gym, job.Args.Report)
}
