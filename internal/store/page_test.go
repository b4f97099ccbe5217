package store_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// A pagedList is a list that grows with the years.
type pagedList struct {
	add  func(tx *store.Tx, id uuid.UUID, at time.Time) error
	read func(b *base, p store.Page) []uuid.UUID
}

// ids are the ids of rows.
func ids[T any](rows []T, of func(T) uuid.UUID) []uuid.UUID {
	list := make([]uuid.UUID, len(rows))
	for i, row := range rows {
		list[i] = of(row)
	}
	return list
}

func pagedLists(t *testing.T) map[string]pagedList {
	ctx := t.Context()
	return map[string]pagedList{
		"recorded results": {
			func(tx *store.Tx, id uuid.UUID, at time.Time) error {
				r := resultOf(ana, id, 100)
				r.TakenAt, r.Day = at, at.Truncate(24*time.Hour)
				_, err := tx.AddResult(ctx, r)
				return err
			},
			func(b *base, p store.Page) []uuid.UUID {
				var rows []store.Recorded
				b.read(gymA, store.RecordedOf(ana, p, &rows))
				return ids(rows, func(r store.Recorded) uuid.UUID { return r.ResultID })
			}},
		"names": {
			func(tx *store.Tx, id uuid.UUID, _ time.Time) error {
				name := "Ola " + id.String()[:8]
				_, _, err := tx.AddAthletes(ctx, []store.NewAthlete{{Athlete: gym.Athlete{AthleteID: id, Name: name}, NameKey: name}}, now)
				return err
			},
			func(b *base, p store.Page) []uuid.UUID {
				var rows []gym.Named
				b.read(gymA, store.Names(p, &rows))
				return ids(rows, func(a gym.Named) uuid.UUID { return a.AthleteID })
			}},
		"parts of the athletes": {
			func(tx *store.Tx, id uuid.UUID, _ time.Time) error {
				_, _, err := tx.AddAthletes(ctx, []store.NewAthlete{{Athlete: gym.Athlete{AthleteID: id, Name: "Ola"}, NameKey: id.String()}}, now)
				return err
			},
			func(b *base, p store.Page) []uuid.UUID {
				var rows []gym.Athlete
				b.read(gymA, store.AthletesPart(store.Everybody(), p, &rows))
				return ids(rows, func(a gym.Athlete) uuid.UUID { return a.AthleteID })
			}},
		"the log": {
			func(tx *store.Tx, id uuid.UUID, at time.Time) error {
				return tx.Note(ctx, id, at, person, "looked", "gym", gymA)
			},
			func(b *base, p store.Page) []uuid.UUID {
				var rows []gym.AuditLine
				b.read(gymA, store.AuditLines(store.AuditFilter{Action: "look"}, p, &rows))
				return ids(rows, func(l gym.AuditLine) uuid.UUID { return l.AuditID })
			}},
		"incidents": {
			func(tx *store.Tx, id uuid.UUID, at time.Time) error {
				_, err := tx.AddIncident(ctx, gym.Incident{IncidentID: id, ClassID: class, HappenedAt: at, What: "fell", Place: "hall", SeenBy: "nobody", Done: "ice", RecordedAt: at, RecordedBy: person})
				return err
			},
			func(b *base, p store.Page) []uuid.UUID {
				var rows []gym.Incident
				b.read(gymA, store.Incidents(p, &rows))
				return ids(rows, func(i gym.Incident) uuid.UUID { return i.IncidentID })
			}},
		"files of the gym": {
			func(tx *store.Tx, id uuid.UUID, at time.Time) error {
				_, err := tx.AddReport(ctx, gym.Report{ReportID: id, Kind: gym.ReportGym, Format: gym.FormatCSV, TermID: term, AsOf: today, AskedAt: at, AskedBy: person})
				return err
			},
			func(b *base, p store.Page) []uuid.UUID {
				var rows []gym.Report
				b.read(gymA, store.Reports(gym.ReportGym, p, &rows))
				return ids(rows, func(r gym.Report) uuid.UUID { return r.ReportID })
			}},
	}
}

// Page by page each row of a list comes once and in order, however many come at
// the same moment and although rows are being added.
func TestPagesHoldEachRowOnce(t *testing.T) {
	const rows, most = 23, 5
	for name, l := range pagedLists(t) {
		t.Run(name, func(t *testing.T) {
			b := open(t)
			b.fill()
			add := func(at time.Time) {
				b.write(gymA, func(tx *store.Tx) error { return l.add(tx, uuid.New(), at) })
			}
			for n := range rows {
				add(now.Add(-time.Duration(n/3) * 9 * time.Hour)) // three at a time
			}
			want := l.read(b, store.Page{Most: 1000})
			if len(want) < rows {
				t.Fatalf("%d rows, want %d or more", len(want), rows)
			}
			var got []uuid.UUID
			for p := (store.Page{Most: most}); ; {
				page := l.read(b, p)
				if len(page) == 0 {
					break
				}
				got = append(got, page...)
				p.After = page[len(page)-1]
				add(now.Add(time.Hour))
			}
			got = slices.DeleteFunc(got, func(id uuid.UUID) bool { return !slices.Contains(want, id) }) // what came meanwhile
			if !slices.Equal(got, want) {
				t.Errorf("page by page %d rows came:\n%v\nwant these %d:\n%v", len(got), got, len(want), want)
			}
			if after := l.read(b, store.Page{After: uuid.New(), Most: most}); len(after) != 0 {
				t.Errorf("%d rows follow one that is not there", len(after))
			}
		})
	}
}

// A corrected result stays in the list and says so; what withdrew one is no row.
func TestRecordedResultsSayWhatWasReplaced(t *testing.T) {
	b := open(t)
	b.fill()
	void := resultOf(ana, id(90), 0)
	void.Corrects, void.Void = second, true
	b.write(gymA, func(tx *store.Tx) error { _, err := tx.AddResult(t.Context(), void); return err })
	var rows []store.Recorded
	b.read(gymA, store.RecordedOf(ana, store.Page{Most: 10}, &rows))
	if len(rows) != 2 || !rows[0].Replaced || !rows[1].Replaced {
		t.Errorf("recorded is %+v", rows)
	}
}
