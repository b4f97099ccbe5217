package e2e

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// A word is a printed one, in points from the page's top left.
type word struct {
	Text string  `xml:",chardata"`
	Left float64 `xml:"xMin,attr"`
	End  float64 `xml:"xMax,attr"`
	Top  float64 `xml:"yMin,attr"`
}

// printedWords reads where each word of a PDF is, as pdftotext of Poppler finds
// it.
func printedWords(t *testing.T, pdf []byte) []word {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "pdftotext", "-bbox", "-enc", "UTF-8", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	var document struct {
		Words []word `xml:"body>doc>page>word"`
	}
	if err := xml.Unmarshal(out, &document); err != nil {
		t.Fatal(err)
	}
	return document.Words
}

// namesOn lists the people on a page.
const namesOn = `[...document.querySelectorAll("main bdi.name")].map(e => e.innerText.trim())`

// printedOf opens a page and prints it; every name on the page is on paper, once
// each.
func (h *hand) printedOf(path string) (pages []string, pdf []byte) {
	h.Helper()
	h.open(path)
	names := value[[]string](h.tab, namesOn)
	if len(names) != 24 {
		h.Fatalf("%s names %d people, want 24: %s", path, len(names), h.words())
	}
	pdf = h.printed()
	pages = sheets(h.T, pdf)
	all := strings.Join(strings.Fields(strings.Join(pages, " ")), " ")
	for _, name := range names {
		if n := strings.Count(all, name); n != 1 {
			h.Errorf("%s has %s %d times on paper", path, name, n)
		}
	}
	for _, screen := range []string{"Sign out", "Skip to the page", "Print", "Help", "Look"} {
		if strings.Contains(all, screen) {
			h.Errorf("%s has %q on paper, which is for screens", path, screen)
		}
	}
	return pages, pdf
}

// readFromAfar checks that the numbers of a floor sheet are of 18 points or more:
// none is narrower on paper than the browser would write it at 18 points, in the
// narrower of the sheet's two fonts.
func (h *hand) readFromAfar(pdf []byte) {
	h.Helper()
	at18 := func(text string) float64 {
		const pointsPerPixel = 0.75
		return pointsPerPixel * value[float64](h.tab, fmt.Sprintf(`(() => { const pen = document.createElement("canvas").getContext("2d");
			return Math.min(...[".wall-number", ".wall-set"].map(name => { const style = getComputedStyle(document.querySelector(name));
				pen.font = style.fontWeight + " 18pt " + style.fontFamily; return pen.measureText(%s).width; })); })()`, quote(text)))
	}
	number := regexp.MustCompile(`^(\(?\d+\)?|×|rpm\)?)$`)
	words := printedWords(h.T, pdf)
	large := 0
	for _, w := range words {
		inGroup := slices.ContainsFunc(words, func(other word) bool { return other.Text == "×" && other.Top-w.Top < 6 && w.Top-other.Top < 6 })
		if !inGroup || !number.MatchString(w.Text) {
			continue
		}
		large++
		const rounding = 0.2
		if least := at18(w.Text); w.End-w.Left < least-rounding {
			h.Errorf("%q is %.1f points wide on paper, %.1f is 18 points high", w.Text, w.End-w.Left, least)
		}
	}
	if large < 2*24 {
		h.Errorf("%d numbers are found on the floor sheet, want two for each athlete at least", large)
	}
}

// What a class of twenty-four takes along on paper, as the browser prints it: a
// floor sheet of one page with numbers to be read from afar, a card for each, and
// a blank list for a day without power.
func TestPrintedSheets(t *testing.T) {
	h := classOf24(t, false)
	class := strings.TrimSuffix(h.at(), "/tests")
	boxes := value[[]string](h.tab, `[...document.querySelectorAll("main [data-box=rotations]")].map(e => e.name)`)
	for i, count := range counts(24) {
		h.fill(boxes[i], count)
	}
	h.press("Save results")
	h.open(class + "/check-in")
	h.press("Start class")
	h.press("Make plans for 24 here and send")
	h.says("24 of 24 made, all on the phones.")
	session := h.at()

	pages, pdf := h.printedOf(session + "/print/floor")
	if len(pages) != 1 {
		t.Errorf("the floor sheet takes %d pages, want one", len(pages))
	}
	for _, want := range []string{"Evening Class", "One group jumps, the others rest and count.", "Ash Lane"} {
		if !strings.Contains(strings.Join(strings.Fields(pages[0]), " "), want) {
			t.Errorf("the floor sheet does not say %q: %s", want, pages[0])
		}
	}
	h.readFromAfar(pdf)

	pages, _ = h.printedOf(session + "/print/cards")
	if len(pages) != 3 {
		t.Errorf("24 cards take %d pages, want three of eight", len(pages))
	}
	for i, page := range pages {
		text := strings.Join(strings.Fields(page), " ")
		if cards, stops := strings.Count(text, "Sets done"), strings.Count(text, "Stop if it hurts, and tell your coach."); cards != 8 || stops != 8 {
			t.Errorf("page %d of the cards has %d whole cards and %d cautions, want 8 and 8", i+1, cards, stops)
		}
	}

	pages, _ = h.printedOf(class + "/count-sheet")
	if len(pages) != 1 {
		t.Errorf("the count sheet takes %d pages, want one", len(pages))
	}
	for _, want := range []string{"Rotations", "Catches", "Here", "Counted by"} {
		if !strings.Contains(pages[0], want) {
			t.Errorf("the count sheet has no place for %q: %s", want, pages[0])
		}
	}
}
