package reporting

import (
	"context"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// A Making is one attempt at a file. Its bytes go to the database as they come.
type Making struct {
	gym.Report
	GymID   uuid.UUID
	of      *Reporting
	ctx     context.Context
	buffer  []byte
	pieces  int
	written int64
	stepped time.Time
}

// ErrStopped reports that a file is no longer wanted, or that another attempt at
// it began.
var ErrStopped = problem.New(problem.Conflict, "Somebody stopped this file.")

// pieceBytes is how many bytes are kept at a time.
const pieceBytes = 1 << 20

// Take begins an attempt at a file; ok is false if it is not to be made.
func (r *Reporting) Take(ctx context.Context, gymID, id uuid.UUID) (m *Making, ok bool, err error) {
	m = &Making{GymID: gymID, of: r, ctx: ctx}
	attempt := newID()
	err = r.Store.Write(ctx, gymID, func(tx *store.Tx) error {
		if ok, err = tx.TakeReport(ctx, id, attempt); err != nil || !ok {
			return err
		}
		return tx.Read(ctx, store.Report(id, &m.Report))
	})
	return m, ok, err
}

// During is the part of the term that the file looks at.
func (m *Making) During() store.During { return store.During{Term: m.TermID, Until: m.AsOf} }

// Whom is who is in the file.
func (m *Making) Whom() store.Whom {
	switch m.Kind {
	case gym.ReportAthlete, gym.ReportAthleteData:
		return store.Only(m.AthleteID)
	case gym.ReportClass:
		return store.InClassDuring(m.ClassID, m.During())
	default:
		return store.Everybody()
	}
}

// ClassName returns the name of the class that a file is about, "" if it is about
// none.
func (r *Reporting) ClassName(ctx context.Context, m *Making) (string, error) {
	if m.ClassID == uuid.Nil {
		return "", nil
	}
	var class gym.Class
	err := r.Store.Read(ctx, m.GymID, store.Class(m.ClassID, &class))
	return class.Name, err
}

// Write keeps the next bytes.
func (m *Making) Write(b []byte) (int, error) {
	n := len(b)
	for len(b) > 0 {
		taken := min(len(b), pieceBytes-len(m.buffer))
		m.buffer = append(m.buffer, b[:taken]...)
		b = b[taken:]
		if len(m.buffer) == pieceBytes {
			if err := m.flush(); err != nil {
				return 0, err
			}
		}
	}
	return n, nil
}

func (m *Making) flush() error {
	if len(m.buffer) == 0 {
		return nil
	}
	m.pieces++
	err := m.of.Store.Write(m.ctx, m.GymID, func(tx *store.Tx) error {
		return tx.AddPiece(m.ctx, m.ReportID, m.Attempt, m.pieces, m.buffer)
	})
	m.written += int64(len(m.buffer))
	m.buffer = m.buffer[:0]
	return err
}

// stepEvery is how often progress is kept: often enough for a bar to move.
const stepEvery = 300 * time.Millisecond

// Step says how far the file is. It returns ErrStopped once it is not wanted any
// more.
func (m *Making) Step(done, of int) error {
	now := time.Now() // the real clock: it is about how long people wait
	if now.Sub(m.stepped) < stepEvery && 0 < done && done < of {
		return m.ctx.Err()
	}
	m.stepped = now
	return m.counts(func(tx *store.Tx) (bool, error) { return tx.StepReport(m.ctx, m.ReportID, m.Attempt, done, of) })
}

// counts writes something about the attempt, or returns ErrStopped if it counts
// no longer.
func (m *Making) counts(write func(tx *store.Tx) (bool, error)) error {
	return m.of.Store.Write(m.ctx, m.GymID, func(tx *store.Tx) error {
		ok, err := write(tx)
		if err == nil && !ok {
			return ErrStopped
		}
		return err
	})
}

// Finish lets the written bytes be the file. forget is called in the same
// transaction with the time from which the bytes may go.
func (m *Making) Finish(sha256 []byte, forget func(ctx context.Context, tx *store.Tx, at time.Time) error) error {
	if err := m.flush(); err != nil {
		return err
	}
	return m.counts(func(tx *store.Tx) (bool, error) {
		ok, err := tx.FinishReport(m.ctx, m.ReportID, m.Attempt, m.written, sha256, m.of.Now())
		if err != nil || !ok {
			return ok, err
		}
		return true, forget(m.ctx, tx, time.Now().Add(KeepFiles))
	})
}

// GiveUp says that the attempt came to nothing, and whether another will follow.
func (m *Making) GiveUp(ctx context.Context, again bool) error {
	return m.of.Store.Write(ctx, m.GymID, func(tx *store.Tx) error {
		return tx.BreakReport(ctx, m.ReportID, m.Attempt, again, m.of.Now())
	})
}
