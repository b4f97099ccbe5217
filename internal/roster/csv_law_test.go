package roster

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ropewalk.example/internal/problem"
)

// anyRows draws a roster as a preview may hold it.
func anyRows() *rapid.Generator[[]Row] {
	return rapid.Custom(func(t *rapid.T) []Row {
		var rows []Row
		seen := map[identity]bool{}
		line := 2
		for range rapid.IntRange(1, 12).Draw(t, "rows") {
			row := anyRow().Draw(t, "row")
			id := identity{NameKey(row.Name), row.BirthYear}
			if seen[id] {
				continue
			}
			seen[id] = true
			row.Line = line
			line += max(1, len(row.Classes))
			rows = append(rows, row)
		}
		return rows
	})
}

func anyRow() *rapid.Generator[Row] {
	name := rapid.Map(anyText(), func(s string) string {
		cleaned, _ := CleanName(cut(s, 60))
		return cleaned
	})
	text := rapid.Map(anyText(), func(s string) string { return clean(cut(s, 30)) })
	return rapid.Custom(func(t *rapid.T) Row {
		row := Row{
			Name:      name.Filter(func(s string) bool { return s != "" }).Draw(t, "name"),
			SortName:  name.Draw(t, "sort name"),
			BirthYear: rapid.OneOf(rapid.Just(0), rapid.IntRange(1916, 2024)).Draw(t, "birth year"),
			PIN:       rapid.StringMatching(`([0-9]{4})?`).Draw(t, "PIN"),
			Lang:      rapid.SampledFrom([]string{"", "ar", "pl", "zh-Hant", "und-Cyrl"}).Draw(t, "language"),
			Rope:      text.Draw(t, "rope"),
		}
		for _, class := range rapid.SliceOfNDistinct(text, 0, 3, NameKey).Draw(t, "classes") {
			if class != "" {
				row.Classes = append(row.Classes, class)
			}
		}
		if row.Lang == "" {
			row.Lang = GuessLang(row.Name)
		}
		return row
	})
}

func TestAWrittenRosterReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := anyRows().Draw(t, "roster")
		var file bytes.Buffer
		if err := WriteCSV(&file, want); err != nil {
			t.Fatal(err)
		}
		p, err := ParseCSV(&file, limits())
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Problems) > 0 || !reflect.DeepEqual(p.Rows, want) {
			t.Errorf("rows %#v, problems %#v; want %#v", p.Rows, p.Problems, want)
		}
	})
}

// Bad lines among good ones, each bad in one way.
func TestEveryLineIsReadOrNamed(t *testing.T) {
	bad := []string{",2013,", "Bo,13,", "Bo,,12345", "\"Bo,2013,", "Bo\",2013,", "17,,", "Bo,2013,,x", "\"Bo\"x,2013,"}
	rapid.Check(t, func(t *rapid.T) {
		comma := rapid.SampledFrom([]string{",", ";", "\t"}).Draw(t, "comma")
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "line end")
		text := strings.ReplaceAll("Name,Born,PIN", ",", comma) + end
		var wantBad []int
		var wantNames []string
		for number := 2; number <= rapid.IntRange(2, 40).Draw(t, "lines"); number++ {
			l := rapid.SampledFrom(append(bad, "", "good", "good", "good", "quoted")).Draw(t, "line")
			switch name := fmt.Sprintf("Athlete %c%d", 'A'+number%26, number); l {
			case "good":
				l = name + ",2013,"
				wantNames = append(wantNames, name)
			case "quoted":
				l = "\"" + name + "\",\"2013\""
				wantNames = append(wantNames, name)
			case "":
			default:
				wantBad = append(wantBad, number)
			}
			text += strings.ReplaceAll(l, ",", comma) + end
		}
		p, err := ParseCSV(strings.NewReader(text), limits())
		if len(wantBad)+len(wantNames) == 0 {
			if problem.KindOf(err) != problem.Invalid {
				t.Fatalf("error %v", err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if p.names() != strings.Join(wantNames, "\n") || !slices.Equal(numbers(p.Problems), wantBad) {
			t.Errorf("%q: names %q, problems %+v", text, p.names(), p.Problems)
		}
	})
}

// Well-formed files split as encoding/csv splits them.
func TestValuesAreThoseOfTheStandardReader(t *testing.T) {
	value := rapid.Map(anyText(), func(s string) string { return clean(cut(s, 20)) })
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOfN(value, 2, 8).Draw(t, "values")
		comma := rapid.SampledFrom(commas()).Draw(t, "comma")
		var text bytes.Buffer
		w := csv.NewWriter(&text)
		w.Comma = comma
		if err := w.Write(want); err != nil {
			t.Fatal(err)
		}
		w.Flush()
		got, err := fields(strings.TrimSuffix(text.String(), "\n"), comma)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%q gives %q, %v; want %q", text.String(), got, err, want)
		}
	})
}

func FuzzParseCSV(f *testing.F) {
	for _, seed := range []string{
		"", "Name\nAmara\n", "\ufeffName;PIN\r\nAmara;4827\r\n", "Amara\nBea\n", "Name,Notes\nAmara,\"a\nb\"\n",
		"Name,Notes\n\"Amara,x\nBea,y\nCy,z\"\n", "\xff\xfeN\x00a\x00m\x00e\x00\n\x00A\x00", "sep=;\nName;PIN\nAmara;1234",
		"First,Last,Born\n小雨,陳,2013-01-02\n", "Name\n'=1+1|x\n", "Name\nSi\xe2n\n", "Name,Class\nA,x\nA,y\n", "PK\x03\x04",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := ParseCSV(bytes.NewReader(data), limits())
		if err != nil {
			if problem.KindOf(err) == problem.Internal {
				t.Fatalf("error %v is not for people", err)
			}
			return
		}
		if len(p.Rows)+len(p.Problems) == 0 {
			t.Fatal("nothing read and nothing named")
		}
		for _, l := range slices.Concat(p.Problems, p.Repeats) {
			if l.Line < 1 || l.Sentence == "" {
				t.Fatalf("problem %+v", l)
			}
		}
		var file bytes.Buffer
		if err := WriteCSV(&file, p.Rows); err != nil {
			t.Fatal(err)
		}
		if len(p.Rows) == 0 {
			return
		}
		again, err := ParseCSV(&file, Limits{Bytes: 64 << 20, Lines: 10000, Year: 2026})
		if err != nil || len(again.Problems) > 0 {
			t.Fatalf("written file: %v, %+v", err, again.Problems)
		}
		for _, rows := range [][]Row{p.Rows, again.Rows} {
			for i := range rows {
				rows[i].Line = 0
			}
		}
		if !reflect.DeepEqual(again.Rows, p.Rows) {
			t.Fatalf("rows %#v became %#v", p.Rows, again.Rows)
		}
	})
}
