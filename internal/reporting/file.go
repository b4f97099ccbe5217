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

// Forget removes the bytes of a file that has been there for long; a file that
// was made anew since stays.
func (r *Reporting) Forget(ctx context.Context, gymID, id uuid.UUID) error {
	return r.Store.Write(ctx, gymID, func(tx *store.Tx) error {
		now := r.Now()
		_, err := tx.ForgetReport(ctx, id, now.Add(-KeepFiles+time.Minute), now)
		return err
	})
}
