package jobs

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"log/slog"

	"github.com/riverqueue/river"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/report"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/review"
	"ropewalk.example/internal/store"
)

// A fileWorker makes the files that people asked for.
type fileWorker struct {
	river.WorkerDefaults[fileArgs]
	jobs      *Jobs
	reporting *reporting.Reporting
	letters   *paper.Letters
	voices    map[string]report.Voice
	log       *slog.Logger
}

// Work makes one file. A file that somebody stopped is no fault; any other is
// tried again, and given up after the last try.
func (w *fileWorker) Work(ctx context.Context, job *river.Job[fileArgs]) error {
	m, ok, err := w.reporting.Take(ctx, job.Args.Gym, job.Args.Report)
	if err != nil || !ok {
		return err
	}
	sum := sha256.New()
	err = w.make(ctx, m, io.MultiWriter(m, sum))
	if err == nil {
		err = m.Finish(sum.Sum(nil), w.jobs.queueForget(m.ReportID))
	}
	if err == nil || errors.Is(err, reporting.ErrStopped) {
		return nil
	}
	again := job.Attempt < job.MaxAttempts
	w.log.ErrorContext(ctx, "a file was not made", "report", m.ReportID, "kind", m.Kind, "format", m.Format, "again", again, "error", err)
	if giveUp := m.GiveUp(context.WithoutCancel(ctx), again); giveUp != nil {
		err = errors.Join(err, giveUp)
	}
	return fmt.Errorf("making a %s of a %s: %w", m.Format, m.Kind, err)
}

// make writes the file to w.
func (w *fileWorker) make(ctx context.Context, m *reporting.Making, to io.Writer) error {
	switch m.Kind {
	case gym.ReportAthleteData, gym.ReportGymData:
		return w.reporting.Export(ctx, m, to)
	default:
		return w.report(ctx, m, to)
	}
}

// report writes a term's report, athlete by athlete.
func (w *fileWorker) report(ctx context.Context, m *reporting.Making, to io.Writer) error {
	class, err := w.reporting.ClassName(ctx, m)
	if err != nil {
		return err
	}
	var writer report.Writer
	var sum *review.Summing
	done, of := 0, 0
	began := func(v reporting.View, athletes int) error {
		sum, of = v.Ground.Sum(), athletes
		subject := report.Subject{Gym: v.Gym, Span: v.Ground.Span, Class: class, Alone: m.Kind == gym.ReportAthlete, Count: athletes, Voice: w.voices[m.Language]}
		if writer, err = w.writer(m, to, subject); err != nil {
			return err
		}
		return m.Step(done, of)
	}
	each := func(a review.Athlete, f review.Facts) error {
		sum.Add(a)
		if err := writer.Add(a, f); err != nil {
			return err
		}
		done++
		return m.Step(done, of)
	}
	if err := w.reporting.Each(store.ByReplica(ctx), m.GymID, m.During(), m.Whom(), began, each); err != nil {
		return err
	}
	return writer.Close(sum.Group())
}

func (w *fileWorker) writer(m *reporting.Making, to io.Writer, s report.Subject) (report.Writer, error) {
	switch m.Format {
	case gym.FormatXLSX:
		return report.NewXLSX(to, s)
	case gym.FormatCSV:
		return report.NewCSV(to, s)
	default:
		size := paper.A4()
		if m.Paper == gym.PaperLetter {
			size = paper.Letter()
		}
		return report.NewPDF(to, w.letters, size, s), nil
	}
}
