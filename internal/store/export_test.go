package store_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"regexp"
	"slices"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// taken reads all that an export holds of a gym, rows by table.
func (b *base) taken(gymID, athlete uuid.UUID) (shapes []store.Shape, rows map[string][]string) {
	b.t.Helper()
	rows = map[string][]string{}
	err := b.Snapshot(b.t.Context(), gymID, func(snap *store.Snapshot) error {
		shapes = snap.Shapes
		for _, s := range shapes {
			if athlete != uuid.Nil && !s.Has("athlete_id") {
				continue
			}
			if err := snap.Rows(b.t.Context(), s, athlete, func(row []byte) error {
				rows[s.Table] = append(rows[s.Table], string(row))
				return nil
			}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.t.Fatal(err)
	}
	return shapes, rows
}

// brings puts rows into a gym that is not there yet.
func (b *base) brings(gymID uuid.UUID, rows map[string][]string) error {
	return b.Refill(b.t.Context(), gymID, func(r *store.Refill) error {
		for _, s := range r.Shapes {
			columns := make([]string, len(s.Columns))
			for i, c := range s.Columns {
				columns[i] = c.Name
			}
			if s.Table == "class" {
				columns = append(columns, "code")
			}
			left := rows[s.Table]
			n, err := r.Add(b.t.Context(), s.Table, columns, func() ([]byte, error) {
				if len(left) == 0 {
					return nil, nil
				}
				row := []byte(left[0])
				left = left[1:]
				if s.Table == "class" { // every class gets a new code
					row = append(bytes.TrimSuffix(row, []byte("}")), `,"code":"NEW-234"}`...)
				}
				return row, nil
			})
			if err != nil {
				return err
			}
			if n != len(rows[s.Table]) {
				b.t.Errorf("%s: %d rows of %d came in", s.Table, n, len(rows[s.Table]))
			}
		}
		return r.Note(b.t.Context(), id(200), person, store.NotedImport)
	})
}

// What goes out of one gym and into another goes out of that one the same, from
// every table.
func TestExportImportExportIsTheSame(t *testing.T) {
	b := open(t)
	b.fill()
	b.fillEmpty()
	shapes, before := b.taken(gymA, uuid.Nil)
	for _, s := range shapes {
		if len(before[s.Table]) == 0 {
			t.Errorf("%s has no row in this test", s.Table)
		}
	}
	if err := b.brings(gymB, before); err != nil {
		t.Fatal(err)
	}
	_, after := b.taken(gymB, uuid.Nil)
	for _, s := range shapes {
		if !slices.Equal(before[s.Table], after[s.Table]) {
			t.Errorf("%s\nwent out as %s\ncame back as %s", s.Table, before[s.Table], after[s.Table])
		}
	}
}

// Nobody can bring data into a gym that is there, and a row that does not fit
// leaves nothing behind.
func TestImportIsWholeOrNotAtAll(t *testing.T) {
	b := open(t)
	b.fill()
	_, rows := b.taken(gymA, uuid.Nil)
	if err := b.brings(gymA, rows); problem.KindOf(err) != problem.Conflict {
		t.Errorf("into a gym that is there: %v", err)
	}
	rows["enrolment"] = append(rows["enrolment"], `{"class_id":"`+id(99).String()+`","athlete_id":"`+ana.String()+`","since":"2026-11-04"}`)
	if err := b.brings(gymB, rows); err == nil {
		t.Error("a row of a class that is not there came in")
	}
	for _, table := range b.gymTables() {
		if n := ask[int](t, b.owner, `SELECT count(*) FROM `+table+` WHERE gym_id = $1`, gymB); n != 0 {
			t.Errorf("%s holds %d rows of an import that ended early", table, n)
		}
	}
}

// Every table of a gym goes out, or somebody said why not.
func TestExportKnowsEveryTable(t *testing.T) {
	b := open(t)
	b.fill()
	shapes, _ := b.taken(gymA, uuid.Nil)
	out := store.LeftOut()
	for _, table := range b.gymTables() {
		there := slices.ContainsFunc(shapes, func(s store.Shape) bool { return s.Table == table })
		if _, left := out[table]; there == left {
			t.Errorf("%s: exported %t, left out %t", table, there, left)
		}
		delete(out, table)
	}
	for table := range out {
		t.Errorf("%s is left out and is no table of gyms", table)
	}
}

// What opens a door stays here.
func TestExportHoldsNoKeys(t *testing.T) {
	b := open(t)
	b.fill()
	shapes, _ := b.taken(gymA, uuid.Nil)
	key := regexp.MustCompile(`hash|secret|token|password|pin`)
	for _, s := range shapes {
		for _, c := range s.Columns {
			if key.MatchString(c.Name) || s.Table == "class" && c.Name == "code" {
				t.Errorf("%s.%s is exported", s.Table, c.Name)
			}
		}
	}
}

// One athlete's rows are those and no others.
func TestExportOfOneAthlete(t *testing.T) {
	b := open(t)
	b.fill()
	_, rows := b.taken(gymA, ana)
	if len(rows["athlete"]) != 1 || len(rows["result"]) != 2 || len(rows["attendance"]) != 1 {
		t.Errorf("%d athletes, %d results, %d attendances; want 1, 2 and 1", len(rows["athlete"]), len(rows["result"]), len(rows["attendance"]))
	}
	for table, all := range rows {
		for _, row := range all {
			var held struct {
				Athlete uuid.UUID `json:"athlete_id"`
			}
			if err := json.Unmarshal([]byte(row), &held); err != nil || held.Athlete != ana {
				t.Errorf("%s holds %s (%v)", table, row, err)
			}
		}
	}
	var classes, sessions int
	count := func(n *int) func([]byte) error { return func([]byte) error { *n++; return nil } }
	err := b.Snapshot(t.Context(), gymA, func(snap *store.Snapshot) error {
		return snap.MeetingsOf(t.Context(), ana, count(&classes), count(&sessions))
	})
	if err != nil || classes != 1 || sessions != 1 {
		t.Errorf("%d classes and %d sessions of Ana (%v), want 1 and 1", classes, sessions, err)
	}
}

// A snapshot stays as it was while others write.
func TestExportIsOfOneMoment(t *testing.T) {
	b := open(t)
	b.fill()
	err := b.Snapshot(t.Context(), gymA, func(snap *store.Snapshot) error {
		at := slices.IndexFunc(snap.Shapes, func(s store.Shape) bool { return s.Table == "result" })
		if at < 0 {
			return errors.New("no results")
		}
		rows := func() (n int, err error) {
			err = snap.Rows(t.Context(), snap.Shapes[at], uuid.Nil, func([]byte) error { n++; return nil })
			return n, err
		}
		before, err := rows()
		if err != nil {
			return err
		}
		b.write(gymA, func(tx *store.Tx) error {
			_, err := tx.AddResult(context.WithoutCancel(t.Context()), resultOf(ben, id(120), 90))
			return err
		})
		if after, err := rows(); err != nil || after != before {
			t.Errorf("%d rows, then %d (%v)", before, after, err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
