package report

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"ropewalk.example/internal/review"
)

// CSV writes the tables of a report as CSV files in a ZIP archive, with a
// dictionary of the columns. Spreadsheet programs open them as UTF-8, and find
// no formula in what people wrote.
type CSV struct {
	archive *zip.Writer
	files   [5]*sheetCSV
}

// A sheetCSV is one table in the making. The long one goes straight into the
// archive, the others wait: an archive takes one file after the other.
type sheetCSV struct {
	table Table
	w     *csv.Writer
	body  *bytes.Buffer // nil for the long one
}

// byteOrderMark tells spreadsheet programs that a file is UTF-8.
const byteOrderMark = "\ufeff"

// NewCSV begins the archive.
func NewCSV(w io.Writer, _ Subject) (*CSV, error) {
	c := &CSV{archive: zip.NewWriter(w)}
	for i, t := range Tables() {
		file := &sheetCSV{table: t, body: &bytes.Buffer{}}
		var to io.Writer = file.body
		if i == results {
			var err error
			if to, err = c.archive.Create(t.Name + ".csv"); err != nil {
				return nil, fmt.Errorf("beginning %s.csv: %w", t.Name, err)
			}
			file.body = nil
		}
		if _, err := io.WriteString(to, byteOrderMark); err != nil {
			return nil, fmt.Errorf("beginning %s.csv: %w", t.Name, err)
		}
		file.w = csv.NewWriter(to)
		file.w.UseCRLF = true // RFC 4180
		keys := make([]string, len(t.Columns))
		for j, column := range t.Columns {
			keys[j] = column.Key
		}
		if err := file.w.Write(keys); err != nil {
			return nil, fmt.Errorf("heading %s.csv: %w", t.Name, err)
		}
		c.files[i] = file
	}
	return c, nil
}

// Add writes one athlete's rows.
func (c *CSV) Add(a review.Athlete, f review.Facts) error {
	for i, rows := range rowsOf(a, f) {
		for _, r := range rows {
			if err := c.files[i].write(r); err != nil {
				return fmt.Errorf("writing %s.csv: %w", c.files[i].table.Name, err)
			}
		}
	}
	return nil
}

func (s *sheetCSV) write(r row) error {
	cells := make([]string, len(r))
	for i, v := range r {
		cells[i] = cellText(s.table.Columns[i].Kind, v)
	}
	return s.w.Write(cells)
}

// Close writes what waits, and the dictionary.
func (c *CSV) Close(_ review.Group) error {
	for _, file := range c.files { // before the archive's next file begins
		file.w.Flush()
		if err := file.w.Error(); err != nil {
			return fmt.Errorf("writing %s.csv: %w", file.table.Name, err)
		}
	}
	for _, file := range c.files {
		if file.body == nil {
			continue
		}
		if err := c.put(file.table.Name+".csv", file.body.Bytes()); err != nil {
			return err
		}
	}
	if err := c.put("columns.csv", dictionary()); err != nil {
		return err
	}
	return c.archive.Close()
}

func (c *CSV) put(name string, body []byte) error {
	w, err := c.archive.Create(name)
	if err != nil {
		return fmt.Errorf("beginning %s: %w", name, err)
	}
	if _, err = w.Write(body); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	return nil
}

// dictionary is a table of all columns.
func dictionary() []byte {
	var b bytes.Buffer
	b.WriteString(byteOrderMark)
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	_ = w.Write([]string{"file", "column", "holds", "meaning"}) // a buffer takes everything
	for _, t := range Tables() {
		for _, column := range t.Columns {
			_ = w.Write([]string{t.Name + ".csv", column.Key, column.Kind.words(), column.Note})
		}
	}
	w.Flush()
	return b.Bytes()
}

func (k Kind) words() string {
	switch k {
	case Whole:
		return "whole number"
	case Decimal:
		return "number, to four places"
	case Day:
		return "day, YYYY-MM-DD"
	case YesNo:
		return "yes or no"
	default:
		return "text"
	}
}

// cellText writes a cell. Only text is guarded: a number that begins with a minus
// sign is a number.
func cellText(kind Kind, v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		if kind == Text {
			return Guard(v)
		}
		return v
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case int:
		return strconv.Itoa(v)
	case float64:
		if kind == Whole {
			return strconv.FormatFloat(math.Round(v)+0, 'f', 0, 64) // no minus zero
		}
		// Four places are far below what any of the numbers is known to.
		return strconv.FormatFloat(math.Round(v*1e4)/1e4+0, 'f', -1, 64)
	case time.Time:
		return v.Format(time.DateOnly)
	default:
		return fmt.Sprint(v)
	}
}

// Guard puts an apostrophe before text that a spreadsheet program would take for
// a formula.
//
// Source: OWASP, CSV Injection; the wide forms of the signs are taken for them by
// programs in East Asian settings.
func Guard(text string) string {
	if first, _ := utf8.DecodeRuneInString(text); text != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + text
	}
	return text
}
