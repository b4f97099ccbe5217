package reporting

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// What an export calls itself. The version goes up when an older program could
// not read a newer export any more.
const (
	FormatGym     = "ropewalk gym data"
	FormatAthlete = "ropewalk athlete data"
	FormatVersion = 1
)

// A Manifest says what an export holds, with counts and checksums.
type Manifest struct {
	Format  string          `json:"format"`
	Version int             `json:"version"`
	Schema  int             `json:"schema"` // of the database that it came from
	Gym     string          `json:"gym"`
	Athlete string          `json:"athlete,omitempty"` // id, in an export of one person
	Tables  []ManifestTable `json:"tables"`
	LeftOut []LeftOut       `json:"left_out"`
}

// A ManifestTable is one table of an export. It is there twice: JSON is what an
// import reads, CSV is for spreadsheets.
type ManifestTable struct {
	Name       string   `json:"name"`
	Columns    []string `json:"columns"`
	Rows       int      `json:"rows"`
	JSON       string   `json:"json"`
	JSONSHA256 string   `json:"json_sha256"`
	CSV        string   `json:"csv"`
	CSVSHA256  string   `json:"csv_sha256"`
}

// A LeftOut is a table that an export does not hold, with why.
type LeftOut struct {
	Table string `json:"table"`
	Why   string `json:"why"`
}

// Export writes all that is kept of the gym, or of one athlete, as a ZIP archive.
// The same data give the same bytes.
func (r *Reporting) Export(ctx context.Context, m *Making, w io.Writer) error {
	return r.export(ctx, m.GymID, m.AthleteID, w, m.Step)
}

// ExportGym writes all that is kept of a gym.
func (r *Reporting) ExportGym(ctx context.Context, gymID uuid.UUID, w io.Writer) error {
	return r.export(ctx, gymID, uuid.Nil, w, func(int, int) error { return nil })
}

// ExportAthlete writes all that is kept of one athlete.
func (r *Reporting) ExportAthlete(ctx context.Context, gymID, athlete uuid.UUID, w io.Writer) error {
	return r.export(ctx, gymID, athlete, w, func(int, int) error { return nil })
}

// An exporting is one export under way.
type exporting struct {
	archive  *zip.Writer
	manifest Manifest
	read     func(s store.Shape, each func(row []byte) error) error
}

func (r *Reporting) export(ctx context.Context, gymID, athlete uuid.UUID, w io.Writer, step func(done, of int) error) error {
	var g gym.Gym
	if err := r.Store.Read(ctx, gymID, store.TheGym(&g)); err != nil {
		return err
	}
	return r.Store.Snapshot(ctx, gymID, func(snap *store.Snapshot) error {
		e := &exporting{archive: zip.NewWriter(w), manifest: Manifest{Format: FormatGym, Version: FormatVersion, Schema: snap.Schema, Gym: g.Name}}
		e.read = func(s store.Shape, each func(row []byte) error) error { return snap.Rows(ctx, s, athlete, each) }
		shapes := snap.Shapes
		if athlete != uuid.Nil {
			e.manifest.Format, e.manifest.Athlete = FormatAthlete, athlete.String()
			shapes = ofAthlete(shapes)
		}
		for i, s := range shapes {
			if err := step(i, len(shapes)); err != nil {
				return err
			}
			if err := e.table(s); err != nil {
				return err
			}
		}
		if athlete != uuid.Nil {
			if err := e.meetings(ctx, snap, athlete); err != nil {
				return err
			}
		} else {
			for table, why := range store.LeftOut() {
				e.manifest.LeftOut = append(e.manifest.LeftOut, LeftOut{table, why})
			}
		}
		return e.close(shapes)
	})
}

// ofAthlete keeps the tables whose rows belong to an athlete.
func ofAthlete(shapes []store.Shape) []store.Shape {
	var own []store.Shape
	for _, s := range shapes {
		if s.Has("athlete_id") {
			own = append(own, s)
		}
	}
	return own
}

// table writes one table twice, from the same snapshot.
func (e *exporting) table(s store.Shape) error {
	entry := ManifestTable{Name: s.Table, JSON: "json/" + s.Table + ".json", CSV: "csv/" + s.Table + ".csv"}
	for _, c := range s.Columns {
		entry.Columns = append(entry.Columns, c.Name)
	}
	each := func(row func([]byte) error) error { return e.read(s, row) }
	return e.twice(entry, each)
}

// twice writes the rows of a table as JSON and as CSV and notes both.
func (e *exporting) twice(entry ManifestTable, each func(row func([]byte) error) error) error {
	var err error
	if entry.JSONSHA256, err = e.file(entry.JSON, func(w io.Writer) error {
		entry.Rows = 0
		return writeJSON(w, &entry.Rows, each)
	}); err != nil {
		return err
	}
	if entry.CSVSHA256, err = e.file(entry.CSV, func(w io.Writer) error { return writeCSV(w, entry.Columns, each) }); err != nil {
		return err
	}
	e.manifest.Tables = append(e.manifest.Tables, entry)
	return nil
}

// file adds a file to the archive and returns its checksum.
func (e *exporting) file(name string, write func(w io.Writer) error) (string, error) {
	to, err := e.archive.Create(name)
	if err != nil {
		return "", fmt.Errorf("beginning %s: %w", name, err)
	}
	sum := sha256.New()
	if err := write(io.MultiWriter(to, sum)); err != nil {
		return "", fmt.Errorf("writing %s: %w", name, err)
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// meetings adds the classes and sessions that one athlete's rows name.
func (e *exporting) meetings(ctx context.Context, snap *store.Snapshot, athlete uuid.UUID) error {
	var classes, sessions [][]byte
	keep := func(rows *[][]byte) func([]byte) error {
		return func(row []byte) error { *rows = append(*rows, bytes.Clone(row)); return nil }
	}
	if err := snap.MeetingsOf(ctx, athlete, keep(&classes), keep(&sessions)); err != nil {
		return err
	}
	for _, t := range []struct {
		name    string
		columns []string
		rows    [][]byte
	}{{"class", []string{"class_id", "name"}, classes}, {"session", []string{"session_id", "class_id", "day", "starts_at", "minutes"}, sessions}} {
		each := func(row func([]byte) error) error {
			for _, r := range t.rows {
				if err := row(r); err != nil {
					return err
				}
			}
			return nil
		}
		if err := e.twice(ManifestTable{Name: t.name, Columns: t.columns, JSON: "json/" + t.name + ".json", CSV: "csv/" + t.name + ".csv"}, each); err != nil {
			return err
		}
	}
	return nil
}

// close writes the schema, the words and the manifest.
func (e *exporting) close(shapes []store.Shape) error {
	sortLeftOut(e.manifest.LeftOut)
	schema, err := json.MarshalIndent(SchemaOf(shapes), "", "  ")
	if err != nil {
		return fmt.Errorf("writing the schema: %w", err)
	}
	manifest, err := json.MarshalIndent(e.manifest, "", "  ")
	if err != nil {
		return fmt.Errorf("writing the manifest: %w", err)
	}
	for _, f := range []struct {
		name string
		body []byte
	}{{"schema.json", schema}, {"README.txt", []byte(readme)}, {manifestFile, manifest}} {
		if _, err := e.file(f.name, func(w io.Writer) error { _, err := w.Write(append(f.body, '\n')); return err }); err != nil {
			return err
		}
	}
	return e.archive.Close()
}

const manifestFile = "manifest.json"

// readme tells whoever opens the archive what is in it.
const readme = `Data of a jump-rope gym, written by Ropewalk.

json/    one file a table: an array of objects, one row a line. An import reads these.
csv/     the same rows for spreadsheet programs: UTF-8 with a byte order mark, commas,
         days as YYYY-MM-DD, times in UTC. Text that a spreadsheet would take for a formula
         begins with an apostrophe.
schema.json    JSON Schema of each table.
manifest.json  how many rows each table has, and the SHA-256 of each file.

Facts are never changed: a correction is a row of its own that points at the old one.
Passwords, PINs, class codes and other things that open doors are not in here.`

// writeJSON writes rows as an array, one a line, and counts them.
func writeJSON(w io.Writer, rows *int, each func(row func([]byte) error) error) error {
	if err := each(func(row []byte) error {
		before := ",\n"
		if *rows == 0 {
			before = "[\n"
		}
		*rows++
		if _, err := io.WriteString(w, before); err != nil {
			return err
		}
		_, err := w.Write(row)
		return err
	}); err != nil {
		return err
	}
	end := "\n]\n"
	if *rows == 0 {
		end = "[]\n"
	}
	_, err := io.WriteString(w, end)
	return err
}

// writeCSV writes rows under their columns' names.
func writeCSV(w io.Writer, columns []string, each func(row func([]byte) error) error) error {
	if _, err := io.WriteString(w, "\ufeff"); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true // RFC 4180
	if err := out.Write(columns); err != nil {
		return err
	}
	cells := make([]string, len(columns))
	if err := each(func(row []byte) error {
		var values map[string]json.RawMessage
		if err := json.Unmarshal(row, &values); err != nil {
			return fmt.Errorf("reading a row: %w", err)
		}
		for i, c := range columns {
			var err error
			if cells[i], err = cellOf(values[c]); err != nil {
				return fmt.Errorf("column %s: %w", c, err)
			}
		}
		return out.Write(cells)
	}); err != nil {
		return err
	}
	out.Flush()
	return out.Error()
}

// cellOf writes a JSON value as a cell; only text is guarded against being taken
// for a formula.
func cellOf(value json.RawMessage) (string, error) {
	switch {
	case len(value) == 0 || string(value) == "null":
		return "", nil
	case value[0] == '"':
		var text string
		if err := json.Unmarshal(value, &text); err != nil {
			return "", err
		}
		return guard(text), nil
	default:
		return string(value), nil
	}
}

// guard puts an apostrophe before text that a spreadsheet program would take for
// a formula (OWASP, CSV Injection).
func guard(text string) string {
	if first, _ := utf8.DecodeRuneInString(text); text != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + text
	}
	return text
}
