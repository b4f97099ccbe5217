package e2e

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	protocol "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// A hand counts what somebody does on a tab, as a walk through the program is
// judged: taps, and the time that they take a person.
type hand struct {
	*tab
	taps   int
	folder string // where downloads go
}

// newHand signs the owner in on a desk of 1366 by 768.
func newHand(t *testing.T, p *program, scripts bool) *hand {
	t.Helper()
	h := &hand{tab: newTab(t, p, 1366, 768), folder: t.TempDir()}
	if _, err := chromedp.Call(h.ctx, protocol.SetDownloadBehavior, protocol.SetDownloadBehaviorParams{Behavior: "allow", DownloadPath: h.folder,
		BrowserContextID: chromedp.FromContext(h.ctx).BrowserContextID}); err != nil {
		t.Fatal(err)
	}
	if !scripts {
		h.noScript()
	}
	h.signIn("desmond@tallowmere.example", "quoin yard at noon")
	return h
}

// find marks what can be pressed and reads so, in the page or its navigation.
func (h *hand) find(label string) chromedp.Action[chromedp.Void] {
	h.Helper()
	h.taps++
	if !value[bool](h.tab, fmt.Sprintf(`(() => {
		document.querySelector("[data-pressed]")?.removeAttribute("data-pressed");
		const found = [...document.querySelectorAll("main button, main a, main label, nav a")].find(e => e.checkVisibility() && e.innerText.trim().replace(/\s+/g, " ") === %s);
		found?.setAttribute("data-pressed", "");
		return !!found;
	})()`, quote(label))) {
		h.Fatalf("nothing reads %q; the page says: %s", label, h.words())
	}
	return chromedp.Click(chromedp.CSS("[data-pressed]"))
}

// goes taps what leads to another page.
func (h *hand) goes(label string) { h.Helper(); h.leaves(h.find(label)) }

// taps something that stays on the page.
func (h *hand) tap(label string) { h.Helper(); h.do(h.find(label)) }

// picks opens a list and takes an option: two taps.
func (h *hand) picks(name, text string) { h.Helper(); h.taps += 2; h.choose(name, text) }

// within checks a task against what it may take. The time is modelled, so that it
// is the same on every machine: 1.35 s to think and 0.4 s to tap for each tap
// (Card, Moran and Newell, The keystroke-level model, 1980, for thinking).
func (h *hand) within(task string, taps int, seconds float64) {
	h.Helper()
	took := float64(h.taps) * (1.35 + 0.4)
	h.Logf("%s: %d taps, %.0f s as modelled", task, h.taps, took)
	if h.taps > taps || took > seconds {
		h.Errorf("%s took %d taps and %.0f s as modelled; %d and %.0f are allowed", task, h.taps, took, taps, seconds)
	}
}

// saved waits for a download whose name ends so, and returns it.
func (h *hand) saved(ending string) []byte {
	h.Helper()
	for range 300 {
		whole, err := filepath.Glob(filepath.Join(h.folder, "*"+ending))
		if err != nil {
			h.Fatal(err)
		}
		if len(whole) == 1 {
			body, err := os.ReadFile(whole[0])
			if err != nil {
				h.Fatal(err)
			}
			return body
		}
		time.Sleep(100 * time.Millisecond)
	}
	h.Fatalf("no file that ends with %s was saved", ending)
	return nil
}

// printed prints the page as the browser would, on A4 as its style says.
func (h *hand) printed() []byte {
	h.Helper()
	yes := true
	made, err := chromedp.Call(h.ctx, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: &yes})
	if err != nil {
		h.Fatal(err)
	}
	return made.Data
}

// sheets reads a PDF page by page as another program does: pdftotext of Poppler.
// Text that can be selected is text that it finds.
func sheets(t *testing.T, pdf []byte) []string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "pdftotext", "-enc", "UTF-8", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	marks := regexp.MustCompile("[\u202a-\u202e\u2066-\u2069\u200e\u200f]") // where a line changes its direction
	pages := strings.Split(marks.ReplaceAllString(string(out), ""), "\f")
	return pages[:len(pages)-1]
}

// named are the athletes whose reports a page shows.
func named(b *tab) []string {
	b.Helper()
	return value[[]string](b, `[...document.querySelectorAll("main article.sheet :is(h1, h2) bdi")].map(e => e.innerText.trim())`)
}

// oneEach checks that every athlete has one whole page and nobody else is on it:
// the last line of a page is there, so nothing was cut or pushed over its end.
func oneEach(t *testing.T, pages, names []string) {
	t.Helper()
	if len(names) < 14 || len(pages) != len(names) {
		t.Fatalf("%d pages for %d athletes", len(pages), len(names))
	}
	for i, name := range names {
		text := strings.Join(strings.Fields(pages[i]), " ")
		if !strings.Contains(text, name) {
			t.Errorf("page %d does not name %s: %.120s", i+1, name, text)
		}
		for _, want := range []string{"Without a catch", "Meetings", "What comes next", "Nobody is compared with others."} {
			if strings.Count(text, want) != 1 {
				t.Errorf("the page of %s says %q %d times", name, want, strings.Count(text, want))
			}
		}
		for j, other := range names {
			if i != j && strings.Contains(text, other) {
				t.Errorf("the page of %s names %s", name, other)
			}
		}
	}
}

// The owner makes the autumn's report of a class and prints it: from the browser
// and as a file, with scripts and without.
func TestOwnerPrintsATerm(t *testing.T) {
	p, err := run("demo", "Stop with Ctrl-C.") // its own: files are made
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	for name, scripts := range map[string]bool{"with scripts": true, "without scripts": false} {
		t.Run(name, func(t *testing.T) {
			h := newHand(t, p, scripts)
			h.goes("Reports")
			h.says("Reports: Autumn 2026")
			h.goes("A page for each athlete of Tuesday Starters")
			names := named(h.tab)
			oneEach(t, sheets(t, h.printed()), names)
			h.taps++ // the browser's own Print
			h.within("printing a class from the browser", 5, 40)

			h.taps = 0
			h.goes("Reports")
			h.picks("what", "Tuesday Starters")
			h.goes("Make the file")
			h.says("Save the file")
			h.tap("Save the file")
			pages := sheets(t, h.saved(".pdf"))
			h.within("printing a class from a file", 5, 40)
			if !strings.Contains(pages[0], "Tuesday Starters") || !strings.Contains(pages[0], "For coaches and the owner") {
				t.Errorf("the first page is not the one about the class: %.200s", pages[0])
			}
			oneEach(t, pages[1:], names)
		})
	}
	t.Run("by keyboard", func(t *testing.T) {
		h := newHand(t, p, true)
		h.tabTo("Reports")
		h.leaves(chromedp.KeyEvent(kb.Enter))
		h.pick("what", "Tue")
		h.pick("format", "PDF, A4")
		h.enter("Make the file")
		h.says("Save the file")
		h.tabTo("Save the file")
		h.do(chromedp.KeyEvent(kb.Enter))
		if pages := sheets(t, h.saved(".pdf")); len(pages) != 15 {
			t.Errorf("%d pages, want one for the class and one for each of 14", len(pages))
		}
	})
}

// The owner takes a person's data along and lets the person be forgotten; for 30
// days that can be undone.
func TestOwnerForgetsAPerson(t *testing.T) {
	p, err := run("demo", "Stop with Ctrl-C.") // its own: somebody is forgotten
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	for name, scripts := range map[string]bool{"with scripts": true, "without scripts": false} {
		t.Run(name, func(t *testing.T) {
			const who = "نور الحلواني"
			h := newHand(t, p, scripts)
			h.open("/athletes")
			h.goes(who)
			h.goes("Take data along, or forget")
			h.tap("Take it along")
			theirs(t, h.saved(".zip"), who) // another form would break it off
			h.tap("The athlete")
			h.tap("Yes, forget this athlete")
			h.goes("Forget in 30 days")
			h.within("exporting and forgetting a person", 6, 60)
			h.says(who+" is in no list any more", "forgotten in 30 days", "To be forgotten")

			h.open("/athletes")
			if strings.Contains(h.words(), who) {
				t.Error("the list still names who is to be forgotten")
			}
			h.open("/privacy")
			h.goes("Undo")
			h.says("Undone. Everything is as it was.")
			h.open("/athletes")
			h.says(who)
		})
	}
}

// theirs checks that tables which a spreadsheet program opens name the person as
// the roster does, in their script.
func theirs(t *testing.T, body []byte, who string) {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	if err != nil {
		t.Fatal(err)
	}
	file, err := archive.Open("csv/athlete.csv")
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(text, []byte("\ufeff")) || !bytes.Contains(text, []byte(who)) {
		t.Errorf("the table reads\n%s", text)
	}
}
