package roster

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
)

// WriteCSV writes rows as [ParseCSV] reads them: UTF-8 with a byte order mark
// and CRLF line ends, as spreadsheet programs like it. An athlete of several
// classes takes a line for each. Text that a spreadsheet program would run as a
// formula gets an apostrophe in front.
func WriteCSV(w io.Writer, rows []Row) error {
	if _, err := io.WriteString(w, "\ufeff"); err != nil {
		return fmt.Errorf("writing a roster file: %w", err)
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	heading := []string{"Name", "Sort name", "Birth year", "PIN", "Language", "Class", "Rope"}
	if err := out.Write(heading); err != nil {
		return fmt.Errorf("writing a roster file: %w", err)
	}
	for _, r := range rows {
		for _, class := range orNone(r.Classes) {
			record := []string{guard(r.Name), guard(r.SortName), yearCell(r.BirthYear), r.PIN, r.Lang, guard(class), guard(r.Rope)}
			if err := out.Write(record); err != nil {
				return fmt.Errorf("writing %s to a roster file: %w", r.Name, err)
			}
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("writing a roster file: %w", err)
	}
	return nil
}

// orNone returns classes, or one empty class.
func orNone(classes []string) []string {
	if len(classes) == 0 {
		return []string{""}
	}
	return classes
}

func yearCell(year int) string {
	if year == 0 {
		return ""
	}
	return strconv.Itoa(year)
}

// WriteExample writes a roster file to start from. Its names are invented.
func WriteExample(w io.Writer) error {
	return WriteCSV(w, []Row{
		{Name: "Ida Marrowby", BirthYear: 2013, PIN: "4827", Classes: []string{"Monday Juniors"}, Rope: "B1"},
		{Name: "Łukasz Zwierciadło", BirthYear: 2012, PIN: "0193", Lang: "pl", Classes: []string{"Monday Juniors"}},
		{Name: "陳小雨", SortName: "Chen Xiaoyu", BirthYear: 2014, PIN: "7305", Lang: "zh-Hant", Classes: []string{"Monday Juniors"}},
		{Name: "ليلى الزهراوي", SortName: "Layla al-Zahrawi", BirthYear: 2011, PIN: "6642", Lang: "ar"},
		{Name: "Solveig", PIN: "2958"},
	})
}
