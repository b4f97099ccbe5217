package e2e

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// A quarter of an hour before the Tuesday class of the demo, which has fourteen.
const tuesday = "DEMO_NOW=2026-11-10T16:45:00Z"

// newCoach signs the coach in on a tablet with touch.
func newCoach(t *testing.T, p *program, scripts bool) *hand {
	t.Helper()
	h := &hand{tab: newTab(t, p, 1180, 820)}
	h.do(chromedp.EmulateViewport(1180, 820, chromedp.EmulateTouch))
	if !scripts {
		h.noScript()
	}
	h.signIn("marit@tallowmere.example", "twelve ropes on a rack")
	h.says("Tuesday Starters")
	return h
}

// key types one digit on the keyboard of the device, which counts as a tap.
func (h *hand) digits(text string) {
	h.Helper()
	for _, digit := range text {
		h.taps++
		if _, err := chromedp.Call(h.ctx, input.InsertText, input.InsertTextParams{Text: string(digit)}); err != nil {
			h.Fatal(err)
		}
	}
}

// hour runs the demo for a walk of its own, which changes things.
func hour(t *testing.T) *program {
	t.Helper()
	p, err := run("demo", "Stop with Ctrl-C.", tuesday)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	return p
}

// The coach of a class that waits: the one odd value, the athlete who met the
// gate, who is here, plans on the phones. The limits are those of this program's
// own design; without scripts there are none.
func TestCoachOpensTheHour(t *testing.T) {
	for name, scripts := range map[string]bool{"with scripts": true, "without scripts": false} {
		t.Run(name, func(t *testing.T) {
			h := newCoach(t, hour(t), scripts)
			h.mendsTheOdd(scripts)
			h.limited("mending the odd value", scripts, 4, 15)
			h.open("/today")
			h.movesUp(func(label string) { h.goes(label) })
			h.limited("moving up the one who met the gate", scripts, 3, 15)
			h.open("/today")
			h.opens()
			h.limited("checking in 14, two of them away", scripts, 5+2, 25)
			h.plans()
			h.limited("plans for all here", scripts, 4, 30)
		})
	}
	t.Run("by keyboard", func(t *testing.T) {
		h := newCoach(t, hour(t), true)
		h.movesUp(func(label string) {
			h.tabTo(label)
			h.leaves(chromedp.KeyEvent(kb.Enter))
		})
	})
}

// limited checks a task of the coach's against what it may take, and begins the
// next one.
func (h *hand) limited(task string, limited bool, taps int, seconds float64) {
	h.Helper()
	if limited {
		h.within(task, taps, seconds)
	}
	h.taps = 0
}

// mendsTheOdd finds the one value that cannot be, and types the right one. What
// was typed wrongly stays in the history.
func (h *hand) mendsTheOdd(scripts bool) {
	h.Helper()
	h.goes("1 odd result")
	h.says("Yusuf Karadoğan, Tue 3 Nov", "480 in 60 s is 480 rpm. Before that: 82 rpm.")
	if !value[bool](h.tab, `document.activeElement.name === "rotations"`) {
		h.Error("the one number to type does not hold the cursor")
	}
	h.digits("80")
	h.goes("Change")
	taps := h.taps
	h.open("/today")
	if strings.Contains(h.words(), "odd result") {
		h.Errorf("the value is still odd: %s", h.words())
	}
	h.open("/athletes")
	h.open(value[string](h.tab, `[...document.querySelectorAll("main a")].find(a => a.innerText.includes("Yusuf"))?.pathname ?? ""`) + "/results")
	h.says("480 rotations", "80 rotations")
	h.taps = taps
}

// movesUp moves the athlete who met the gate; both dated results are seen before.
func (h *hand) movesUp(press func(label string)) {
	h.Helper()
	press("Ngọc Trầm")
	h.says("Every part of the gate is met by the results above.")
	h.says("Tue 20 Oct", "50 rotations, 1 catch", "Tue 3 Nov", "53 rotations")
	press("Move up to 6 · Changes of pace")
	h.says("6 · Changes of pace, since today")
}

// opens checks in: everybody is here but two.
func (h *hand) opens() {
	h.Helper()
	h.goes("Start class")
	for n := range 2 {
		h.taps++
		h.do(chromedp.Click(chromedp.CSS(fmt.Sprintf(".roll-row:nth-of-type(%d) label", 3+4*n))))
	}
	h.goes("Start class")
	h.says("12 here, 2 away")
}

// plans makes plans for all here and sends them. Each says why, and who has no
// test is told.
func (h *hand) plans() {
	h.Helper()
	h.goes("Make the missing plans and send")
	h.says("all on the phones.")
	rows := value[[]string](h.tab, `[...document.querySelectorAll(".hour-rows li:not(.is-away) .hour-plan")].map(e => e.innerText.trim())`)
	if len(rows) != 12 {
		h.Errorf("%d rows are here, want 12", len(rows))
	}
	planned := 0
	for _, row := range rows {
		switch sentences := strings.Count(row, "."); {
		case strings.HasPrefix(row, "No plan yet."):
		case sentences < 2:
			h.Errorf("a plan does not say why: %q", row)
		default:
			planned++
		}
	}
	if planned != 11 {
		h.Errorf("%d have a plan, want all but the one without a test: %q", planned, rows)
	}
}

// A test of thirty seconds, counted by the coach on the tablet's pad, with two
// catches: four taps beside those of the count, and a rate within 1 rpm of the
// stamps.
func TestCoachCountsByTaps(t *testing.T) {
	h := newCoach(t, hour(t), true)
	if _, err := chromedp.Call(h.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: hasty}); err != nil {
		t.Fatal(err)
	}
	h.open("/athletes")
	athlete := value[string](h.tab, `[...document.querySelectorAll("main a")].find(a => a.innerText.includes("Amara")).pathname`)
	h.open(athlete)
	h.taps = 0
	h.goes("Record a test")
	if window := value[string](h.tab, `document.querySelector('[name="test"]').value`); window != "base 30" {
		h.picks("test", "30\u00a0s")
	}
	h.tap("Count by taps")
	h.says("seconds left")
	began := value[float64](h.tab, `new Promise(done => {
		const time = document.querySelector("#tap-time"), before = time.textContent;
		const look = () => time.textContent === before ? setTimeout(look, 1) : done(performance.now() - (30 - Number(before)) * 1000 - 1000);
		look();
	})`)
	const rpm = 112.0
	luck := rand.New(rand.NewPCG(20261110, 2))
	var stamps, caught []string
	at, end := 500.0, 29000.0
	for n := 0; at < end; n++ {
		stamps = append(stamps, strconv.FormatFloat(began+at+10*luck.NormFloat64(), 'f', 1, 64))
		if n == 8 || n == 17 {
			caught = append(caught, strconv.FormatFloat(began+at+900, 'f', 1, 64))
			at += 2200 // until the rope turns again
		}
		at += 2 * 60000 / rpm
	}
	value[int](h.tab, fmt.Sprintf(`((%s)([%s], "tap-pad"), 1)`, tapAt, strings.Join(stamps, ",")))
	value[int](h.tab, fmt.Sprintf(`((%s)([%s], "tap-caught"), 1)`, tapAt, strings.Join(caught, ",")))
	h.says(fmt.Sprint(2*len(stamps)), "Catches: 2")
	value[float64](h.tab, `globalThis.ahead += 30000`)
	h.says("Time. Stop tapping.")
	if value[bool](h.tab, `document.querySelector("form[data-record]").checkVisibility()`) {
		t.Error("a hand that taps on can save the test by accident")
	}
	h.says("While the rope turned: ")
	_, after, _ := strings.Cut(h.words(), "While the rope turned: ")
	if turning, err := strconv.ParseFloat(strings.Fields(after)[0], 64); err != nil || turning < rpm-1 || turning > rpm+1 {
		t.Errorf("the rope turned at %.30q, want %v within 1", after, rpm)
	}
	h.goes("Save result")
	h.limited("counting a test by taps, beside the count", true, 4, 45)
	h.says("Saved.", fmt.Sprintf("%d rotations, 2 catches", 2*len(stamps)))
}

// names is a class of as many as a coach types from a paper list.
func names(n int) string {
	var lines strings.Builder
	for i := range n {
		fmt.Fprintf(&lines, "Athlete %c%c, %d\n", 'A'+i%26, 'a'+(i*7)%26, 2001+i%8)
	}
	return lines.String()
}

// counts are what stands on the paper list.
func counts(n int) []string {
	var list []string
	for i := range n {
		list = append(list, fmt.Sprint(84+(i*13)%45))
	}
	return list
}

// classOf24 makes a gym whose class has as many athletes as a coach has to type
// in, and goes to its sheet.
func classOf24(t *testing.T, scripts bool) *hand {
	t.Helper()
	p, err := run("serve", "    ")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	h := &hand{tab: newTab(t, p, 1180, 820)}
	h.do(chromedp.EmulateViewport(1180, 820, chromedp.EmulateTouch))
	if !scripts {
		h.noScript()
	}
	setUp(h.tab, code.FindStringSubmatch(p.said)[1])
	makeClass(h.tab)
	h.fill("names", names(24))
	h.press("Look at it first")
	h.press("Bring in 24 names")
	h.press("Record a test")
	return h
}

// typedRows are the numbers in the boxes, in the list's order.
const typedRows = `[...document.querySelectorAll('main [data-box="rotations"]')].map(e => e.value)`

// nextRow is the place of the row that is pointed at, and of the first empty one.
const nextRow = `(() => { const rows = [...document.querySelectorAll("tr[data-athlete]")];
	return [rows.findIndex(r => r.classList.contains("next")), rows.findIndex(r => r.querySelector('[data-box="rotations"]').value === "")]; })()`

// kept checks that every number of the list is there after the page is asked for
// anew.
func (h *hand) kept(want []string) {
	h.Helper()
	h.says(fmt.Sprintf("%d of %d in", len(want), len(want)))
	h.open(value[string](h.tab, `location.pathname + location.search`))
	if got := value[[]string](h.tab, typedRows); fmt.Sprint(got) != fmt.Sprint(want) {
		h.Errorf("the list has  %v\nwant %v", got, want)
	}
}

// Twenty-four numbers from a paper list, on the tablet's own pad: at most four
// taps each, and a reload in the middle loses none.
func TestCoachTypesAPaperList(t *testing.T) {
	list := counts(24)
	t.Run("with scripts", func(t *testing.T) {
		h := classOf24(t, true)
		h.taps = 0
		seconds := 0.0
		for i, count := range list {
			before := h.taps
			for _, digit := range count {
				h.taps++
				h.do(chromedp.Click(chromedp.CSS(fmt.Sprintf(`[data-pad] [data-key="%c"]`, digit))))
				seconds += 0.28
			}
			if i == 12 { // the tablet's page is asked for anew, with a number typed and not left
				h.open(value[string](h.tab, `location.pathname + location.search`))
				h.says("13 of 24 in")
			} else {
				h.taps++
				h.do(chromedp.Click(chromedp.CSS(`[data-pad] [data-key="next"]`)))
			}
			seconds += 0.4 + 1.35
			if took := h.taps - before; took > 4 {
				t.Errorf("number %d took %d taps", i+1, took)
			}
			at := value[[]int](h.tab, nextRow)
			if want := i + 1; want < len(list) && (at[0] != want || at[1] != want) {
				t.Fatalf("after number %d the page points at row %d, and row %d is empty", i+1, at[0]+1, at[1]+1)
			}
		}
		t.Logf("24 numbers: %d taps, %.0f s as modelled", h.taps, seconds)
		if seconds > 100 {
			t.Errorf("24 numbers take %.0f s as modelled, 100 are allowed", seconds)
		}
		h.kept(list)
	})
	t.Run("by keyboard", func(t *testing.T) {
		h := classOf24(t, true)
		h.tabTo(value[string](h.tab, `document.querySelector('main [data-box="rotations"]').name`))
		for i, count := range list {
			h.do(chromedp.KeyEvent(count), chromedp.KeyEvent(kb.Enter))
			if at := value[focus](h.tab, focused); i+1 < len(list) && (at.Wrong != "" || at.Name != value[string](h.tab, fmt.Sprintf(`document.querySelectorAll('main [data-box="rotations"]')[%d].name`, i+1))) {
				t.Fatalf("after number %d the focus is at %q and %s", i+1, at.Name, at.Wrong)
			}
		}
		h.kept(list)
	})
	t.Run("without scripts", func(t *testing.T) {
		h := classOf24(t, false)
		boxes := value[[]string](h.tab, `[...document.querySelectorAll("main [data-box=rotations]")].map(e => e.name)`)
		for half := range 2 {
			for i := range 12 {
				h.fill(boxes[12*half+i], list[12*half+i])
			}
			h.press("Save results")
			h.says(fmt.Sprintf("%d of 24 in", 12*(half+1)))
		}
		h.kept(list)
	})
}
