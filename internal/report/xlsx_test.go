package report

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

func workbook(t *testing.T) *excelize.File {
	t.Helper()
	book, err := excelize.OpenReader(bytes.NewReader(formats(t)["xlsx"]()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = book.Close() }) // it was only read
	return book
}

// Every cell with its type, its raw value and what people see.
func TestCellsOfTheWorkbook(t *testing.T) {
	book := workbook(t)
	var b strings.Builder
	for _, sheet := range book.GetSheetList() {
		rows, err := book.GetRows(sheet, excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		panes, err := book.GetPanes(sheet)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "== %s, frozen %d rows and %d columns\n", sheet, panes.YSplit, panes.XSplit)
		for i, row := range rows {
			for j := range row {
				at, _ := excelize.CoordinatesToCellName(j+1, i+1)
				kind, err := book.GetCellType(sheet, at)
				if err != nil {
					t.Fatal(err)
				}
				shown, _ := book.GetCellValue(sheet, at)
				if row[j] != "" {
					b.WriteString(lineOf(at, map[excelize.CellType]string{excelize.CellTypeUnset: "number", excelize.CellTypeNumber: "number", excelize.CellTypeInlineString: "text",
						excelize.CellTypeSharedString: "text", excelize.CellTypeBool: "yes or no"}[kind], row[j], shown))
				}
			}
		}
	}
	golden(t, "xlsx.txt", b.String())
}

// Every sheet of rows can be filtered by its heads.
func TestSheetsCanBeFiltered(t *testing.T) {
	body := formats(t)["xlsx"]()
	archive, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	if err != nil {
		t.Fatal(err)
	}
	filters := 0
	for _, f := range archive.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(text, []byte(`<autoFilter ref="$A$1:`)) {
			filters++
		}
	}
	if filters != len(Tables()) {
		t.Errorf("%d of %d sheets have a filter", filters, len(Tables()))
	}
}

// What people wrote stays text: no cell holds a formula.
func TestNoFormulaInTheWorkbook(t *testing.T) {
	book := workbook(t)
	seen := 0
	for _, sheet := range book.GetSheetList() {
		rows, err := book.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			for j, value := range row {
				at, _ := excelize.CoordinatesToCellName(j+1, i+1)
				formula, err := book.GetCellFormula(sheet, at)
				if err != nil || formula != "" {
					t.Errorf("%s!%s holds the formula %q (%v)", sheet, at, formula, err)
				}
				if strings.HasPrefix(value, "=SUM") {
					seen++
				}
			}
		}
	}
	if seen == 0 {
		t.Error("the name that looks like a formula is not in the workbook")
	}
}

// Another program opens the workbook and reads what was written: LibreOffice,
// which make test installs.
func TestLibreOfficeReadsTheWorkbook(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "report.xlsx")
	if err := os.WriteFile(path, formats(t)["xlsx"](), 0o644); err != nil {
		t.Fatal(err)
	}
	// All sheets (-1), as shown, UTF-8, each into a file of its own.
	cmd := exec.CommandContext(t.Context(), "soffice", "-env:UserInstallation=file://"+filepath.Join(folder, "profile"), "--headless", "--convert-to",
		"csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,true,false,false,-1", "--outdir", folder, path)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("soffice: %v\n%s", err, out)
	}
	book := workbook(t)
	for _, sheet := range book.GetSheetList() {
		file, err := os.Open(filepath.Join(folder, "report-"+sheet+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		read := csv.NewReader(file)
		read.FieldsPerRecord = -1
		got, err := read.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		_ = file.Close()
		want, err := book.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		if len(got) < len(want) {
			t.Errorf("sheet %s has %d rows in LibreOffice, %d were written", sheet, len(got), len(want))
			continue
		}
		for i, row := range want {
			for j, value := range row {
				if got[i][j] != value {
					t.Errorf("sheet %s, row %d, column %d: LibreOffice shows %q, written was %q", sheet, i+1, j+1, got[i][j], value)
				}
			}
		}
	}
}
