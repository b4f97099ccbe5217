package e2e

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// An athlete in a hall without a signal opens the plan, enters a count, loads
// the page anew; with the signal it is sent, once.
func TestPhoneWithoutASignal(t *testing.T) {
	for name, scripts := range map[string][]string{
		"with what Chromium has":             nil,
		"without background synchronisation": {`delete self.SyncManager; if (self.ServiceWorkerRegistration) delete ServiceWorkerRegistration.prototype.sync`},
	} {
		t.Run(name, func(t *testing.T) {
			g := newPhoneGym(t)
			p := g.newPhone(t, scripts...)
			p.joins(0)
			g.signal.off()
			p.browserOffline(true)
			p.open("/me")
			p.until(`!document.querySelector('[data-if="plan"]').hidden`)
			p.says("Your plan for", "Go to your session")
			p.lacks("Quillon")
			p.enter(87)
			p.until(`document.querySelector("#outbox").innerText.includes("Not sent yet (1)")`)
			p.open("/me/rates")
			p.says("My rates")
			p.open("/me/unsent")
			p.until(`document.querySelectorAll("#unsent > li").length === 1`)
			p.says("87", "Not sent yet", "Send now")
			if n := g.results(0); n != 0 {
				t.Fatalf("%d results arrived without a signal", n)
			}
			g.signal.on(nil)
			p.browserOffline(false)
			p.online()
			p.until(`!document.querySelector("#nothing").hidden`)
			p.says("Everything is sent.")
			if n := g.count(`SELECT count(*) FROM result WHERE rotations = 87 AND catches = 2`); n != 1 {
				t.Errorf("%d rows of one count", n)
			}
		})
	}
}

// browserOffline tells the browser itself that there is no signal, or one again.
func (p *phone) browserOffline(off bool) {
	p.Helper()
	params := network.OverrideNetworkStateParams{Offline: off, DownloadThroughput: -1, UploadThroughput: -1}
	if _, err := chromedp.Call(p.ctx, network.OverrideNetworkState, params); err != nil {
		p.Fatal(err)
	}
}

// The answer is lost after the row is there: sent again, kept once.
func TestPhoneWhenTheAnswerIsCut(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	var mu sync.Mutex
	cuts := 3
	g.signal.on(func(r *http.Request) verdict {
		mu.Lock()
		defer mu.Unlock()
		if outboxOf(r) && cuts > 0 {
			cuts--
			return cut
		}
		return through
	})
	p.adds(87, 3)
	for p.waits() > 0 {
		p.online()
	}
	mu.Lock()
	defer mu.Unlock()
	if n := g.results(0); n != 3 || cuts > 0 {
		t.Errorf("%d rows of three counts after %d answers were cut", n, 3-cuts)
	}
}

// Of twenty the gym's computer takes nineteen; one stays with its reason until
// somebody mends it.
func TestPhoneWhenOneIsRefused(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	g.signal.off()
	p.adds(80, 19)
	p.adds(5000, 1)
	g.signal.on(nil)
	p.online()
	p.until(module("outbox.js") + `.then(o => o.all()).then(a => a.mine.length === 1 && a.mine[0].state === "refused")`)
	if n := g.results(0); n != 19 {
		t.Errorf("%d rows, want 19", n)
	}
	p.open("/me/unsent")
	p.until(`document.querySelectorAll("#unsent > li").length === 1`)
	p.says("Needs a look", "Rotations must be a whole number from 0 to 999", "Fix it")
	p.press("Fix it")
	p.until(`document.querySelector('[name="rotations"]').value === "5000"`)
	p.fill("rotations", "150")
	p.press("Save result")
	p.until(`location.pathname === "/me" && document.readyState === "complete"`)
	p.sent()
	if n := g.count(`SELECT count(*) FROM result WHERE rotations = 150`); n != 1 {
		t.Errorf("%d rows of the mended count", n)
	}
}

// The page dies between the tap and the end of the write: what was called saved
// is there, what is not there was not called saved.
func TestPhoneThatDiesWhileSaving(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	g.signal.off()
	for n := range 4 {
		dying := p.another(t)
		dying.open("/me")
		before := p.waits()
		value[int](dying.tab, fmt.Sprintf(`(() => { `+module("outbox.js")+`.then(o => o.add("result", {rotations: %d}, "")).then(id => localStorage.setItem("saved", id)); return 1; })()`, n))
		if err := chromedp.Cancel(dying.ctx); err != nil {
			t.Fatal(err)
		}
		after := p.waits()
		called := value[bool](p.tab, module("outbox.js")+`.then(o => o.all()).then(a => {
			const saved = localStorage.getItem("saved");
			return saved === null || a.mine.some(e => e.id === saved);
		})`)
		if !called || after < before || after > before+1 {
			t.Errorf("before %d entries, after %d; what was called saved is there: %t", before, after, called)
		}
		value[int](p.tab, `(localStorage.removeItem("saved"), 1)`)
	}
}

// Two pages of one phone send in turns.
func TestPhoneWithTwoPages(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	other := p.another(t)
	other.open("/me")
	g.signal.on(func(r *http.Request) verdict {
		if outboxOf(r) {
			select {
			case <-time.After(100 * time.Millisecond): // long enough for the other page to come in between
			case <-r.Context().Done():
			}
		}
		return through
	})
	for n := range 4 {
		p.adds(100+10*n, 1)
		other.adds(200+10*n, 1)
		p.online()
		other.online()
	}
	p.sent()
	if n := g.results(0); n != 8 {
		t.Errorf("%d rows of eight counts", n)
	}
	g.signal.mu.Lock()
	defer g.signal.mu.Unlock()
	if g.signal.mostSent != 1 {
		t.Errorf("%d pages sent at once", g.signal.mostSent)
	}
}

// The sign-in ran out in the hall: entries stay, and go after the next one.
func TestPhoneWhoseSignInEnded(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	p.forgetSignIn()
	p.adds(90, 2)
	p.online()
	p.until(`!document.querySelector("[data-signed-out]").hidden`)
	p.says("You have been signed out. What is on this phone stays here.")
	if n := p.waits(); n != 2 || g.results(0) != 0 {
		t.Fatalf("%d entries wait and %d were taken", n, g.results(0))
	}
	p.joins(1) // somebody else: not hers to send
	if n := g.results(0) + g.results(1); n != 0 {
		t.Fatalf("%d entries were sent by somebody else", n)
	}
	p.open("/me/unsent")
	p.until(`!document.querySelector("#others").hidden`)
	p.says("2 entries of somebody else wait here.")
	p.open("/join?code=" + g.class.Code)
	p.joins(0)
	p.sent()
	if n := g.results(0); n != 2 {
		t.Errorf("%d rows of two counts", n)
	}
}

// A phone whose clock is three hours fast.
func TestPhoneWithAWrongClock(t *testing.T) {
	const ahead = 3 * time.Hour
	g := newPhoneGym(t)
	p := g.newPhone(t, fmt.Sprintf(`{ const Right = Date, ahead = %d;
		globalThis.Date = class extends Right { constructor(...of) { of.length ? super(...of) : super(Right.now() + ahead); } static now() { return Right.now() + ahead; } }; }`, ahead.Milliseconds()))
	p.joins(0)
	g.signal.off()
	made := time.Now()
	p.adds(91, 1)
	g.signal.on(nil)
	p.online()
	p.sent()
	var taken, raw time.Time
	if err := g.owner.QueryRow(t.Context(), `SELECT taken_at, device_at FROM result`).Scan(&taken, &raw); err != nil {
		t.Fatal(err)
	}
	if off := taken.Sub(made).Abs(); off > 2*time.Second {
		t.Errorf("taken at %s, made at %s", taken, made)
	}
	if off := raw.Sub(made.Add(ahead)).Abs(); off > 2*time.Second {
		t.Errorf("the phone's own time is %s, made at %s", raw, made)
	}
}

// A new version of the program comes while entries wait, kept by the version
// before: they are taken over and sent.
func TestPhoneWithANewVersion(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.open("/healthz")
	value[int](p.tab, fmt.Sprintf(`new Promise((done, failed) => {
		const open = indexedDB.open("ropewalk", 1);
		open.onupgradeneeded = () => open.result.createObjectStore("entries", { keyPath: "id" }).createIndex("by athlete", "athlete");
		open.onerror = failed;
		open.onsuccess = () => {
			const tx = open.result.transaction("entries", "readwrite");
			tx.objectStore("entries").add({ id: "01930000-0000-7000-8000-000000000001", kind: "result", athlete: %q, state: "waiting", at: new Date().toISOString(), offset: null,
				body: JSON.stringify({ protocol: "base", seconds: 60, rotations: 77, step: "bounce", rope: "", surface: "", counted_by: "self", timing: "hand" }) });
			tx.oncomplete = () => { open.result.close(); done(1); };
		};
	})`, g.athletes[0].AthleteID))
	p.joins(0)
	p.sent()
	if n := g.count(`SELECT count(*) FROM result WHERE rotations = 77`); n != 1 {
		t.Fatalf("%d rows of the count that the old version kept", n)
	}

	g.signal.on(func(r *http.Request) verdict {
		if outboxOf(r) {
			return lost
		}
		return through
	})
	p.adds(78, 1)
	g.signal.mu.Lock()
	g.signal.rewrite = func(path string, body []byte) []byte {
		if path == "/sw.js" {
			return append([]byte("// a newer version\n"), []byte(strings.Replace(string(body), `version = "`, `version = "2`, 1))...)
		}
		return body
	}
	g.signal.mu.Unlock()
	p.open("/me")
	p.until(`navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => !document.querySelector("#update").hidden)`)
	p.says("A new version is ready.")
	p.leaves(chromedp.Click(chromedp.CSS("#update button")))
	p.until(`navigator.serviceWorker.getRegistration().then(r => !r.waiting && !!r.active)`)
	if n := p.waits(); n != 1 {
		t.Fatalf("%d entries wait after the update", n)
	}
	g.signal.on(nil)
	p.online()
	p.sent()
	if n := g.results(0); n != 2 {
		t.Errorf("%d rows of two counts", n)
	}
}

// The phone is full: nothing is called saved, and what was typed stays.
func TestPhoneThatIsFull(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	p.open("/me/result")
	p.until(`document.querySelector("[data-me]")`)
	value[int](p.tab, `(IDBObjectStore.prototype.add = () => { throw new DOMException("no room", "QuotaExceededError"); }, 1)`)
	p.fill("rotations", "87")
	p.do(chromedp.Click(`//main//button[normalize-space(.)="Save result"]`))
	p.until(`!document.querySelector("#full").hidden`)
	p.says("This phone's storage is full. What you typed is still here")
	if typed := value[string](p.tab, `document.querySelector('[name="rotations"]').value`); typed != "87" || p.at() != "/me/result" {
		t.Errorf("%q is typed at %s", typed, p.at())
	}
	if n := p.waits(); n != 0 {
		t.Errorf("%d entries are kept", n)
	}
}

// Half a signal: of ten requests six get no answer. All entries arrive, once.
func TestPhoneWithHalfASignal(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	value[int](p.tab, module("outbox.js")+`.then(o => { Object.assign(o.pace, { timeout: 150, first: 20, longest: 60 }); return 1; })`)
	luck := rand.New(rand.NewPCG(20261104, 11))
	var mu sync.Mutex
	g.signal.on(func(r *http.Request) verdict {
		mu.Lock()
		defer mu.Unlock()
		if !outboxOf(r) || luck.Float64() > 0.6 {
			return through
		}
		if luck.Float64() < 0.5 {
			return cut
		}
		return hangs
	})
	for n := range 12 {
		p.adds(100+n, 1)
	}
	p.sent()
	if n := g.results(0); n != 12 {
		t.Errorf("%d rows of twelve counts", n)
	}
}

// Signing out with entries that wait asks first, and keeps them; without any it
// clears the phone.
func TestPhoneSignsOut(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.joins(0)
	g.signal.on(func(r *http.Request) verdict {
		if outboxOf(r) {
			return lost
		}
		return through
	})
	p.adds(87, 2)
	p.do(chromedp.Click(`//footer//button[normalize-space(.)="Sign out"]`))
	p.until(`document.querySelector("#leave").open`)
	if text := value[string](p.tab, `document.querySelector("#leave").innerText`); !strings.Contains(text, "2 of your entries are only on this phone") {
		t.Errorf("the question is %s", text)
	}
	p.leaves(chromedp.Click(`//dialog//button[normalize-space(.)="Keep them and sign out"]`))
	g.signal.on(nil)
	p.joins(0)
	p.sent()
	if n := g.results(0); n != 2 {
		t.Errorf("%d rows of two counts", n)
	}
	p.leaves(chromedp.Click(`//footer//button[normalize-space(.)="Sign out"]`))
	p.until(`Promise.all([caches.keys(), indexedDB.databases()]).then(([kept, stores]) => kept.length + stores.length === 0)`)
}
