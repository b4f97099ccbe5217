package e2e

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// state checks the page as it is now, which no link leads to: accessible, fit for
// a narrow phone, and with nothing that the browser objects to.
func (b *tab) state(name string) {
	b.Helper()
	b.do(chromedp.EmulateViewport(320, 568))
	for what, script := range map[string]string{"wider than 320": overflowing, "inline": inline, "the browser would object by itself": ownWords, "too small to touch": tooSmall} {
		for _, text := range value[[]string](b, script) {
			b.Errorf("%s: %s: %s", name, what, text)
		}
	}
	value[bool](b, axe+`;true`)
	for _, look := range []string{"light", "dark", "bright"} {
		value[bool](b, `document.documentElement.dataset.theme = "`+look+`", true`)
		rules := lookRules
		if look == "light" {
			rules = allRules
		}
		for _, f := range b.axe(rules) {
			b.Errorf("%s, %s: %s (%s): %s", name, look, f.Rule, f.Help, f.Where)
		}
	}
	b.do(chromedp.EmulateViewport(1280, 800))
	for _, f := range b.axe(lookRules) {
		b.Errorf("%s, bright, 1280 px: %s (%s): %s", name, f.Rule, f.Help, f.Where)
	}
}

// send fills fields of the form in the main part whose action ends so, by name,
// and sends it with its first button.
func (b *tab) send(action string, fields map[string]string) {
	b.Helper()
	values, err := json.Marshal(fields)
	if err != nil {
		b.Fatal(err)
	}
	found := value[bool](b, fmt.Sprintf(`(() => {
		const form = [...document.querySelectorAll("main form")].find(f => f.method === "post" && f.getAttribute("action").endsWith(%s));
		if (!form) return false;
		form.closest("details")?.setAttribute("open", "");
		for (const [name, value] of Object.entries(%s ?? {}))
			for (const field of [form.elements[name]].flatMap(f => f instanceof RadioNodeList ? [...f] : [f]))
				if (field.type === "checkbox" || field.type === "radio") field.checked = field.value === value || value === "yes" && field.type === "checkbox"; else field.value = value;
		document.querySelector("[data-pressed]")?.removeAttribute("data-pressed");
		form.querySelector("button:not([type=button])").setAttribute("data-pressed", "");
		return true;
	})()`, quote(action), values))
	if !found {
		b.Fatalf("no form leads to …%s; the page says: %s", action, b.words())
	}
	b.leaves(chromedp.Click(chromedp.CSS("[data-pressed]")))
}

// What only forms lead to is as accessible as what links lead to: what they
// answer to nonsense, what they show once, and a guardian's pages.
func TestStates(t *testing.T) {
	p, err := run("demo", "Stop with Ctrl-C.") // its own: it is written in
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	t.Run("doors", func(t *testing.T) {
		t.Parallel()
		b := newTab(t, p, 320, 568)
		b.open("/sign-in")
		b.send("/sign-in", map[string]string{"name": "nobody", "password": "x"})
		b.state("sign-in refused")
		b.open("/invited")
		b.send("/invited", map[string]string{"code": "x"})
		b.state("invitation refused")
		b.open("/recover")
		b.send("/recover", map[string]string{"name": "nobody", "code": "x", "password": "x"})
		b.state("way back refused")
		b.open("/join?code=TUE-CHALK")
		b.state("name and PIN")
		b.send("/join", map[string]string{"pin": "0000"})
		b.state("PIN refused")
		b.open("/pair#x")
		b.says("No longer here")
		b.state("card refused")
	})
	t.Run("owner", func(t *testing.T) {
		t.Parallel()
		b := newTab(t, p, 320, 568)
		visitors[1].signIn(b)
		b.open("/people")
		b.send("/people/invitations", map[string]string{"name": ""})
		b.state("invitation without a name")
		b.send("/people/invitations", map[string]string{"name": "Ida Rowe"})
		b.state("invitation to hand over")
		b.open("/people")
		b.send("/way-back", nil)
		b.state("one-time code to hand over")
		b.open("/account")
		b.send("/account/password", map[string]string{"password": "x", "new_password": "short"})
		b.state("password refused")
		b.open("/account/second-factor")
		b.send("/account/second-factor", map[string]string{"code": "0"})
		b.state("second factor refused")
		b.open("/privacy")
		b.send("/privacy/keeping", map[string]string{"keep_athlete": "0", "keep_health": "x"})
		b.state("retention refused")
		b.open("/data")
		b.send("/data/tokens", map[string]string{"name": "Wall board"})
		b.state("token shown once")
		b.open("/athletes")
		athlete := b.first("/athletes/")
		b.open(athlete + "/data")
		b.send("/erase", nil)
		b.state("erasure refused")
		b.send("/erase", map[string]string{"for": "gym", "sure": "yes"})
		b.says("Undo")
		b.state("somebody to be forgotten")
		b.open("/log?what=nothing-like-it")
		b.state("log without lines")
	})
	t.Run("coach", func(t *testing.T) {
		t.Parallel()
		b := newTab(t, p, 320, 568)
		visitors[2].signIn(b)
		b.open("/people")
		b.state("not for coaches")
		b.open("/classes")
		class := b.first("/classes/")
		b.open(class + "/import")
		b.send("/import", map[string]string{"names": "Ann Lee\nAnn Lee\n"})
		b.state("import looked at first")
		b.open("/classes/new")
		b.send("/classes", map[string]string{"name": ""})
		b.state("class refused")
		b.open("/incidents/new")
		b.send("/incidents", map[string]string{"what": ""})
		b.state("incident refused")
		b.open(class)
		athlete := b.first("/athletes/")
		for path, form := range map[string]string{"/tests/new": "/tests", "/debrief": "/debrief", "/consents": "/consents", "/health/questions": "/health/questions"} {
			b.open(athlete + path)
			b.state("before " + path)
			b.send(form, nil)
			b.state("after " + path)
		}
		b.open(athlete + "/phones")
		b.send("/guardians", map[string]string{"name": "Noor Wassef"})
		b.state("guardian's link")
		link := regexp.MustCompile(`/pair#[A-Za-z0-9_-]+`).FindString(value[string](b, `document.body.innerText + document.body.innerHTML`))
		b.guardian(p, link)
	})
	t.Run("hour", func(t *testing.T) {
		t.Parallel()
		b := newTab(t, p, 320, 568)
		visitors[2].signIn(b)
		b.open("/classes")
		class := b.first("/classes/")
		for _, path := range []string{"/count-sheet", "/floor", "/consents"} {
			b.open(class + path)
			b.state(path)
		}
		b.open(class + "/check-in")
		b.press("Start class")
		b.state("class hour")
		session := b.at()
		for _, path := range []string{"/log", "/print/cards", "/print/floor", "/screen"} {
			b.open(session + path)
			b.state(path)
		}
		b.press("Make a link")
		b.state("screen with its link")
		screen := regexp.MustCompile(`/screen/\w+`).FindString(b.words())
		b.open(session + "/run")
		b.do(chromedp.Click(`//main//button[normalize-space(.)="Start the clock"]`))
		b.says("Move on")
		b.state("clock started")
		b.open(screen)
		b.state("screen in the hall")
	})
}

// first returns the path of the first link in the main part that begins so and
// ends with an id.
func (b *tab) first(prefix string) string {
	b.Helper()
	links := value[[]string](b, `[...document.querySelectorAll("main a")].map(a => a.getAttribute("href"))`)
	at := slices.IndexFunc(links, func(to string) bool {
		return strings.HasPrefix(to, prefix) && kind(to) == prefix+"{id}"
	})
	if at < 0 {
		b.Fatalf("no link begins with %s; the page says: %s", prefix, b.words())
	}
	return links[at]
}

// guardian comes in by a link and looks at every page of a guardian.
func (b *tab) guardian(p *program, link string) {
	b.Helper()
	g := newTab(b.T, p, 320, 568)
	g.open(link)
	g.says("for a parent or guardian")
	g.state("guardian's card")
	g.press("Yes, go in on this phone")
	g.says("What you agreed to")
	g.state("guardian's page")
	g.send("/child/consent", nil)
	g.state("consent without a purpose")
	g.open("/child")
	g.send("/child/forget", nil)
	g.state("forgetting without a tick")
	g.open("/child")
	g.send("/child/account", map[string]string{"name": "nobody@gym.example", "password": "x"})
	g.state("account refused")
	g.open("/child/questions")
	g.state("guardian's questions")
	g.open("/today")
	g.state("not for guardians")
}

// Who asks for less motion gets none.
func TestReducedMotion(t *testing.T) {
	b := newTab(t, demo(t), 390, 844)
	reduce := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, reduce); err != nil {
		t.Fatal(err)
	}
	const moving = `[...document.querySelectorAll("*")].filter(e => { const s = getComputedStyle(e);
		return s.animationName !== "none" || s.transitionDuration.split(", ").some(d => d !== "0s") || s.scrollBehavior === "smooth" }).map(e => e.outerHTML.slice(0, 100))`
	visitors[3].signIn(b)
	for _, path := range []string{"/me", "/me/session", "/me/test", "/me/class", "/help"} {
		b.open(path)
		for _, text := range value[[]string](b, moving) {
			t.Errorf("%s moves: %s", path, text)
		}
	}
}
