package report

import (
	"fmt"
	"io"
	"time"

	"github.com/xuri/excelize/v2"

	"ropewalk.example/internal/review"
)

// XLSX writes the tables of a report as sheets of one workbook, row by row:
// typed cells, heads that stay in sight, and a sheet that says what each column
// means. What people wrote is text and never a formula.
type XLSX struct {
	to     io.Writer
	book   *excelize.File
	sheets [5]*sheet
	styles styles
	about  Subject
}

// A sheet is one table in the making.
type sheet struct {
	table Table
	w     *excelize.StreamWriter
	rows  int             // written so far, the head too
	cells []excelize.Cell // of the row at hand, used again for the next
	row   []any           // the cells, nil where one is empty
}

// styles are the numbers under which the workbook keeps its looks.
type styles struct{ head, text, whole, decimal, day int }

// NewXLSX begins a workbook that goes to w when it is closed.
func NewXLSX(w io.Writer, s Subject) (*XLSX, error) {
	x := &XLSX{to: w, book: excelize.NewFile(), about: s}
	// Straight to w: what excelize hands over it would keep in memory, whole.
	x.book.SetZipWriter(func(io.Writer) excelize.ZipWriter { return &archive{to: w} })
	if err := x.begin(); err != nil {
		return nil, fmt.Errorf("beginning a workbook: %w", err)
	}
	return x, nil
}

func (x *XLSX) begin() error {
	for _, style := range []struct {
		into *int
		is   excelize.Style
	}{
		{&x.styles.head, excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "bottom"},
			Border: []excelize.Border{{Type: "bottom", Style: 2, Color: "1B2326"}}}},
		{&x.styles.text, excelize.Style{}},
		{&x.styles.whole, excelize.Style{NumFmt: 1}},                              // 0
		{&x.styles.decimal, excelize.Style{CustomNumFmt: format("0.0")}},          //
		{&x.styles.day, excelize.Style{CustomNumFmt: format("yyyy\\-mm\\-dd;@")}}, // ISO 8601 in every locale
	} {
		id, err := x.book.NewStyle(&style.is)
		if err != nil {
			return err
		}
		*style.into = id
	}
	for i, t := range Tables() {
		if i == 0 {
			if err := x.book.SetSheetName(x.book.GetSheetName(0), t.Title); err != nil {
				return err
			}
		} else if _, err := x.book.NewSheet(t.Title); err != nil {
			return err
		}
		var err error
		if x.sheets[i], err = x.newSheet(t); err != nil {
			return fmt.Errorf("sheet %s: %w", t.Title, err)
		}
	}
	return nil
}

func format(code string) *string { return &code }

// newSheet writes the head of a table and keeps it in sight.
func (x *XLSX) newSheet(t Table) (*sheet, error) {
	w, err := x.book.NewStreamWriter(t.Title)
	if err != nil {
		return nil, err
	}
	s := &sheet{table: t, w: w, cells: make([]excelize.Cell, len(t.Columns)), row: make([]any, len(t.Columns))}
	frozen := 0
	heads := make([]any, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = excelize.Cell{StyleID: x.styles.head, Value: c.Title}
		if c.Key == "name" {
			frozen = i + 1
		}
		if err := w.SetColWidth(i+1, i+1, c.width()); err != nil {
			return nil, err
		}
	}
	corner, err := excelize.CoordinatesToCellName(frozen+1, 2)
	if err != nil {
		return nil, err
	}
	pane := "bottomRight"
	if frozen == 0 {
		pane = "bottomLeft"
	}
	if err := w.SetPanes(&excelize.Panes{Freeze: true, XSplit: frozen, YSplit: 1, TopLeftCell: corner, ActivePane: pane}); err != nil {
		return nil, err
	}
	return s, s.write(heads)
}

// width is a column's width in letters.
func (c Column) width() float64 {
	switch {
	case c.Key == "name":
		return 28
	case c.Key == "comment" || c.Key == "aim":
		return 48
	case c.Kind == Text:
		return 16
	default:
		return 12
	}
}

func (s *sheet) write(cells []any) error {
	s.rows++
	at, err := excelize.CoordinatesToCellName(1, s.rows)
	if err != nil {
		return err
	}
	return s.w.SetRow(at, cells)
}

// Add writes one athlete's rows.
func (x *XLSX) Add(a review.Athlete, f review.Facts) error {
	for i, rows := range rowsOf(a, f) {
		s := x.sheets[i]
		for _, r := range rows {
			for j, v := range r {
				s.row[j] = nil
				if v != nil {
					s.cells[j] = x.cell(s.table.Columns[j].Kind, v)
					s.row[j] = &s.cells[j]
				}
			}
			if err := s.write(s.row); err != nil {
				return fmt.Errorf("sheet %s, row %d: %w", s.table.Title, s.rows, err)
			}
		}
	}
	return nil
}

// cell gives a value the type and look of its column.
func (x *XLSX) cell(kind Kind, v any) excelize.Cell {
	cell := excelize.Cell{Value: v}
	switch kind {
	case Whole:
		cell.StyleID = x.styles.whole
	case Decimal:
		cell.StyleID = x.styles.decimal
	case Day:
		cell.StyleID, cell.Value = x.styles.day, serialDay(v.(time.Time))
	}
	return cell
}

// serialDay is a day as spreadsheets count it: days since the end of 1899, which
// no time zone can move.
func serialDay(day time.Time) float64 {
	return day.Sub(time.Date(1899, time.December, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
}

// Close writes the sheet about all together and the one about the columns, and
// then the workbook itself.
func (x *XLSX) Close(g review.Group) (err error) {
	defer func() {
		if closeErr := x.book.Close(); err == nil { // removes what excelize kept on the disk
			err = closeErr
		}
	}()
	for _, s := range x.sheets {
		last, err := excelize.CoordinatesToCellName(len(s.table.Columns), s.rows)
		if err != nil {
			return err
		}
		// The filter goes into what Flush writes after the rows.
		if err := x.book.AutoFilter(s.table.Title, "A1:"+last, nil); err != nil {
			return fmt.Errorf("filter of sheet %s: %w", s.table.Title, err)
		}
		if err := s.w.Flush(); err != nil {
			return fmt.Errorf("sheet %s: %w", s.table.Title, err)
		}
	}
	if err := x.plain("Together", togetherRows(x.about, g), []float64{44, 14, 14, 14, 14}); err != nil {
		return err
	}
	if err := x.plain("Columns", columnRows(), []float64{14, 26, 26, 18, 90}); err != nil {
		return err
	}
	if err := x.book.SetDocProps(&excelize.DocProperties{Title: x.about.title(), Creator: "Ropewalk", Created: stampOf(x.about), Modified: stampOf(x.about)}); err != nil {
		return fmt.Errorf("titling a workbook: %w", err)
	}
	if err := x.book.Write(x.to); err != nil {
		return fmt.Errorf("writing a workbook: %w", err)
	}
	return nil
}

// stampOf is the day that a report looks at, so that the same data give the same
// bytes.
func stampOf(s Subject) string { return s.Span.AsOf.UTC().Format(time.RFC3339) }

// plain adds a sheet of rows whose first is the head.
func (x *XLSX) plain(title string, rows []row, widths []float64) error {
	if _, err := x.book.NewSheet(title); err != nil {
		return fmt.Errorf("sheet %s: %w", title, err)
	}
	w, err := x.book.NewStreamWriter(title)
	if err != nil {
		return fmt.Errorf("sheet %s: %w", title, err)
	}
	for i, width := range widths {
		if err := w.SetColWidth(i+1, i+1, width); err != nil {
			return fmt.Errorf("sheet %s: %w", title, err)
		}
	}
	if err := w.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return fmt.Errorf("sheet %s: %w", title, err)
	}
	s := &sheet{w: w}
	for i, r := range rows {
		cells := make([]any, len(r))
		for j, v := range r {
			switch v := v.(type) {
			case nil:
			case float64:
				cells[j] = excelize.Cell{StyleID: x.styles.decimal, Value: v}
			default:
				cells[j] = excelize.Cell{StyleID: x.styles.text, Value: v}
			}
			if i == 0 {
				cells[j] = excelize.Cell{StyleID: x.styles.head, Value: v}
			}
		}
		if err := s.write(cells); err != nil {
			return fmt.Errorf("sheet %s: %w", title, err)
		}
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("sheet %s: %w", title, err)
	}
	return nil
}

// columnRows says what each column means.
func columnRows() []row {
	rows := []row{{"Sheet", "Column", "Name in CSV", "Holds", "Meaning"}}
	for _, t := range Tables() {
		for _, c := range t.Columns {
			rows = append(rows, row{t.Title, c.Title, c.Key, c.Kind.words(), c.Note})
		}
	}
	return rows
}
