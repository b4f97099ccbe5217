package report

import (
	"bytes"
	"compress/zlib"
	"encoding/hex"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf16"

	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/review"
	"ropewalk.example/web/tongue"
)

// spoken makes the PDF of facts in a voice.
func spoken(t *testing.T, g review.Ground, facts []review.Facts, voice Voice) []byte {
	t.Helper()
	letters, err := paper.OpenLetters()
	if err != nil {
		t.Fatal(err)
	}
	s := subject(g, len(facts))
	s.Voice = voice
	var b bytes.Buffer
	write(t, g, facts, NewPDF(&b, letters, paper.A4(), s))
	return b.Bytes()
}

func TestSpanishPDF(t *testing.T) {
	languages, err := tongue.Load()
	if err != nil {
		t.Fatal(err)
	}
	es := languages["es"]
	g := ground(t)
	pages := textOf(t, spoken(t, g, sample(g), Voice{es.Tag, es.Text}))
	golden(t, "es.pdf.txt", strings.Join(pages, "\n--- page ---\n"))
	for _, want := range []string{"7 sep a 29 nov 2026", "Marit Okonjo-Lindqvist", "Lands softly now. Keep the hands by the hips.", "A steady minute with two catches or fewer.", "Etapas"} {
		if !strings.Contains(pages[1], want) {
			t.Errorf("the page of %s does not say %q:\n%s", sample(g)[0].Athlete.Name, want, pages[1])
		}
	}
}

// cyrillic is a language that says every text of the catalogue in one Cyrillic
// letter: what is Latin in a document was in no catalogue.
func cyrillic(t *testing.T) *tongue.Language {
	t.Helper()
	data, err := os.ReadFile("../../web/tongue/en.json")
	if err != nil {
		t.Fatal(err)
	}
	var texts []string
	if err := json.Unmarshal(data, &texts); err != nil {
		t.Fatal(err)
	}
	l := &tongue.Language{Tag: "x-marked", Dir: "ltr", Texts: map[string]string{}, Days: strings.Fields("ж ж ж ж ж ж ж"),
		Months: strings.Fields("ж ж ж ж ж ж ж ж ж ж ж ж"), Date: "{weekday} {day} {month}"}
	for _, text := range texts {
		l.Texts[text] = strings.Map(func(r rune) rune {
			if unicode.IsLetter(r) {
				return 'ж'
			}
			return r
		}, text)
	}
	return l
}

// hidden returns what a PDF says without showing it: its title, the bookmarks,
// and the words for pictures.
func hidden(t *testing.T, pdf []byte) []string {
	t.Helper()
	var said []string
	for rest := pdf; ; {
		_, after, found := bytes.Cut(rest, []byte("stream\n"))
		if !found {
			break
		}
		body, next, _ := bytes.Cut(after, []byte("\nendstream"))
		rest = next
		r, err := zlib.NewReader(bytes.NewReader(body))
		if err != nil {
			continue // the metadata, which are plain
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`/(?:Alt|Title)<FEFF([0-9A-F]*)>`).FindAllSubmatch(text, -1) {
			units, err := hex.DecodeString(string(m[1]))
			if err != nil {
				t.Fatal(err)
			}
			var wide []uint16
			for i := 0; i+1 < len(units); i += 2 {
				wide = append(wide, uint16(units[i])<<8|uint16(units[i+1]))
			}
			said = append(said, string(utf16.Decode(wide)))
		}
	}
	return said
}

// In a language that runs from right to left names, headings and sentences stand
// at the right; the letters are those of the language.
func TestPDFFromRightToLeft(t *testing.T) {
	g := ground(t)
	facts := sample(g)[:1]
	facts[0].Athlete.Name, facts[0].Athlete.Lang = "נועה לוי", "he"
	hebrew := Voice{"he", func(english string) string {
		return strings.Map(func(r rune) rune {
			if unicode.IsLetter(r) {
				return 'ש'
			}
			return r
		}, english)
	}}
	pdf := spoken(t, g, facts, hebrew)
	if page := textOf(t, pdf)[1]; !strings.Contains(page, facts[0].Athlete.Name) || strings.Contains(page, "Rates") {
		t.Errorf("the page reads\n%s", page)
	}
	cmd := exec.CommandContext(t.Context(), "pdftotext", "-f", "2", "-l", "2", "-bbox", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	// The name, from the left as it stands, and the heading "Rates" below it.
	for _, want := range []string{"העונ", "ששששש"} {
		edge := 0.0
		for _, at := range regexp.MustCompile(`xMax="([\d.]+)" yMax="[\d.]+">`+want+`<`).FindAllSubmatch(out, -1) {
			if x, err := strconv.ParseFloat(string(at[1]), 64); err == nil {
				edge = max(edge, x)
			}
		}
		if edge < 540 { // of 595
			t.Errorf("%s ends at %g points from the left", want, edge)
		}
	}
}

// variety are athletes with whom every sentence of a page is said.
func variety(g review.Ground) []review.Facts {
	facts := sample(g)
	slower, doubles, silent := sample(g)[0], sample(g)[2], review.Facts{}
	silent.Athlete.Name = "Ngọc Trầm"
	for i := range slower.Results {
		if r := &slower.Results[i]; r.Seconds != nil {
			r.Rotations, r.LostSeconds = ptr(160-8*i), nil
		}
	}
	slower.Comment = sample(g)[1].Comment
	for i := range doubles.Results {
		if r := &doubles.Results[i]; r.FlightSeconds != nil {
			r.FlightSeconds = ptr(0.3)
		}
	}
	odd := test(9, 8, 400, 0)
	odd.KeptOdd = true
	doubles.Results = append(doubles.Results, odd)
	return append(facts, slower, doubles, silent)
}

func TestEveryTextOfThePDFCanBeTranslated(t *testing.T) {
	l := cyrillic(t)
	g := ground(t)
	facts := variety(g)
	names := []string{"Tallowmere Rope Hall", "", "Tuesday Starters", "", "Autumn 2026", "", "Marit Okonjo-Lindqvist", ""}
	for _, f := range facts {
		names = append(names, f.Athlete.Name, "")
	}
	for _, word := range strings.Fields(facts[0].Comment.Comment + " " + facts[0].Comment.Aim) {
		names = append(names, word, "")
	}
	data := strings.NewReplacer(names...)
	latin := regexp.MustCompile(`\p{Latin}{2,}`)
	pdf := spoken(t, g, facts, Voice{l.Tag, l.Text})
	seen := 0
	for i, page := range textOf(t, pdf) {
		for line := range strings.SplitSeq(page, "\n") {
			if seen += strings.Count(line, "ж"); latin.MatchString(data.Replace(line)) {
				t.Errorf("page %d says %q, which is in no catalogue", i+1, line)
			}
		}
	}
	alts := hidden(t, pdf)
	for _, text := range alts {
		if latin.MatchString(data.Replace(text)) {
			t.Errorf("said aloud is %q, which is in no catalogue", text)
		}
	}
	if seen < 1000 || len(alts) < 20 {
		t.Errorf("%d letters and %d hidden texts were looked at", seen, len(alts))
	}
}
