package reporting

import (
	"context"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// KeepFiles is how long the bytes of a file stay. The file can be made again
// after that.
const KeepFiles = 30 * 24 * time.Hour

// mostOpen is how many files of one gym may wait or be made at a time, so that
// nobody fills the queue of everybody.
const mostOpen = 8

// An Order is a file that somebody wants.
type Order struct {
	ID       uuid.UUID // made with the form, so that one sent twice is made once
	Kind     string    // of package gym's
	Format   string
	Paper    string
	Language string    // of a PDF, BCP 47; "" is English
	Term     uuid.UUID // of a report
	Class    uuid.UUID // of a class's report
	Athlete  uuid.UUID // of an athlete's report or data
}

// formats lists what a file of each kind may be.
func formats() map[string][]string {
	tables := []string{gym.FormatPDF, gym.FormatXLSX, gym.FormatCSV}
	return map[string][]string{gym.ReportAthlete: tables, gym.ReportClass: tables, gym.ReportGym: tables,
		gym.ReportAthleteData: {gym.FormatZip}, gym.ReportGymData: {gym.FormatZip}}
}

// check returns a message per field that needs mending.
func (o Order) check() map[string]string {
	wrong := map[string]string{}
	allowed, known := formats()[o.Kind]
	if !known {
		wrong["what"] = "Choose what the file is to be about."
	}
	if known && !slices.Contains(allowed, o.Format) {
		wrong["format"] = "Choose a format from the list."
	}
	if (o.Format == gym.FormatPDF) != (o.Paper == gym.PaperA4 || o.Paper == gym.PaperLetter) {
		wrong["format"] = "Choose a format from the list."
	}
	return wrong
}

// Ask puts a file into the queue and keeps in the audit log who wanted it. The
// same id again changes nothing.
func (r *Reporting) Ask(ctx context.Context, who gym.Who, o Order) error {
	if err := problem.Form(o.check()); err != nil {
		return err
	}
	return r.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var open []gym.Report
		term, class, athlete := gym.Term{}, gym.Class{}, gym.Athlete{}
		readings := []store.Reading{store.TheGym(&g), store.OpenReports(&open)}
		if o.Term != uuid.Nil {
			readings = append(readings, store.Term(o.Term, &term))
		}
		if o.Class != uuid.Nil {
			readings = append(readings, store.Class(o.Class, &class))
		}
		if o.Athlete != uuid.Nil {
			readings = append(readings, store.Athlete(o.Athlete, &athlete))
		}
		if err := tx.Read(ctx, readings...); err != nil {
			return err
		}
		if len(open) >= mostOpen && !slices.ContainsFunc(open, func(r gym.Report) bool { return r.ReportID == o.ID }) {
			return problem.New(problem.TooMany, "%d files are being made for this gym. Wait until some are done, or stop one.", len(open))
		}
		now := r.Now()
		report := gym.Report{ReportID: o.ID, Kind: o.Kind, Format: o.Format, Paper: o.Paper, Language: o.Language, TermID: o.Term, ClassID: o.Class, AthleteID: o.Athlete,
			AsOf: g.DayOf(now), AskedAt: now, AskedBy: who.ID()}
		report.FileName = fileName(report, g, term, class, athlete)
		added, err := tx.AddReport(ctx, report)
		if err != nil || !added {
			return err
		}
		if err := r.note(ctx, tx, who, report); err != nil {
			return err
		}
		return r.Queue(ctx, tx, report.ReportID, urgency(len(open)))
	})
}

// Again lets a file be made once more, from today's data.
func (r *Reporting) Again(ctx context.Context, who gym.Who, id uuid.UUID) error {
	return r.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var report gym.Report
		var open []gym.Report
		if err := tx.Read(ctx, store.TheGym(&g), store.Report(id, &report), store.OpenReports(&open)); err != nil {
			return err
		}
		ok, err := tx.AskAgain(ctx, id, g.DayOf(r.Now()))
		if err != nil || !ok {
			return err // it is being made already
		}
		if err := r.note(ctx, tx, who, report); err != nil {
			return err
		}
		return r.Queue(ctx, tx, id, urgency(len(open)))
	})
}

// Stop stops a file that is still to be made; one that is done stays.
func (r *Reporting) Stop(ctx context.Context, who gym.Who, id uuid.UUID) error {
	return r.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		_, err := tx.StopReport(ctx, id, r.Now())
		return err
	})
}

// urgency lets the first file of a gym come before the further ones of others.
func urgency(open int) int { return min(1+open, 4) }

// notedReport is what the audit log says of a report.
const notedReport = "made a report"

// note keeps in the audit log that somebody took data out.
func (r *Reporting) note(ctx context.Context, tx *store.Tx, who gym.Who, report gym.Report) error {
	action, subject, id := notedReport, report.Kind, report.TermID
	switch report.Kind {
	case gym.ReportAthlete:
		id = report.AthleteID
	case gym.ReportClass:
		id = report.ClassID
	case gym.ReportAthleteData:
		action, subject, id = store.NotedExport, "athlete", report.AthleteID
	case gym.ReportGymData:
		action, subject, id = store.NotedExport, "gym", who.GymID
	}
	return tx.Note(ctx, newID(), r.Now(), who.ID(), action, subject, id)
}

// fileName names the file that people save.
func fileName(r gym.Report, g gym.Gym, term gym.Term, class gym.Class, athlete gym.Athlete) string {
	parts := []string{g.Name, term.Name, class.Name, athlete.Name}
	switch r.Kind {
	case gym.ReportGymData, gym.ReportAthleteData:
		parts = []string{g.Name, athlete.Name, "data", r.AsOf.Format(time.DateOnly)}
	}
	name := strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), " - ")
	ending := map[string]string{gym.FormatPDF: ".pdf", gym.FormatXLSX: ".xlsx", gym.FormatCSV: ".csv.zip", gym.FormatZip: ".zip"}[r.Format]
	return safeName(name) + ending
}

// safeName leaves out what file systems do not take.
func safeName(name string) string {
	name = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || strings.ContainsRune(`/\:*?"<>|`, r) || unicode.Is(unicode.Bidi_Control, r) {
			return -1
		}
		return r
	}, name)
	if runes := []rune(name); len(runes) > 120 {
		name = string(runes[:120])
	}
	return strings.Trim(name, ". ")
}

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

// Forget removes the bytes of a file that has been there for long; a file that
// was made anew since stays.
func (r *Reporting) Forget(ctx context.Context, gymID, id uuid.UUID) error {
	return r.Store.Write(ctx, gymID, func(tx *store.Tx) error {
		now := r.Now()
		_, err := tx.ForgetReport(ctx, id, now.Add(-KeepFiles+time.Minute), now)
		return err
	})
}
