package report

import (
	"bytes"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/review"
)

// textOf returns what a PDF says, page by page, as another program reads it:
// pdftotext of Poppler, which make test installs.
func textOf(t *testing.T, pdf []byte) []string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "pdftotext", "-enc", "UTF-8", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	marks := regexp.MustCompile("[\u202a-\u202e\u2066-\u2069\u200e\u200f]") // where a line changes its direction
	spaces := regexp.MustCompile(`[ \t\x{a0}\x{202f}]+`)
	pages := strings.Split(marks.ReplaceAllString(string(out), ""), "\f")
	for i := range pages {
		pages[i] = spaces.ReplaceAllString(pages[i], " ")
	}
	return pages[:len(pages)-1]
}

func TestWordsOfThePDF(t *testing.T) {
	made := formats(t)
	for _, name := range []string{"a4.pdf", "letter.pdf"} {
		pages := textOf(t, made[name]())
		if len(pages) != 6 {
			t.Errorf("%s has %d pages, want one for all and one for each of five", name, len(pages))
		}
		golden(t, name+".txt", strings.Join(pages, "\n--- page ---\n"))
	}
}

// Names come out as they went in, whatever their script and direction.
func TestNamesInThePDF(t *testing.T) {
	g := ground(t)
	facts := sample(g)
	pages := textOf(t, formats(t)["a4.pdf"]())
	for i, f := range facts {
		if !strings.Contains(pages[i+1], f.Athlete.Name) {
			t.Errorf("page %d does not say %s:\n%s", i+2, f.Athlete.Name, pages[i+1])
		}
	}
	// Poppler turns the two letters of a lam-alef about, so this part has none.
	if !strings.Contains(strings.ReplaceAll(pages[2], "\n", " "), "وتلتقط الحبل أقل من قبل") {
		t.Errorf("the comment in Arabic reads\n%s", pages[2])
	}
}

// However much a coach wrote, an athlete has one page, with its foot in sight.
func TestLongWordsFitThePage(t *testing.T) {
	letters, err := paper.OpenLetters()
	if err != nil {
		t.Fatal(err)
	}
	g := ground(t)
	facts := sample(g)[:1]
	facts[0].Comment.Comment = strings.Repeat("Lands softly and looks ahead. ", 23)
	facts[0].Comment.Aim = strings.Repeat("Hands by the hips. ", 11)[:200]
	facts[0].Athlete.Name = "Wilhelmina Featherstonehaugh-Abernathy-Okafor of the Very Long Name Indeed"
	for _, size := range []paper.Size{paper.A4(), paper.Letter()} {
		var b bytes.Buffer
		s := subject(g, 1)
		s.Alone = true
		write(t, g, facts, NewPDF(&b, letters, size, s))
		pages := textOf(t, b.Bytes())
		if len(pages) != 1 || !strings.Contains(pages[0], "page 1 of 1") || strings.Count(pages[0], "softly") != 23 {
			t.Errorf("%g points high: %d pages, the first\n%s", size.Height, len(pages), pages[0])
		}
	}
}

func TestEmptyReports(t *testing.T) {
	letters, err := paper.OpenLetters()
	if err != nil {
		t.Fatal(err)
	}
	g := ground(t)
	for name, begin := range map[string]func(b *bytes.Buffer) (Writer, error){
		"PDF":  func(b *bytes.Buffer) (Writer, error) { return NewPDF(b, letters, paper.A4(), subject(g, 0)), nil },
		"XLSX": func(b *bytes.Buffer) (Writer, error) { return NewXLSX(b, subject(g, 0)) },
		"CSV":  func(b *bytes.Buffer) (Writer, error) { return NewCSV(b, subject(g, 0)) },
	} {
		var b bytes.Buffer
		w, err := begin(&b)
		if err != nil {
			t.Fatal(err)
		}
		write(t, g, nil, w)
		if b.Len() == 0 {
			t.Errorf("a %s about nobody is empty", name)
		}
	}
}

// Nobody is ranked: a page says nothing of others.
func TestPagesCompareNobody(t *testing.T) {
	g := ground(t)
	facts := sample(g)
	for i, page := range textOf(t, formats(t)["a4.pdf"]())[1:] {
		for j, f := range facts {
			if i != j && strings.Contains(page, f.Athlete.Name) {
				t.Errorf("the page of %s names %s", facts[i].Athlete.Name, f.Athlete.Name)
			}
		}
		for _, word := range []string{"rank", "average of the class", "place of", "better than"} {
			if strings.Contains(page, word) {
				t.Errorf("the page of %s says %q", facts[i].Athlete.Name, word)
			}
		}
	}
}

// A page about all holds what fits and says how many more there are.
func TestManyWhoNeedALook(t *testing.T) {
	letters, err := paper.OpenLetters()
	if err != nil {
		t.Fatal(err)
	}
	g := ground(t)
	var many []review.Facts
	for range 60 {
		many = append(many, sample(g)[4])
	}
	var b bytes.Buffer
	write(t, g, many, NewPDF(&b, letters, paper.A4(), subject(g, len(many))))
	pages := textOf(t, b.Bytes())
	if len(pages) != 61 || !strings.Contains(pages[0], "more; the page of the report lists them all") {
		t.Errorf("%d pages, the first\n%s", len(pages), pages[0])
	}
}
