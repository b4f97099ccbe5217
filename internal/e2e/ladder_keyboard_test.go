package e2e

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// The ladder editor from copy to publication without a mouse: every step is a
// key, and wherever the focus comes to rest it shows.
func TestLadderEditorByKeyboard(t *testing.T) {
	p, err := run("demo", "Stop with Ctrl-C.") // its own: a version is published
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	b := newTab(t, p, 1180, 820)
	b.signIn("marit@tallowmere.example", "twelve ropes on a rack")

	b.open("/stages")
	b.enter("The ladder")
	b.typeInto("name", "Winter ladder")
	b.enter("Copy it")
	b.says("Not in use, version 1", "Winter ladder")
	editor := b.at()

	b.inOrder()
	b.enter("Words and drill of Turn in time")
	b.inOrder()
	b.typeInto("title", "Turn beside you")
	b.enter("Keep these words")
	b.says("“Turn in time” is now called “Turn beside you”.")

	b.tabTo("down-first-jumps")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.says("“First jumps” moved from place 2 to place 3.")
	b.do(chromedp.KeyEvent(kb.Enter)) // the focus stayed where it was
	b.says("“First jumps” moved from place 2 to place 4.")

	b.typeInto("title", "Side swings")
	b.typeInto("purpose", "The rope keeps turning beside you while you rest.")
	b.pick("place", "before 2")
	b.enter("Add the stage")
	b.says("Gate of stage 2", "The coach judges: Side swings.")
	b.inOrder()
	b.pick("measure", "Reps")
	b.enter("Go on")
	b.inOrder()
	b.pick("step", "bounce")
	b.pick("rope", "any")
	b.typeInto("results", "1")
	b.typeInto("days", "1")
	b.enter("Keep this clause")
	b.says("One clean run of 10 or more. Bounce step, any rope.")
	b.tabTo("seen")
	b.do(chromedp.KeyEvent(" ")) // ticked
	b.enter("Keep that")
	b.says("Gate of stage 2")
	if !value[bool](b, `document.querySelector("main [name=seen]").checked`) {
		t.Error("the space bar does not tick the box")
	}
	b.enter("Take out")
	b.enter("Back to the ladder")
	b.says("not published yet")
	if b.at() != editor {
		t.Fatalf("the way back leads to %s", b.at())
	}
	b.enter("Look and publish")
	b.inOrder()
	b.typeInto("note", "Side swings first.")
	b.enter("Publish version 2")
	b.says("Version 2 is published. Everybody keeps the place.", "“Side swings first.”")
}

// enter goes to what begins with these words by Tab, and follows it by Enter.
func (b *tab) enter(words string) {
	b.Helper()
	b.tabTo(words)
	b.leaves(chromedp.KeyEvent(kb.Enter))
}

// typeInto goes to a field by Tab, which marks what stands there, and types in
// its place.
func (b *tab) typeInto(name, text string) {
	b.Helper()
	b.tabTo(name)
	b.do(chromedp.KeyEvent(text))
	if got := value[string](b, `document.activeElement.value`); got != text {
		b.Errorf("%s holds %q after typing %q", name, got, text)
	}
}

// pick goes to a select by Tab and types how the option begins.
func (b *tab) pick(name, begins string) {
	b.Helper()
	b.tabTo(name)
	b.do(chromedp.KeyEvent(begins))
	if got := value[string](b, `document.activeElement.selectedOptions[0].text.trim()`); !strings.HasPrefix(got, begins) {
		b.Errorf("typing %q in %s chooses %q", begins, name, got)
	}
}

// stops marks everything that Tab must stop at, from top to bottom of the page's
// text, and returns how many there are. Of radio buttons one of a group is a stop.
const stops = `[...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")]
	.filter(e => (e.checkVisibility({visibilityProperty: true}) || e.matches(".skip")) && !e.disabled && (e.type !== "radio" || e.checked))
	.map((e, i) => e.setAttribute("data-stop", i)).length`

// stop tells which stop holds the focus, and where it stands on the page.
const stop = `(() => {
	const e = document.activeElement, box = e.getBoundingClientRect();
	return {Stop: Number(e.dataset.stop ?? -1), Top: box.top + scrollY, Bottom: box.bottom + scrollY, Main: !!e.closest("main")};
})()`

// inOrder goes once through the page by Tab: everything that can be used comes by
// once, in the order of the text, never upwards, and the focus shows (WCAG 2.2,
// 2.4.3 and 2.4.7). Then the page is as it was.
func (b *tab) inOrder() {
	b.Helper()
	again := value[string](b, `location.pathname + location.search`)
	b.open(again)
	type place struct {
		Stop        int
		Top, Bottom float64
		Main        bool
	}
	before := place{Stop: -1}
	for range value[int](b, stops) {
		at := b.tabOn()
		now := value[place](b, stop)
		if now.Stop != before.Stop+1 {
			b.Errorf("%s: after stop %d Tab goes to %d, %q", again, before.Stop, now.Stop, at.Text)
		}
		if before.Main && now.Main && now.Bottom < before.Top {
			b.Errorf("%s: Tab goes up to %q", again, at.Text)
		}
		before = now
	}
	b.open(again)
}
