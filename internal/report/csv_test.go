package report

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"io"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// csvFiles returns the files of the archive by name.
func csvFiles(t *testing.T) map[string]string {
	t.Helper()
	body := formats(t)["csv"]()
	archive, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range archive.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(text)
	}
	return files
}

func TestCSVFiles(t *testing.T) {
	files := csvFiles(t)
	if len(files) != len(Tables())+1 {
		t.Errorf("%d files, want a file a table and the dictionary", len(files))
	}
	for _, table := range append(Tables(), Table{Name: "columns"}) {
		text, ok := files[table.Name+".csv"]
		if !ok {
			t.Errorf("there is no %s.csv", table.Name)
			continue
		}
		plain, marked := strings.CutPrefix(text, byteOrderMark)
		if !marked {
			t.Errorf("%s.csv has no byte order mark", table.Name)
		}
		if strings.Contains(strings.ReplaceAll(plain, "\r\n", ""), "\n") {
			t.Errorf("%s.csv ends lines other than RFC 4180 says", table.Name)
		}
		golden(t, table.Name+".csv.txt", strings.ReplaceAll(plain, "\r\n", "\n"))
	}
}

// Every column of every table is in the dictionary, and has a meaning.
func TestEveryColumnIsExplained(t *testing.T) {
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(csvFiles(t)["columns.csv"], byteOrderMark))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	meaning := map[string]string{}
	for _, row := range rows[1:] {
		meaning[row[0]+" "+row[1]] = row[3]
	}
	for _, table := range Tables() {
		seen := map[string]bool{}
		for _, c := range table.Columns {
			if seen[c.Key] || c.Title == "" {
				t.Errorf("%s: column %s is there twice or has no title", table.Name, c.Key)
			}
			seen[c.Key] = true
			if meaning[table.Name+".csv "+c.Key] == "" {
				t.Errorf("%s: nobody says what column %s means", table.Name, c.Key)
			}
		}
	}
}

// The name that looks like a formula and the note that begins with a minus sign
// are text; numbers below zero stay numbers.
func TestFormulasAreNeutralised(t *testing.T) {
	files := csvFiles(t)
	for _, want := range []string{"'=SUM(A1) 김하린", "'-2 steps back"} {
		if !strings.Contains(files["results.csv"], want) {
			t.Errorf("results.csv does not hold %q", want)
		}
	}
	for kind, v := range map[Kind]any{Whole: -12, Decimal: -3.5} {
		if got := cellText(kind, v); got[0] != '-' {
			t.Errorf("the number %v is written %q", v, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		guarded := Guard(text)
		if strings.TrimPrefix(guarded, "'") != strings.TrimPrefix(text, "'") {
			t.Fatalf("%q became %q", text, guarded)
		}
		if guarded != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(guarded)[0]) {
			t.Fatalf("%q is taken for a formula", guarded)
		}
	})
}

// A row has as many cells as its table has columns.
func TestRowsFitTheirTables(t *testing.T) {
	g := ground(t)
	for _, f := range sample(g) {
		for i, rows := range rowsOf(g.Of(f), f) {
			for _, r := range rows {
				if table := Tables()[i]; len(r) != len(table.Columns) {
					t.Fatalf("%s: a row of %d cells under %d columns", table.Name, len(r), len(table.Columns))
				}
			}
		}
	}
}
