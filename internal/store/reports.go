package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// Queue calls add with the database's own transaction, for work that is to be
// done in the background if, and only if, the rest of the transaction holds.
func (tx *Tx) Queue(ctx context.Context, add func(ctx context.Context, raw pgx.Tx) error) error {
	return add(ctx, tx.tx)
}

const selectReport = `
	SELECT report_id, kind, format, paper, language, coalesce(term_id, '00000000-0000-0000-0000-000000000000') AS term_id,
	       coalesce(class_id, '00000000-0000-0000-0000-000000000000') AS class_id,
	       coalesce(athlete_id, '00000000-0000-0000-0000-000000000000') AS athlete_id, as_of, state, done, of,
	       coalesce(attempt, '00000000-0000-0000-0000-000000000000') AS attempt, file_name, bytes, sha256, asked_at, asked_by,
	       finished_at, removed_at
	FROM report`

// Reports reads the files that were asked for, the newest first; those of one
// kind where it is not "".
func Reports(kind string, p Page, into *[]gym.Report) Reading {
	return many("reports", into, selectReport+` r
		WHERE (@kind = '' OR r.kind = @kind)`+p.older("report", "r", "asked_at", "report_id")+`
		ORDER BY r.asked_at DESC, r.report_id DESC
		LIMIT @most`, p.with(pgx.StrictNamedArgs{"kind": kind}))
}

// Report reads one file that was asked for.
func Report(id uuid.UUID, into *gym.Report) Reading {
	return one("report", "There is no such file in this gym.", into, selectReport+`
		WHERE report_id = @report`, pgx.StrictNamedArgs{"report": id})
}

// OpenReports reads the files that are still to be made.
func OpenReports(into *[]gym.Report) Reading {
	return many("open reports", into, selectReport+`
		WHERE state IN ('waiting', 'working')
		ORDER BY asked_at, report_id`, pgx.StrictNamedArgs{})
}

// AddReport keeps that a file was asked for; the same id again changes nothing.
func (tx *Tx) AddReport(ctx context.Context, r gym.Report) (added bool, err error) {
	n, err := tx.exec(ctx, "asking for a report", `
		INSERT INTO report (gym_id, report_id, kind, format, paper, language, term_id, class_id, athlete_id, as_of, state, file_name, asked_at, asked_by)
		VALUES (@gym, @id, @kind, @format, @paper, @language, @term, @class, @athlete, @as_of, 'waiting', @name, @at, @by)
		ON CONFLICT (gym_id, report_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": r.ReportID, "kind": r.Kind, "format": r.Format, "paper": r.Paper, "language": cmp.Or(r.Language, "en"), "term": orNull(r.TermID), "class": orNull(r.ClassID),
			"athlete": orNull(r.AthleteID), "as_of": r.AsOf, "name": r.FileName, "at": r.AskedAt, "by": r.AskedBy})
	return n == 1, err
}

// AskAgain lets a file be made anew, as of a day; what was made before goes. ok
// is false while it is still being made.
func (tx *Tx) AskAgain(ctx context.Context, id uuid.UUID, asOf time.Time) (ok bool, err error) {
	n, err := tx.exec(ctx, "asking for a report again", `
		UPDATE report SET state = 'waiting', as_of = @as_of, done = 0, of = 0, attempt = NULL, bytes = 0, sha256 = NULL, finished_at = NULL, removed_at = NULL
		WHERE gym_id = @gym AND report_id = @id AND state NOT IN ('waiting', 'working')`,
		pgx.StrictNamedArgs{"id": id, "as_of": asOf})
	if err != nil || n == 0 {
		return false, err
	}
	return true, tx.dropPieces(ctx, id, uuid.Nil)
}

// StopReport stops a file that is still to be made; ok is false if it is not.
func (tx *Tx) StopReport(ctx context.Context, id uuid.UUID, at time.Time) (ok bool, err error) {
	n, err := tx.exec(ctx, "stopping a report", `
		UPDATE report SET state = 'stopped', attempt = NULL, finished_at = @at
		WHERE gym_id = @gym AND report_id = @id AND state IN ('waiting', 'working')`,
		pgx.StrictNamedArgs{"id": id, "at": at})
	if err != nil || n == 0 {
		return false, err
	}
	return true, tx.dropPieces(ctx, id, uuid.Nil)
}

// TakeReport begins an attempt at a file. Another attempt that is still at work
// notices at its next step. ok is false if the file is not to be made.
func (tx *Tx) TakeReport(ctx context.Context, id, attempt uuid.UUID) (ok bool, err error) {
	n, err := tx.exec(ctx, "taking up a report", `
		UPDATE report SET state = 'working', attempt = @attempt, done = 0, of = 0
		WHERE gym_id = @gym AND report_id = @id AND state IN ('waiting', 'working')`,
		pgx.StrictNamedArgs{"id": id, "attempt": attempt})
	return n == 1, err
}

// StepReport says how far an attempt is; ok is false once it no longer counts.
func (tx *Tx) StepReport(ctx context.Context, id, attempt uuid.UUID, done, of int) (ok bool, err error) {
	n, err := tx.exec(ctx, "keeping the progress of a report", `
		UPDATE report SET done = @done, of = @of
		WHERE gym_id = @gym AND report_id = @id AND attempt = @attempt AND state = 'working'`,
		pgx.StrictNamedArgs{"id": id, "attempt": attempt, "done": done, "of": of})
	return n == 1, err
}

// FinishReport lets the bytes of an attempt count, and drops those of others; ok
// is false if the attempt no longer counts.
func (tx *Tx) FinishReport(ctx context.Context, id, attempt uuid.UUID, bytes int64, sha256 []byte, at time.Time) (ok bool, err error) {
	n, err := tx.exec(ctx, "finishing a report", `
		UPDATE report SET state = 'done', done = greatest(of, 1), of = greatest(of, 1), bytes = @bytes, sha256 = @sha256, finished_at = @at, removed_at = NULL
		WHERE gym_id = @gym AND report_id = @id AND attempt = @attempt AND state = 'working'`,
		pgx.StrictNamedArgs{"id": id, "attempt": attempt, "bytes": bytes, "sha256": sha256, "at": at})
	if err != nil || n == 0 {
		return false, err
	}
	return true, tx.dropPieces(ctx, id, attempt)
}

// BreakReport says that a file could not be made, or with again that another
// attempt will follow.
func (tx *Tx) BreakReport(ctx context.Context, id, attempt uuid.UUID, again bool, at time.Time) error {
	state, finished := gym.ReportBroken, &at
	if again {
		state, finished = gym.ReportWaiting, nil
	}
	n, err := tx.exec(ctx, "giving up a report", `
		UPDATE report SET state = @state, attempt = NULL, finished_at = @at
		WHERE gym_id = @gym AND report_id = @id AND attempt = @attempt AND state = 'working'`,
		pgx.StrictNamedArgs{"id": id, "attempt": attempt, "state": state, "at": finished})
	if err != nil || n == 0 {
		return err
	}
	return tx.dropPieces(ctx, id, uuid.Nil)
}

// AddPiece keeps the next bytes of an attempt.
func (tx *Tx) AddPiece(ctx context.Context, id, attempt uuid.UUID, number int, body []byte) error {
	_, err := tx.exec(ctx, "keeping a piece of a report", `
		INSERT INTO report_piece (gym_id, report_id, attempt, number, body) VALUES (@gym, @id, @attempt, @number, @body)`,
		pgx.StrictNamedArgs{"id": id, "attempt": attempt, "number": number, "body": body})
	return err
}

// dropPieces removes the bytes of a file, but those of one attempt.
func (tx *Tx) dropPieces(ctx context.Context, id, but uuid.UUID) error {
	_, err := tx.exec(ctx, "removing the bytes of a report", `
		DELETE FROM report_piece WHERE gym_id = @gym AND report_id = @id AND attempt <> @but`,
		pgx.StrictNamedArgs{"id": id, "but": but})
	return err
}

// ForgetReport removes the bytes of a file that was finished before a moment;
// the row stays. ok is false if there was nothing to remove.
func (tx *Tx) ForgetReport(ctx context.Context, id uuid.UUID, before, at time.Time) (ok bool, err error) {
	n, err := tx.exec(ctx, "marking an old report", `
		UPDATE report SET removed_at = @at
		WHERE gym_id = @gym AND report_id = @id AND state = 'done' AND removed_at IS NULL AND finished_at < @before`,
		pgx.StrictNamedArgs{"id": id, "before": before, "at": at})
	if err != nil || n == 0 {
		return false, err
	}
	return true, tx.dropPieces(ctx, id, uuid.Nil)
}

// WriteReport writes the bytes of a finished file to w, piece by piece.
func (s *Store) WriteReport(ctx context.Context, gymID uuid.UUID, r gym.Report, w io.Writer) error {
	for number := 1; ; number++ {
		var body []byte
		err := s.Read(ctx, gymID, func(batch *pgx.Batch) {
			batch.Queue(`SELECT body FROM report_piece WHERE report_id = $1 AND attempt = $2 AND number = $3`, r.ReportID, r.Attempt, number).
				QueryRow(func(row pgx.Row) error {
					if err := row.Scan(&body); err != nil && !errors.Is(err, pgx.ErrNoRows) {
						return fmt.Errorf("reading piece %d of a report: %w", number, err)
					}
					return nil
				})
		})
		if err != nil {
			return err
		}
		if body == nil {
			return nil
		}
		if _, err := w.Write(body); err != nil {
			return fmt.Errorf("sending a report: %w", err)
		}
	}
}
