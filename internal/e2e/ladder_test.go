package e2e

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// standsOn tells which stage each athlete of the whole gym stands on, by title:
// the number before it may change with the ladder.
const standsOn = `Object.fromEntries([...document.querySelectorAll("main .rungs > li")].flatMap(rung => {
	const title = rung.querySelector("h3").innerText.replace(/^Stage \d+:/, "").trim();
	return [...rung.querySelectorAll("a[href$='/gate']")].map(a => [a.getAttribute("href"), title]);
}))`

// The ladder editor from copy to use, with a mouse: the copy of the ladder that
// ships is renamed, reordered and added to, a gate is built with selects and
// looked at with real results, published and put into use. Everybody keeps the
// place. Then the ladder goes out as a file and comes in again.
func TestLadderEditor(t *testing.T) {
	p, err := run("demo", "Stop with Ctrl-C.") // its own: the ladder in use changes
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	b := newTab(t, p, 1280, 800)
	b.signIn("marit@tallowmere.example", "twelve ropes on a rack")
	b.open("/stages?class=all")
	before := value[map[string]string](b, standsOn)
	if len(before) < 20 {
		t.Fatalf("%d athletes stand on stages", len(before))
	}

	editor := copyLadder(b)
	b.fill("name", "Frost ladder")
	b.press("Rename it")
	b.says("The ladder is now called “Frost ladder”.")
	b.press("Words and drill of Steady minute")
	b.fill("title", "Calm minute")
	b.press("Keep these words")
	b.says("“Steady minute” is now called “Calm minute”.")
	b.do(chromedp.Click(chromedp.CSS("#down-long-clean-run")))
	b.says("“Long clean run” moved from place 7 to place 8.")
	if at := value[string](b, `document.activeElement.id`); at != "down-long-clean-run" {
		t.Errorf("after a move the focus is at %q, not at the button that was pressed", at)
	}
	addStage(b)
	buildGate(b)
	ready := easeGate(b, editor)
	b.lookAtEditor(editor)

	b.open(editor)
	b.press("Look and publish")
	b.says("Publish version 2", "“Side swings” is new, as stage 4.", "The gate of “Calm minute” changed.", "Nobody. Everybody keeps the place.", ready)
	b.fill("note", "A calmer minute.")
	b.press("Publish version 2")
	b.says("Version 2 is published. Everybody keeps the place.", "Not in use, version 2", "“A calmer minute.”")
	b.press("Use this ladder")
	b.says("Nobody. Everybody keeps the place.")
	b.press("Use “Frost ladder”")
	b.says("“Frost ladder” is in use. Everybody keeps the place.", "In use, version 2")

	b.open("/stages?class=all")
	after := value[map[string]string](b, standsOn)
	for athlete, title := range before {
		if title == "Steady minute" {
			title = "Calm minute"
		}
		if after[athlete] != title {
			t.Errorf("%s stood on %q and now stands on %q", athlete, title, after[athlete])
		}
	}
	b.filesOutAndIn(editor)
}

// copyLadder copies the ladder that ships and returns the path of its editor.
func copyLadder(b *tab) string {
	b.Helper()
	b.open("/ladders")
	b.choose("from", "From first turns to doubles")
	b.fill("name", "Winter ladder")
	b.press("Copy it")
	b.says("Copied.", "Not in use, version 1", "Running doubles, first triple")
	return b.at()
}

func addStage(b *tab) {
	b.Helper()
	b.fill("title", "Side swings")
	b.press("Add the stage")
	b.says("There is a problem") // what it is for is missing
	b.fill("purpose", "The rope keeps turning beside you while you rest.")
	b.choose("place", "before 4 · Calm minute")
	b.press("Add the stage")
	b.says("Gate of stage 4", "The coach judges: Side swings.", "Nobody stands here.")
}

// buildGate gives the new stage a gate of selects and numbers alone.
func buildGate(b *tab) {
	b.Helper()
	b.choose("measure", "Reps in a clean run")
	b.press("Go on")
	b.choose("comparison", "at least")
	b.fill("value", "40")
	b.choose("step", "bounce step")
	b.choose("rope", "any rope")
	b.fill("results", "2")
	b.fill("days", "3")
	b.press("Keep this clause")
	b.says("There is a problem", "3 days need at least 3 results.")
	b.fill("days", "2")
	b.press("Keep this clause")
	b.says("Kept. Nothing counts before it is published.", "Two clean runs of 40 or more, on two different days. Bounce step, any rope.")
	b.press("Take out : The coach judges: Side swings.")
	b.says("Gate of stage 4")
	if strings.Contains(b.words(), "The coach judges:") {
		b.Errorf("the clause is still there: %s", b.words())
	}
}

// easeGate makes a gate so easy that the results which are there meet it, looks
// who would be ready, and returns the sentence that says so.
func easeGate(b *tab, editor string) string {
	b.Helper()
	b.open(editor + "/stages/steady-minute/gate")
	had := readyUnder(b)
	b.press("Change : Two 60 s tests with at most 2 catches, each restarted within 3 s, on two different days.")
	b.choose("seconds", "any length")
	b.choose("rope", "any rope")
	for name, text := range map[string]string{"value": "20", "restart": "", "results": "1", "days": "1"} {
		b.fill(name, text)
	}
	b.press("Keep this clause")
	b.says("One base test with at most 20 catches.", "Ready only under the new gate:")
	if has := readyUnder(b); has <= had {
		b.Errorf("%d would be ready under the gate that asks less, %d under the other", has, had)
	}
	return value[string](b, `[...document.querySelectorAll("main p")].map(p => p.innerText.trim()).find(t => t.startsWith("Ready only"))`)
}

// readyUnder reads how many would be ready from the gate that is being changed.
func readyUnder(b *tab) int {
	b.Helper()
	ready, standing := 0, 0
	words := value[string](b, `[...document.querySelectorAll("main p")].map(p => p.innerText.trim()).find(t => t.endsWith("would be ready today."))`)
	if _, err := fmt.Sscanf(words, "%d of %d", &ready, &standing); err != nil || standing == 0 {
		b.Fatalf("%q does not say who would be ready: %v", words, err)
	}
	return ready
}

// lookAtEditor looks at every page of the editor while there is something to
// publish.
func (b *tab) lookAtEditor(editor string) {
	b.Helper()
	for _, below := range []string{"", "/publish", "/stages/side-swings", "/stages/side-swings/gate", "/stages/side-swings/gate/new?measure=burst_rate",
		"/stages/side-swings/gate/new?measure=good_tries", "/stages/changes-of-pace", "/use", "/versions/1"} {
		b.look("coach", editor+below)
	}
	b.look("coach", "/ladders")
	b.look("coach", "/ladders/import")
	b.do(chromedp.EmulateViewport(1280, 800))
}

// filesOutAndIn takes the file of the newest version, brings it in broken, which
// changes nothing, and changed.
func (b *tab) filesOutAndIn(editor string) {
	b.Helper()
	b.open(editor)
	address := value[string](b, `document.querySelector("main a[href$='/versions/2/file']").getAttribute("href")`)
	file := value[string](b, `fetch(`+quote(address)+`).then(r => r.text())`)
	before, _, found := strings.Cut(file, `"title": "Calm minute"`)
	if !json.Valid([]byte(file)) || !found {
		b.Fatalf("this is not the ladder's file: %.200s", file)
	}
	b.open("/ladders")
	had := b.words()
	b.bringIn(before + `"titel": "Calm minute"` + file[len(before)+len(`"title": "Calm minute"`):])
	b.says("There is a problem", "Nothing was changed", fmt.Sprintf("%d A stage has no part called \"titel\".", 1+strings.Count(before, "\n")))
	value[bool](b, axe+`;true`)
	for _, f := range b.axe(allRules) {
		b.Errorf("a broken file: %s: %s", f.Help, f.Where)
	}
	b.open("/ladders")
	if has := b.words(); has != had {
		b.Errorf("a broken file changed the ladders from %s to %s", had, has)
	}
	b.open(editor)
	if strings.Contains(b.words(), "not published yet") {
		b.Errorf("a broken file changed the ladder: %s", b.words())
	}

	b.bringIn(strings.Replace(file, "Calm minute", "Quiet minute", 1))
	b.says("Brought in as changes to this ladder.", "1 change is not published yet.", "“Calm minute” is now called “Quiet minute”.")
	b.press("Throw the changes away")
	b.says("The changes are gone.")
}

// bringIn chooses a ladder file and sends it.
func (b *tab) bringIn(content string) {
	b.Helper()
	path := filepath.Join(b.TempDir(), "ladder.json")
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		b.Fatal(err)
	}
	b.open("/ladders/import")
	b.do(chromedp.SetUploadFiles(chromedp.CSS(`main input[type=file]`), []string{path}))
	b.press("Bring it in")
}
