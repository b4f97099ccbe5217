package roster

import (
	"reflect"
	"slices"
	"strings"
	"testing"
)

// limits are the usual ones in the year that the test files were written.
func limits() Limits { return UsualLimits(2026) }

func parse(t *testing.T, text string) Preview {
	t.Helper()
	p, err := ParseCSV(strings.NewReader(text), limits())
	if err != nil {
		t.Fatalf("ParseCSV(%q): %v", text, err)
	}
	return p
}

// names returns the names of the rows, one a line.
func (p Preview) names() string {
	var all []string
	for _, r := range p.Rows {
		all = append(all, r.Name)
	}
	return strings.Join(all, "\n")
}

// numbers returns the lines of problems.
func numbers(problems []LineProblem) []int {
	var all []int
	for _, p := range problems {
		all = append(all, p.Line)
	}
	return all
}

func TestParseOneAthlete(t *testing.T) {
	full := Row{Line: 2, Name: "Ida Marrowby", SortName: "Marrowby", BirthYear: 2013, PIN: "0427", Lang: "en",
		Classes: []string{"Monday Juniors"}, Rope: "B1"}
	bare := Row{Line: 2, Name: "Ida Marrowby"}
	for _, test := range []struct {
		name, text string
		want       Row
	}{
		{"commas", "Name,Sort name,Birth year,PIN,Language,Class,Rope\nIda Marrowby,Marrowby,2013,0427,en,Monday Juniors,B1\n", full},
		{"semicolons, other order", "rope;PIN;class;language;born;sort as;athlete\nB1;0427;Monday Juniors;EN;2013;Marrowby;Ida Marrowby\n", full},
		{"tabs", "name\tsort_name\tbirth_year\tpin\tlang\tclass\trope\nIda Marrowby\tMarrowby\t2013\t0427\ten\tMonday Juniors\tB1", full},
		{"tabs, gaps", "rope\tname\n\tIda Marrowby\n", bare},
		{"all quoted", "\"Name\",\"PIN\"\n\"Ida Marrowby\",\"\"\n", bare},
		{"carriage returns alone", "Name\rIda Marrowby\r", bare},
		{"CRLF", "Name,PIN\r\nIda Marrowby,\r\n", bare},
		{"byte order mark", "\ufeffName\nIda Marrowby\n", bare},
		{"declared separator", "sep=;\nName;PIN\nIda Marrowby;\n", Row{Line: 3, Name: "Ida Marrowby"}},
		{"no line end", "Name\nIda Marrowby", bare},
		{"missing values", "Name,PIN,Rope\nIda Marrowby\n", bare},
		{"empty columns behind", "Name,PIN\nIda Marrowby,,,,\n", bare},
		{"first and last name", "Last name,First name\nMarrowby,Ida\n", bare},
		{"first name alone", "Last name,First name\n,Ida\n", Row{Line: 2, Name: "Ida"}},
		{"family name first", "First name,Last name\n小雨,陳\n", Row{Line: 2, Name: "陳小雨", Lang: "und-Hani"}},
		{"date of birth", "Name,Date of birth\nIda Marrowby,04/05/2013\n", Row{Line: 2, Name: "Ida Marrowby", BirthYear: 2013}},
		{"ISO date of birth", "Name,DOB\nIda Marrowby,2013-05-04 00:00:00\n", Row{Line: 2, Name: "Ida Marrowby", BirthYear: 2013}},
		{"digits of another script", "Name,Birth year,PIN\nIda Marrowby,٢٠١٣,०४२७\n", Row{Line: 2, Name: "Ida Marrowby", BirthYear: 2013, PIN: "0427"}},
		{"spaces around", "Name , PIN\n  Ida \u00a0 Marrowby\u3000, 0427 \n", Row{Line: 2, Name: "Ida Marrowby", PIN: "0427"}},
		{"comma in quotes", "Name,PIN\n\"Marrowby, Ida\",\n", Row{Line: 2, Name: "Marrowby, Ida"}},
		{"pair of quotes inside", "Name,PIN\nIda \"Ace\" Marrowby,\n", Row{Line: 2, Name: "Ida \"Ace\" Marrowby"}},
		{"guarded formula", "Name\n'=Ida\n", Row{Line: 2, Name: "=Ida"}},
		{"apostrophe of a name", "Name\n'Akamu\n", Row{Line: 2, Name: "'Akamu"}},
		{"language unknown", "Name,Language\nIda Marrowby,und\n", bare},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := parse(t, test.text)
			if len(p.Problems) > 0 || !reflect.DeepEqual(p.Rows, []Row{test.want}) {
				t.Errorf("rows %+v, problems %+v; want %+v", p.Rows, p.Problems, test.want)
			}
		})
	}
}

func TestParseNamesAlone(t *testing.T) {
	p := parse(t, "Amara\n\n  Þórdís Blæng \r\n李晓澜\n\"Fisk, Amara\"\nFisk, Bea\nBo\tLi\n17\n")
	if got, want := p.names(), "Amara\nÞórdís Blæng\n李晓澜\nFisk, Amara"; got != want {
		t.Errorf("names %q, want %q", got, want)
	}
	if got := numbers(p.Problems); !slices.Equal(got, []int{6, 7, 8}) {
		t.Errorf("problems %+v", p.Problems)
	}
}

func TestBadLinesAreNamedAndCostNoGoodOne(t *testing.T) {
	for _, test := range []struct {
		name, line, sentence string
	}{
		{"no name", ",2013,4827", "This line has no name. Type one, or take the line out."},
		{"short year", "Bo,13,4827", "Birth year must be four digits, like 2013. This line says “13”."},
		{"year in words", "Bo,May 2013,4827", "Birth year must be four digits, like 2013. This line says “May 2013”."},
		{"two years", "Bo,2012/2013,4827", "Birth year must be four digits, like 2013. This line says “2012/2013”."},
		{"year to come", "Bo,2031,4827", "Birth year must be from 1916 to 2024. This line says “2031”."},
		{"year long ago", "Bo,1915,4827", "Birth year must be from 1916 to 2024. This line says “1915”."},
		{"short PIN", "Bo,2013,427", "A PIN is four digits. This line says “427”; a spreadsheet may have dropped a 0 in front."},
		{"long PIN", "Bo,2013,48271", "A PIN is four digits, like 4827. This line says “48271”."},
		{"letters for a PIN", "Bo,2013,abcd", "A PIN is four digits, like 4827. This line says “abcd”."},
		{"too many values", "Li, Bo,2013,4827", "This line has 4 values for 3 columns. Put quote marks around a value that holds a comma."},
		{"open quote", "\"Bo,2013,4827", "A quote mark is out of place. Take it out, or put one at each end of the value."},
		{"closed quote", "Bo\",2013,4827", "A quote mark is out of place. Take it out, or put one at each end of the value."},
		{"text behind a quote", "\"Bo\" Li,2013,4827", "A quote mark is out of place. Take it out, or put one at each end of the value."},
		{"number for a name", "17,2013,4827", "A name needs at least one letter. This line says “17”."},
		{"lost letter", "S\ufffd\ufffdn,2013,4827", "A letter of this name was lost (�). Type the name again."},
		{"endless name", strings.Repeat("Bo", 61) + ",2013,4827", "This name has 122 characters. Use 120 or fewer."},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := parse(t, "Name,Born,PIN\nAmara,2013,4827\n"+test.line+"\nZoë,2012,0193\nIda,,\n")
			if got := p.names(); got != "Amara\nZoë\nIda" {
				t.Errorf("good names %q", got)
			}
			if len(p.Problems) != 1 || p.Problems[0].Line != 3 || p.Problems[0].Sentence != test.sentence {
				t.Fatalf("problems %+v", p.Problems)
			}
			if !strings.HasPrefix(test.line, p.Problems[0].Text) {
				t.Errorf("text %q of %q", p.Problems[0].Text, test.line)
			}
		})
	}
}

func TestACommaUnderOneHeading(t *testing.T) {
	p := parse(t, "Name\nFisk, Amara\nBea\n")
	if p.names() != "Bea" || !slices.Equal(numbers(p.Problems), []int{2}) {
		t.Errorf("rows %+v, problems %+v", p.Rows, p.Problems)
	}
}

func TestBadLanguageAndLabels(t *testing.T) {
	p := parse(t, "Name,Language,Class,Rope\nBo,Polsh!,"+strings.Repeat("x", 61)+",B1\n")
	want := []string{
		"Language must be a code, like ar or pl. This line says “Polsh!”.",
		"The class has 61 characters. Use 60 or fewer.",
	}
	var got []string
	for _, problem := range p.Problems {
		got = append(got, problem.Sentence)
	}
	if !slices.Equal(got, want) {
		t.Errorf("sentences %q, want %q", got, want)
	}
}

func TestUnreadColumns(t *testing.T) {
	p := parse(t, "Name,Shoes,PIN,Notes\nAmara,38,4827,\"likes\nlong, rows\n\n\"\nBea,39,0193,\n")
	if got := p.names(); got != "Amara\nBea" || len(p.Problems) > 0 {
		t.Errorf("names %q, problems %+v", got, p.Problems)
	}
	if !slices.Equal(p.Ignored, []string{"Shoes", "Notes"}) || p.Rows[1].PIN != "0193" || p.Rows[1].Line != 6 {
		t.Errorf("ignored %q, rows %+v", p.Ignored, p.Rows)
	}
}

func TestAnOpenQuoteDoesNotSwallowTheNextLines(t *testing.T) {
	p := parse(t, "Name,Notes\n\"Amara,x\nBea,y\nCy,z\"\nDee,\"w\n\nEve,v\n")
	if got := p.names(); got != "Bea\nEve" {
		t.Errorf("names %q", got)
	}
	if got := numbers(p.Problems); !slices.Equal(got, []int{2, 4, 5}) {
		t.Errorf("problems %+v", p.Problems)
	}
}

func TestTheSamePersonTwice(t *testing.T) {
	p := parse(t, `Name,Born,PIN,Class,Rope
Amara Fisk,2013,4827,Monday,
AMARA  FISK,2013,,Monday,
Amara Fisk,2013,,Tuesday,B1
Amara Fisk,2012,1111,,
Amara Fisk,2013,9999,,
Amara Fisk,,,,
`)
	want := []Row{
		{Line: 2, Name: "Amara Fisk", BirthYear: 2013, PIN: "4827", Classes: []string{"Monday", "Tuesday"}, Rope: "B1"},
		{Line: 5, Name: "Amara Fisk", BirthYear: 2012, PIN: "1111"},
		{Line: 7, Name: "Amara Fisk"},
	}
	if !reflect.DeepEqual(p.Rows, want) {
		t.Errorf("rows %+v, want %+v", p.Rows, want)
	}
	if got := numbers(p.Repeats); !slices.Equal(got, []int{3, 4}) {
		t.Errorf("repeats %+v", p.Repeats)
	}
	sentence := "Line 2 has the same name and birth year with another PIN. Keep one of the two lines."
	if len(p.Problems) != 1 || p.Problems[0].Line != 6 || p.Problems[0].Sentence != sentence {
		t.Errorf("problems %+v", p.Problems)
	}
}

func TestAGuessedLanguageContradictsNobody(t *testing.T) {
	p := parse(t, "Name,Language,Class\nسارا,,Monday\nسارا,fa,Tuesday\n")
	if len(p.Problems) > 0 || len(p.Rows) != 1 || p.Rows[0].Lang != "fa" {
		t.Errorf("rows %+v, problems %+v", p.Rows, p.Problems)
	}
}
