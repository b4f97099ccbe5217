package e2e

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// focused tells what holds the focus, and what is wrong with how it shows: it
// must be in sight, marked, and under nothing (WCAG 2.2, 2.4.7 and 2.4.11).
const focused = `(() => {
	const e = document.activeElement, box = e.getBoundingClientRect(), style = getComputedStyle(e), wrong = [];
	const shown = e.matches("input[type=checkbox], input[type=radio]") ? e.closest(".choice") ?? e : e;
	if (e === document.body) return {ID: "", Name: "", Text: "", Wrong: ""}; // at the browser's own buttons
	const fits = box.height < innerHeight && box.width < innerWidth; // a region that scrolls may be larger
	if (fits ? box.top < 0 || box.left < 0 || box.bottom > innerHeight + 1 || box.right > innerWidth + 1 : box.bottom < 0 || box.top > innerHeight)
		wrong.push("is out of sight");
	if (style.outlineStyle === "none" && style.boxShadow === "none" && getComputedStyle(shown).outlineStyle === "none") wrong.push("is not marked");
	const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
	if (top && !e.contains(top) && !top.contains(e) && !(e.labels && [...e.labels].some(l => l.contains(top)))) wrong.push("is under " + top.outerHTML.slice(0, 80));
	return {ID: e.id, Name: e.name ?? "", Text: (e.innerText || e.value || "").trim().replace(/\s+/g, " ").slice(0, 60), Wrong: wrong.join(", ")};
})()`

type focus struct{ ID, Name, Text, Wrong string }

// tabTo presses Tab until the field called so, or what begins with these words,
// holds the focus.
func (b *tab) tabTo(name string) {
	b.Helper()
	const most = 160 // more than any page has to stop at
	for range most {
		at := b.tabOn()
		if at.ID == name || at.Name == name || strings.HasPrefix(at.Text, name) {
			return
		}
	}
	b.Fatalf("Tab never reaches %q; the page says: %s", name, b.words())
}

// tabOn presses Tab once and returns where the focus is then; it must show.
func (b *tab) tabOn() focus {
	b.Helper()
	b.do(chromedp.KeyEvent(kb.Tab))
	at := value[focus](b, focused)
	if at.Wrong != "" {
		b.Errorf("at %s the focus at %q %q %s", b.at(), at.Name, at.Text, at.Wrong)
	}
	return at
}

// Signing in and recording a class need no mouse.
func TestKeyboardAlone(t *testing.T) {
	p, err := run("demo", "Stop with Ctrl-C.") // its own: a result is recorded
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	b := newTab(t, p, 1180, 820)
	b.open("/sign-in")
	b.tabTo("name")
	b.do(chromedp.KeyEvent("marit@tallowmere.example"))
	b.tabTo("password")
	b.do(chromedp.KeyEvent("twelve ropes on a rack"))
	b.leaves(chromedp.KeyEvent(kb.Enter))
	b.says("Wed 4 Nov")
	b.tabTo("Tuesday Starters")
	b.leaves(chromedp.KeyEvent(kb.Enter))
	b.tabTo("Record a test")
	b.leaves(chromedp.KeyEvent(kb.Enter))
	const three = 3
	rows := value[[]string](b, `[...document.querySelectorAll("main input")].map(i => i.name).filter(n => n.startsWith("rotations-"))`)
	for n := range three {
		b.tabTo(rows[n])
		b.do(chromedp.KeyEvent(fmt.Sprint(50 + n)))
	}
	b.tabTo(rows[three]) // a row is kept when it is left
	b.says("3 of 14 in")
	b.open(b.at()) // and stays kept
	b.says("3 of 14 in")
	for n := range three {
		b.open("/athletes/" + strings.TrimPrefix(rows[n], "rotations-"))
		b.says(fmt.Sprintf("%d rotations", 50+n)) // as typed: one count, of both feet
	}
}

// A password can be looked at while it is typed, and goes off hidden.
func TestPasswordCanBeShown(t *testing.T) {
	b := newTab(t, demo(t), 360, 800)
	b.open("/sign-in")
	b.fill("password", "not the password")
	kind := func() string { return value[string](b, `document.querySelector("main [name=password]").type`) }
	turn := chromedp.Click(chromedp.CSS(`main [name=password] + button`))
	for _, want := range []string{"text", "password", "text"} {
		b.do(turn)
		if got := kind(); got != want {
			t.Fatalf("the box is of type %s, want %s", got, want)
		}
	}
	if found := value[[]string](b, tooSmall); len(found) > 0 {
		t.Errorf("too small to touch: %v", found)
	}
	b.fill("name", "nobody@tallowmere.example")
	value[bool](b, `addEventListener("submit", () => sessionStorage.kind = document.querySelector("main [name=password]").type), true`)
	b.press("Sign in")
	if got := value[string](b, `sessionStorage.kind`); got != "password" {
		t.Errorf("the password is sent from a box of type %q, which browsers keep for the next one", got)
	}
}

// A page with problems takes the focus to what says so.
func TestProblemsTakeTheFocus(t *testing.T) {
	b := newTab(t, demo(t), 390, 844)
	b.open("/sign-in")
	b.fill("name", "nobody@tallowmere.example")
	b.fill("password", "not the password")
	b.press("Sign in")
	b.says("There is a problem", "do not match")
	if !value[bool](b, `document.activeElement.matches("[data-focus]") && document.title.startsWith("Error:")`) {
		t.Error("the problem does not hold the focus, or the title does not begin with it")
	}
}

// The checks of pages are worth what they find: here each has something to find.
func TestPageChecksFind(t *testing.T) {
	b := newTab(t, demo(t), 360, 800)
	b.open("/help")
	value[bool](b, axe+`;true`)
	if found := b.axe(allRules); len(found) != 0 {
		t.Fatalf("the page is not clean to begin with: %v", found)
	}
	value[bool](b, `document.querySelector("main").insertAdjacentHTML("beforeend",
		"<input id='planted' required><button>x</button><div id='wide'>wide</div><p id='faint'>faint</p>"), true`)
	value[bool](b, `(() => { const s = (id, o) => Object.assign(document.getElementById(id).style, o);
		s("wide", {width: "900px"}); s("faint", {color: "#999", background: "#aaa"});
		Object.assign(document.querySelector("main > button:last-of-type").style, {width: "10px", height: "10px", minHeight: "0", minWidth: "0", padding: "0"}); return true })()`)
	rules := ""
	for _, f := range b.axe(allRules) {
		rules += f.Rule + " "
	}
	for _, rule := range []string{"label", "color-contrast"} {
		if !strings.Contains(rules, rule) {
			t.Errorf("axe does not find a planted %s; it found %s", rule, rules)
		}
	}
	for what, list := range map[string][]string{"small": value[[]string](b, tooSmall), "wide": value[[]string](b, overflowing),
		"own words": value[[]string](b, ownWords), "inline": value[[]string](b, inline)} {
		if len(list) == 0 && what != "own words" { // no form stands around the planted field
			t.Errorf("a planted fault is not found: %s", what)
		}
	}
}
