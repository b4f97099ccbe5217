package e2e

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// narrow lists what one touches on a screen of a session or a count that is
// lower than the 56 pixels that a thumb needs in a hall. Links may be smaller.
const narrow = `[...document.querySelectorAll("main button:not(.link)")].flatMap(e => {
	const box = e.getBoundingClientRect();
	return box.height === 0 || box.height >= 55.5 && box.width >= 43.5 ? [] : [e.outerHTML.slice(0, 100) + " is " + Math.round(box.width) + " by " + Math.round(box.height)];
})`

// twice lists ids that a page has more than once.
const twice = `[...document.querySelectorAll("[id]")].map(e => e.id).filter((id, i, all) => all.indexOf(id) !== i)`

// looks checks what is on the screen at three widths in three looks.
func (p *phone) looks(screen string) {
	p.Helper()
	complain := func(what string, list []string) {
		for _, text := range list {
			p.Errorf("%s: %s: %s", screen, what, text)
		}
	}
	value[bool](p.tab, `typeof axe === "object" || (() => { `+axe+`; return true; })()`)
	complain("an id twice", value[[]string](p.tab, twice))
	complain("inline", value[[]string](p.tab, inline))
	complain("the browser would object by itself", value[[]string](p.tab, ownWords))
	for _, width := range []int64{320, 360, 390} {
		p.do(chromedp.EmulateViewport(width, map[int64]int64{320: 568, 360: 740, 390: 844}[width], chromedp.EmulateTouch))
		complain(fmt.Sprintf("wider than %d", width), value[[]string](p.tab, overflowing))
		complain("too small to touch", value[[]string](p.tab, tooSmall))
		for _, look := range []string{"light", "dark", "bright"} {
			value[bool](p.tab, `document.documentElement.dataset.theme = "`+look+`", true`)
			rules := lookRules
			if width == 320 && look == "light" {
				rules = allRules
			}
			for _, f := range p.axe(rules) {
				p.Errorf("%s, %s, %d px: %s (%s): %s", screen, look, width, f.Rule, f.Help, f.Where)
			}
		}
	}
	value[bool](p.tab, `document.documentElement.dataset.theme = "light", true`)
}

// Every screen of the athlete's side is accessible on narrow phones in each
// look, and large enough to touch.
func TestPhoneScreens(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t, sleepable, hasty)
	p.open("/join?code=" + g.class.Code)
	p.looks("who are you")
	p.joins(0)
	p.looks("today")
	for _, path := range []string{"result", "results", "debrief", "rates", "unsent"} {
		p.open("/me/" + path)
		p.looks(path)
	}
	p.open("/me/result")
	p.do(chromedp.Click(`//main//button[normalize-space(.)="Save result"]`))
	p.says("Type how many there were, a whole number like 87.")
	p.looks("result with an error")

	p.open("/me/test")
	p.until(`!document.querySelector("#timed").ariaBusy`)
	p.looks("set up a test")
	p.tap(`#setup-form button.go`)
	p.window(60)
	p.looks("count")
	if list := value[[]string](p.tab, narrow); len(list) > 0 {
		t.Errorf("count: %s", strings.Join(list, "; "))
	}
	value[float64](p.tab, `globalThis.ahead += 61000`)
	p.until(`!document.querySelector("#result").hidden`)
	p.fill("rotations", "140")
	p.until(`!document.querySelector("#rates").hidden`)
	p.looks("what was counted")
	p.do(chromedp.Click(chromedp.CSS("#result-form button.go")))
	p.until(`!document.querySelector("#saved").hidden`)
	p.looks("saved")

	g.signal.on(func(r *http.Request) verdict {
		if outboxOf(r) {
			return lost
		}
		return through
	})
	p.adds(90, 1)
	p.open("/me/unsent")
	p.until(`document.querySelectorAll("#unsent > li").length > 0`)
	p.looks("an entry waits")
	g.signal.on(nil)

	p.open("/me/session")
	p.until(`!document.querySelector("#check").hidden`)
	p.looks("session: ready")
	p.tap("#start")
	p.until(`!document.querySelector("#run").hidden && document.querySelector("#figure").textContent !== ""`)
	p.tap("#pause")
	p.looks("session: paused")
	p.tap("#pause")
	p.sleeps(13500e6)
	p.until(`document.querySelector("#word").textContent === "Rest"`)
	p.tap("#pause")
	p.looks("session: rest")
	if list := value[[]string](p.tab, narrow); len(list) > 0 {
		t.Errorf("rest: %s", strings.Join(list, "; "))
	}
	if value[bool](p.tab, `document.documentElement.scrollHeight > innerHeight + 1`) {
		t.Error("a rest with its question does not fit on the screen")
	}
	p.tap("#stop")
	p.looks("session: where does it hurt")
	p.tap(`[data-place="knee"]`)
	p.until(`!document.querySelector("#stopped").hidden`)
	p.looks("session: stopped")
	p.open("/me")
	p.until(`!document.querySelector("#held").hidden`)
	p.looks("today, held")
	g.signal.off()
	p.open("/me")
	p.until(`document.querySelector("[data-offline]")`)
	p.looks("today without a signal")
}

// What a page costs on a phone that has nothing yet.
type cost struct {
	Requests, Bytes, OwnScripts, Sheet, Nodes int
	Shift                                     float64
}

const costs = `new Promise(done => {
	let shift = 0;
	new PerformanceObserver(list => list.getEntries().forEach(e => { if (!e.hadRecentInput) shift += e.value; })).observe({ type: "layout-shift", buffered: true });
	const all = [...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")];
	const sum = (of) => of.reduce((n, e) => n + e.transferSize, 0);
	setTimeout(() => done({ Requests: all.length, Bytes: sum(all), OwnScripts: sum(all.filter(e => /\/static\/js\//.test(e.name))),
		Sheet: sum(all.filter(e => /\.css/.test(e.name))), Nodes: document.querySelectorAll("*").length, Shift: shift }), 100);
})`

// The budgets of a first visit: requests, bytes as they come over the air, our
// own scripts, the style sheet, nodes, and that nothing moves.
func TestPhoneBudgets(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	cookies, err := chromedp.Call(p.ctx, network.GetCookies, network.GetCookiesParams{URLs: []string{g.address}})
	if err != nil {
		t.Fatal(err)
	}
	for path, most := range map[string]cost{
		"/me":         {Requests: 9, Bytes: 90_000, OwnScripts: 18_000, Sheet: 12_000, Nodes: 400},
		"/me/session": {Requests: 9, Bytes: 90_000, OwnScripts: 22_000, Sheet: 12_000, Nodes: 300},
	} {
		t.Run(path, func(t *testing.T) {
			fresh := g.newPhone(t, `Object.defineProperty(Navigator.prototype, "serviceWorker", { get: () => undefined })`) // what it stores for later is not of this page
			for _, c := range cookies.Cookies {
				if _, err := chromedp.Call(fresh.ctx, network.SetCookie, network.SetCookieParams{Name: c.Name, Value: c.Value, URL: g.address, HTTPOnly: ptr(true)}); err != nil {
					t.Fatal(err)
				}
			}
			fresh.open(path)
			if path == "/me" {
				fresh.until(module("outbox.js") + `.then(o => o.kept("ready")).then(r => r?.plan)`)
			}
			fresh.until(`document.fonts.status === "loaded"`)
			got := value[cost](fresh.tab, costs)
			t.Logf("%s: %+v", path, got)
			if got.Requests > most.Requests || got.Bytes > most.Bytes || got.OwnScripts > most.OwnScripts || got.Sheet > most.Sheet || got.Nodes > most.Nodes || got.Shift > 0.001 {
				t.Errorf("%+v, at most %+v", got, most)
			}
		})
	}
}

// After a whole visit nothing on the phone names anybody (OWASP ASVS 5.0,
// 14.3.3).
func TestPhoneKeepsNoNames(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	for _, path := range []string{"/me/rates", "/me/results", "/me/debrief", "/me/unsent"} {
		p.open(path)
	}
	p.open("/me/test")
	p.until(`!document.querySelector("#timed").ariaBusy`)
	p.do(chromedp.Click(chromedp.CSS(`[name="who"][value="mate"]`)))
	p.choose("mate", g.athletes[1].Name)
	p.until(module("outbox.js") + `.then(o => o.kept("partner"))`)
	p.open("/me/session")
	p.until(`!document.querySelector("#check").hidden`)
	g.signal.off()
	p.enter(87)
	kept := value[string](p.tab, `(async () => {
		let all = JSON.stringify({ ...localStorage }) + JSON.stringify({ ...sessionStorage });
		for (const name of await caches.keys()) {
			const cache = await caches.open(name);
			for (const request of await cache.keys()) {
				const answer = await cache.match(request);
				if (/text|json|javascript/.test(answer.headers.get("Content-Type"))) all += request.url + await answer.text();
			}
		}
		for (const { name } of await indexedDB.databases()) {
			const db = await new Promise((done) => { const open = indexedDB.open(name); open.onsuccess = () => done(open.result); });
			for (const store of db.objectStoreNames) {
				const rows = await new Promise((done) => { const get = db.transaction(store).objectStore(store).getAll(); get.onsuccess = () => done(get.result); });
				all += JSON.stringify(rows);
			}
			db.close();
		}
		return all;
	})()`)
	if len(kept) < 100_000 || !strings.Contains(kept, `\"rotations\":87`) {
		t.Fatalf("what the phone keeps was not found: %d signs", len(kept))
	}
	for _, name := range planted {
		for _, word := range strings.Fields(name) {
			if strings.Contains(kept, word) {
				t.Errorf("the phone keeps the name %s", word)
			}
		}
	}
}
