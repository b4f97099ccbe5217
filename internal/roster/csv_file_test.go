package roster

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/problem"
)

func open(t *testing.T, name string) *os.File {
	t.Helper()
	file, err := os.Open(filepath.Join("../../testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { file.Close() })
	return file
}

func TestFilesThatCannotBeRead(t *testing.T) {
	many := "Name\n"
	for i := range 5001 {
		many += fmt.Sprintf("Athlete %d\n", i)
	}
	for _, test := range []struct {
		name, text string
		kind       problem.Kind
		sentence   string
	}{
		{"empty", "", problem.Invalid, "This file is empty. Choose a file with one athlete on each line."},
		{"mark alone", "\ufeff\r\n \n", problem.Invalid, "This file is empty. Choose a file with one athlete on each line."},
		{"heading alone", "Name,PIN\n\n", problem.Invalid, "This file has a heading but no athletes. Put one athlete on each line below it."},
		{"heading and empty rows", "Name,PIN\n,\n\"\",\n", problem.Invalid, "This file has a heading but no athletes. Put one athlete on each line below it."},
		{"no heading", "Amara,Quay\nBea,Rows\n", problem.Invalid, "The first line does not name the columns. Start the file with a line such as: name,birth year,PIN"},
		{"no names", "PIN,Rope\n4827,B1\n", problem.Invalid, "No column holds the names. Write “name” at the top of that column."},
		{"two name columns", "Name,Athlete\nAmara,Bea\n", problem.Invalid, "The columns “Name” and “Athlete” are both read as the name. Keep one of them."},
		{"Latin-1", "Name\nAmara\nSi\xe2n\n", problem.Invalid, "Line 3 is not UTF-8 text, so its letters would be lost. Save the file as “CSV UTF-8” and choose it again."},
		{"Windows-1252 with CR", "Name\rAmara\rO\x92Hara\r", problem.Invalid, "Line 3 is not UTF-8 text, so its letters would be lost. Save the file as “CSV UTF-8” and choose it again."},
		{"workbook", "PK\x03\x04rest", problem.Invalid, "This is a workbook, not a CSV file. Save it as “CSV UTF-8” and choose that file."},
		{"old workbook", "\xd0\xcf\x11\xe0rest", problem.Invalid, "This is a workbook, not a CSV file. Save it as “CSV UTF-8” and choose that file."},
		{"PDF", "%PDF-1.7", problem.Invalid, "This is not a text file. Save the roster as “CSV UTF-8” and choose that file."},
		{"zero bytes", "Name\nA\x00B\n", problem.Invalid, "This is not a text file. Save the roster as “CSV UTF-8” and choose that file."},
		{"5,001 athletes", many, problem.TooLarge, "This file has more than 5,000 athletes. Split it into smaller files."},
	} {
		t.Run(test.name, func(t *testing.T) {
			p, err := ParseCSV(strings.NewReader(test.text), limits())
			if problem.KindOf(err) != test.kind || problem.MessageOf(err) != test.sentence {
				t.Errorf("error %v", err)
			}
			if len(p.Rows) > 0 {
				t.Errorf("rows %+v", p.Rows)
			}
		})
	}
}

// endless gives names for ever and counts the bytes that were read.
type endless struct{ read int }

func (e *endless) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = "Amara\n"[(e.read+i)%6]
	}
	e.read += len(b)
	return len(b), nil
}

func TestALargeFileIsNotReadToItsEnd(t *testing.T) {
	file := &endless{}
	_, err := ParseCSV(io.LimitReader(file, 50<<20), limits())
	if problem.KindOf(err) != problem.TooLarge {
		t.Errorf("error %v", err)
	}
	if got, want := problem.MessageOf(err), "This file is larger than 2 MB. A roster of 5,000 athletes is far smaller, so choose another file."; got != want {
		t.Errorf("sentence %q", got)
	}
	if file.read > 2<<20+1 {
		t.Errorf("%d bytes read", file.read)
	}
}

// broken is a file on a stick that was pulled out.
type broken struct{}

var errPulled = errors.New("stick pulled out")

func (broken) Read([]byte) (int, error) { return 0, errPulled }

func TestAReadErrorIsOurs(t *testing.T) {
	_, err := ParseCSV(broken{}, limits())
	if !errors.Is(err, errPulled) || problem.KindOf(err) != problem.Internal {
		t.Errorf("error %v", err)
	}
}

func TestFiveThousandAthletes(t *testing.T) {
	file := "Name,Born\r\n"
	for i := range 5000 {
		file += fmt.Sprintf("Ngọc Trầm %d,%d\r\n", i, 2000+i%20)
	}
	p := parse(t, file)
	if len(p.Rows) != 5000 || len(p.Problems) > 0 || p.Rows[4999].Line != 5001 {
		t.Errorf("%d rows, problems %+v", len(p.Rows), p.Problems)
	}
}

func TestKeptFiles(t *testing.T) {
	for _, test := range []struct {
		file     string
		names    string
		problems []int
		kind     problem.Kind // of the whole file; Internal: none
	}{
		{file: "roster/example.csv", names: "Ida Marrowby\nŁukasz Zwierciadło\n陳小雨\nليلى الزهراوي\nSolveig"},
		{file: "roster/semicolons.csv", names: "Ida Marrowby\nŁukasz Zwierciadło\nMarrowby, Tom"},
		{file: "roster/utf16-tabs.csv", names: "Ida Marrowby\nŁukasz Zwierciadło\n陳小雨"},
		{file: "roster/names.csv", names: "Ida Marrowby\nŁukasz Zwierciadło\n陳小雨\nليلى الزهراوي\nSolveig"},
		{file: "roster/spreadsheet.csv", names: "Ida Marrowby\nŁukasz Zwierciadło\n陳小雨"},
		{file: "roster/bad-lines.csv", names: "Ida Marrowby\nŁukasz Zwierciadło\nSolveig", problems: []int{3, 5, 6, 6, 8}},
		{file: "roster/latin1.csv", kind: problem.Invalid},
	} {
		t.Run(test.file, func(t *testing.T) {
			p, err := ParseCSV(open(t, test.file), limits())
			if test.kind != problem.Internal {
				if problem.KindOf(err) != test.kind {
					t.Errorf("error %v", err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if p.names() != test.names || !slices.Equal(numbers(p.Problems), test.problems) {
				t.Errorf("names %q, problems %+v", p.names(), p.Problems)
			}
		})
	}
}

func TestExampleFileIsTheOneOffered(t *testing.T) {
	want, err := io.ReadAll(open(t, "roster/example.csv"))
	if err != nil {
		t.Fatal(err)
	}
	var got bytes.Buffer
	if err := WriteExample(&got); err != nil {
		t.Fatal(err)
	}
	if got.String() != string(want) {
		t.Errorf("WriteExample gives %q", got.String())
	}
}

func TestDemoRosterFileIsTheDemoGyms(t *testing.T) {
	p, err := ParseCSV(open(t, "demo/roster.csv"), limits())
	if err != nil {
		t.Fatal(err)
	}
	gym, err := demo.Generate(demo.Now())
	if err != nil {
		t.Fatal(err)
	}
	classes := map[string]string{}
	for _, c := range gym.Classes {
		classes[c.Code] = c.Name
	}
	var want []Row
	for i, a := range gym.Athletes {
		want = append(want, Row{Line: i + 2, Name: a.Name, SortName: a.SortName, BirthYear: a.BirthYear, PIN: a.PIN,
			Lang: a.Lang, Classes: []string{classes[a.Class]}, Rope: a.Rope})
	}
	if !reflect.DeepEqual(p.Rows, want) {
		t.Errorf("rows %+v, want %+v", p.Rows, want)
	}
}
