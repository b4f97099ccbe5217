package e2e

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// A heard sound: when it was meant, and how far off it was, in seconds.
type heard struct {
	Meant, Heard int // how many there are
	Work         int // of those that one jumps to
	Beats        int // that the plan asks for
	Worst        float64
	Intervals    float64 // the worst error from one to the next
}

// The sound of ten minutes of a plan, rendered and listened to: each sound comes
// within a millisecond of its time, and there are exactly as many as the plan
// has jumps. Steady sets, bursts, one double in four and doubles in a row.
func TestPhoneCuesAreExact(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.open("/offline/session")
	h := value[heard](p.tab, listen(`[
		() => set([["steady", 20, 140], ["burst", 10, 172.5]], 2),
		() => set([["steady", 71, 141.3]], 1),
		() => set([["steady", 3, 82], ["double", 1, 82]], 8),
		() => set([["double", 9, 77.7]], 1),
		() => set([["steady", 10, 180], ["burst", 20, 220]], 3),
	]`))
	if h.Meant != h.Heard || h.Work != h.Beats || h.Beats < 500 {
		t.Errorf("%d sounds were meant and %d heard; %d of %d jumps are cued", h.Meant, h.Heard, h.Work, h.Beats)
	}
	if h.Worst > 0.001 || h.Intervals > 0.001 {
		t.Errorf("a sound is %.4f s off, an interval %.4f s", h.Worst, h.Intervals)
	}
}

// listen renders sets of blocks over ten minutes and finds where sounds begin:
// where it is loud again after a seventh of a second of quiet.
func listen(sets string) string {
	return `Promise.all([` + module("cue.js") + `]).then(async ([cue]) => {
		const plan = { lead_in: 4, blocks: [] };
		const set = (parts, times) => Array.from({ length: times }, () => parts.map(([kind, beats, rate]) => ({ kind, beats, seconds: 60 * beats / rate }))).flat();
		const sets = ` + sets + `;
		let seconds = 0;
		for (let n = 1; seconds < 600; n++) {
			const more = sets[n % sets.length]().map((b) => ({ ...b, set: n }));
			if (n > 1) more.unshift({ set: n - 1, kind: "rest", beats: 0, seconds: 37 });
			plan.blocks.push(...more);
			seconds += more.reduce((sum, b) => sum + b.seconds, 0);
		}
		const list = cue.stretches(plan);
		const meant = list.flatMap((_, i) => cue.sounds(list, i, plan.lead_in)).sort((a, b) => a.at - b.at);
		const rate = 8000;
		const context = new OfflineAudioContext(1, Math.ceil((meant.at(-1).at + 1) * rate), rate);
		const player = new cue.Player(context);
		meant.forEach((s) => player.play(s.sound, s.at));
		const wave = (await context.startRendering()).getChannelData(0);
		const heard = [];
		for (let i = 0, quiet = rate; i < wave.length; i++) {
			if (Math.abs(wave[i]) < 0.02) { quiet++; continue; }
			if (quiet > rate / 7) heard.push(i / rate);
			quiet = 0;
		}
		let worst = 0, intervals = 0;
		meant.forEach((s, i) => {
			worst = Math.max(worst, Math.abs(heard[i] - s.at));
			if (i) intervals = Math.max(intervals, Math.abs(heard[i] - heard[i - 1] - (s.at - meant[i - 1].at)));
		});
		const beats = plan.blocks.reduce((sum, b) => sum + b.beats, 0);
		return { Meant: meant.length, Heard: heard.length, Beats: beats, Work: meant.filter((s) => cue.workBeats.includes(s.sound)).length, Worst: worst, Intervals: intervals };
	})`
}

// sleepable lets a test put the phone to sleep: time passes, and no page knows.
const sleepable = `{ const real = Date.now.bind(Date); globalThis.slept = 0; Date.now = () => real() + globalThis.slept; }`

// hearing notes what is scheduled on the audio clock, and when everything was
// silenced.
const hearing = `globalThis.sounds = []; globalThis.silenced = 0;
	{ const start = AudioBufferSourceNode.prototype.start, disconnect = AudioNode.prototype.disconnect;
	AudioBufferSourceNode.prototype.start = function (at, ...more) { sounds.push([at, this.context.currentTime]); return start.call(this, at, ...more); };
	AudioNode.prototype.disconnect = function (...of) { silenced = performance.now(); return disconnect.apply(this, of); }; }
	addEventListener("pointerdown", (e) => { globalThis.pressed = e.timeStamp; }, true);
	addEventListener("click", (e) => { globalThis.pressed = e.timeStamp; }, true);`

func (p *phone) tap(selector string) {
	p.Helper()
	p.do(chromedp.Click(chromedp.CSS(selector)))
}

func (p *phone) sleeps(d time.Duration) {
	p.Helper()
	value[float64](p.tab, fmt.Sprintf(`globalThis.slept += %d`, d.Milliseconds()))
}

func (p *phone) starts() {
	p.Helper()
	p.open("/me/session")
	p.until(`!document.querySelector("#check").hidden`)
	p.says("Ready without a signal", "2 sets of 4 at 150 and 3 at 180 rpm")
	p.tap("#start")
	p.until(`!document.querySelector("#run").hidden && document.querySelector("#figure").textContent !== ""`)
}

// A session from the first tap to how it went, without a signal.
func TestPhonePlaysASession(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t, sleepable, hearing)
	p.joins(0)
	g.signal.off()
	p.starts()
	if !value[bool](p.tab, `document.querySelector("#silent").hidden && document.querySelector("#screen").hidden`) {
		t.Error("the sound does not run, or the screen may go dark")
	}
	// Lead-in, seven beats and the end are on the audio clock before any sounds.
	early := value[int](p.tab, `sounds.filter(([at, now]) => at > now + 0.5).length`)
	if early < 4+7+1 {
		t.Errorf("%d sounds are scheduled ahead", early)
	}
	p.says("Get ready", "Set 1 of 2", "Then 4 at 150 rpm.")
	p.sleeps(10900 * time.Millisecond)
	p.until(`document.querySelector("#run").dataset.kind === "steady"`)
	p.says("Steady", "150 rpm", "Then a burst: 3 at 180 rpm.")
	value[int](p.tab, `(() => { const until = performance.now() + 300; while (performance.now() < until); return 1; })()`) // a busy page
	p.until(`document.querySelector("#run").dataset.kind === "rest"`)
	if late := value[int](p.tab, `sounds.filter(([at, now]) => at < now - 0.001).length`); late > 0 {
		t.Errorf("%d sounds were scheduled late", late)
	}
	p.says("Rest", "Set 2 of 2", "How often did the rope catch?")
	p.tap(`#ask [data-where="steady"][data-catches="1"]`)
	p.says("And in the bursts?")
	p.tap(`#ask [data-where="burst"][data-catches="1"]`)
	p.says("Where did the rope stop?")
	p.tap(`#ask [data-spot="toes"]`)
	p.says("2 caught, 1 in the bursts · Toes")
	p.sleeps(11 * time.Second)
	p.until(`!document.querySelector("#done").hidden`)
	p.tap(`#ask [data-where="steady"][data-catches="0"]`)
	p.tap(`#ask [data-where="burst"][data-catches="0"]`)
	p.leaves(chromedp.Click(chromedp.CSS("#to-debrief")))
	p.until(`document.querySelector('[name="sets"]').value === "2"`)
	if catches := value[string](p.tab, `document.querySelector('[name="catches"]').value + " " + document.querySelector('[name="clean_bursts"]').value`); catches != "2 1" {
		t.Errorf("the form says %q catches and clean bursts", catches)
	}
	p.choose("effort", "5 · some work")
	p.press("Save")
	p.until(`location.pathname === "/me"`)
	g.signal.on(nil)
	p.online()
	p.sent()
	if n := g.count(`SELECT count(*) FROM set_log WHERE (set_number, bursts, clean_bursts, catches_steady, catches_burst) IN ((1, 1, 0, 1, 1), (2, 1, 1, 0, 0))`); n != 2 {
		t.Errorf("%d of two sets are kept as they were told", n)
	}
	if n := g.count(`SELECT count(*) FROM catch_note WHERE spot = 'toes'`); n != 1 {
		t.Errorf("%d notes on where the rope stopped", n)
	}
	if n := g.count(`SELECT count(*) FROM debrief WHERE sets_done = 2 AND contacts = 14 AND catches = 2 AND effort = 5 AND pain = 0`); n != 1 {
		t.Errorf("%d debriefs as told", n)
	}
}

// Two taps in the middle of a set: the sound is gone at once, the plan is held,
// and the coach learns of it.
func TestPhoneStopsForPain(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t, sleepable, hearing)
	p.joins(0)
	p.starts()
	p.sleeps(10900 * time.Millisecond)
	p.until(`document.querySelector("#run").dataset.kind === "steady"`)
	p.tap("#stop")
	p.until(`!document.querySelector("#hurts").hidden`)
	if took := value[float64](p.tab, `silenced - pressed`); took > 100 || took < 0 {
		t.Errorf("it was silent after %.0f ms", took)
	}
	p.says("Stop jumping", "Where does it hurt?", "local emergency number")
	p.tap(`[data-place="knee"]`)
	p.until(`!document.querySelector("#stopped").hidden`)
	p.says("No more jumping today. Tell your coach now.")
	p.sent()
	if n := g.count(`SELECT count(*) FROM debrief d JOIN hold h USING (gym_id, debrief_id) WHERE d.pain_place = 'knee' AND h.opened`); n != 1 {
		t.Errorf("%d holds for the knee", n)
	}
	p.choose("pain", "6 · strong")
	p.press("Save")
	p.until(`location.pathname === "/me" && document.readyState === "complete"`)
	p.sent()
	if n := g.count(`SELECT count(*) FROM debrief WHERE pain = 6 AND corrects IS NOT NULL`); n != 1 {
		t.Errorf("%d corrections of how strong it is", n)
	}
	g.signal.off()
	p.open("/me/session")
	p.until(`!document.querySelector("#none").hidden`)
	p.says("No jumping now: you told us about pain.")
}

// Pain that cannot be sent holds the plan on the phone all the same.
func TestPhoneHoldsThePlanByItself(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t, sleepable)
	p.joins(0)
	g.signal.off()
	p.open("/me/debrief")
	p.until(`document.querySelector("[data-offline]") && !document.querySelector('[name="pain_place"]').checkVisibility()`)
	p.choose("pain", "4 · bothers me")
	p.do(chromedp.Click(`//main//button[normalize-space(.)="Save"]`))
	p.says("Say where it hurts.")
	p.choose("pain_place", "shin")
	p.press("Save")
	p.until(`location.pathname === "/me" && !document.querySelector("#held").hidden`)
	p.open("/me/session")
	p.until(`!document.querySelector("#none").hidden`)
	p.says("No jumping now")
}

// A frozen page that thaws, and a page loaded anew, show where the clock is.
func TestPhoneFindsItsPlaceAgain(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t, sleepable)
	p.joins(0)
	p.starts()
	for _, state := range []page.SetWebLifecycleStateState{page.SetWebLifecycleStateStateFrozen, page.SetWebLifecycleStateStateActive} {
		if _, err := chromedp.Call(p.ctx, page.SetWebLifecycleState, page.SetWebLifecycleStateParams{State: state}); err != nil {
			t.Fatal(err)
		}
	}
	p.sleeps(14 * time.Second) // as long as the page was away, it was in the rest after set 1
	p.until(`document.querySelector("#word").textContent === "Rest"`)
	off := value[float64](p.tab, `Promise.all([`+module("session.js")+`, `+module("outbox.js")+`]).then(async ([s, o]) => {
		const { start } = await o.kept("session");
		return s.position() - (Date.now() - start) / 1000;
	})`)
	if math.Abs(off) > 0.05 {
		t.Errorf("the page is %.3f s off the clock", off)
	}
	value[float64](p.tab, `sessionStorage.slept = slept`)
	p.open("/me/session")
	p.until(`!document.querySelector("#carry").hidden`)
	p.sleeps(14 * time.Second)
	p.tap("#carry-on")
	p.until(`!document.querySelector("#run").hidden && document.querySelector("#word").textContent === "Rest"`)
	p.tap("#pause")
	p.until(`document.querySelector("#pause").textContent === "Carry on"`)
	before := value[string](p.tab, `document.querySelector("#left").textContent`)
	p.sleeps(20 * time.Second)
	p.tap("#pause")
	p.until(`document.querySelector("#pause").textContent === "Pause"`)
	p.says("Rest")
	p.tap("#longer")
	p.tap("#fewer")
	p.until(`!document.querySelector("#done").hidden`)
	if before == "0:00" {
		t.Error("nothing was left before the pause")
	}
}
