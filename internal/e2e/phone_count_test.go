package e2e

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"ropewalk.example/internal/rate"
)

// A tapped record: seconds, rotations a tap, and when catches were pressed.
type tapRecord struct {
	At      []float64 `json:"at"`
	PerTap  float64   `json:"per_tap"`
	Catches []float64 `json:"catches"`
}

// record invents a jumper and whoever taps: taps scatter, some are missed, some
// come twice from a wet screen, and now and then the rope catches.
func recordOf(luck *rand.Rand) tapRecord {
	r := tapRecord{PerTap: float64(1 + luck.IntN(2)), At: []float64{}, Catches: []float64{}}
	gap := r.PerTap * 60 / (60 + 160*luck.Float64())
	scatter, missed, wet, caught := 0.04*luck.Float64(), 0.1*luck.Float64(), 0.05*luck.Float64(), 0.04*luck.Float64()
	for at := luck.Float64(); at < 30; at += gap {
		tap := at + scatter*luck.NormFloat64()
		if len(r.At) > 0 {
			tap = max(tap, r.At[len(r.At)-1])
		}
		if luck.Float64() >= missed {
			r.At = append(r.At, tap)
		}
		if luck.Float64() < wet {
			r.At = append(r.At, tap+0.03)
			at = max(at, tap+0.03-gap)
		}
		if luck.Float64() < caught {
			r.Catches = append(r.Catches, at+gap/2)
			at += 1 + 2*luck.Float64()
		}
	}
	return r
}

// What the phone shows without a signal is what the gym's computer will work
// out, to the last digits, and both refuse the same records.
func TestPhoneReckonsLikeTheServer(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t)
	p.open("/offline/test")
	luck := rand.New(rand.NewPCG(20261104, 5))
	records := []tapRecord{{At: []float64{}, PerTap: 1, Catches: []float64{}}, {At: []float64{1, 2, 3}, PerTap: 1, Catches: []float64{}},
		{At: []float64{1, 1, 1, 1, 1}, PerTap: 1, Catches: []float64{}}, {At: []float64{0, 0.05, 0.1, 0.15, 0.2, 0.25}, PerTap: 2, Catches: []float64{}},
		{At: []float64{0, 1, 2, 3}, PerTap: 2, Catches: []float64{0.5, 1.5, 2.5}}, {At: []float64{0, 0.4, 0.8, 1.2, 9}, PerTap: 1, Catches: []float64{}}}
	for range 300 {
		records = append(records, recordOf(luck))
	}
	sent, err := json.Marshal(records)
	if err != nil {
		t.Fatal(err)
	}
	type reckoned struct {
		RPM, U, Rotations, LongestRest *float64
		Filled, Dropped, Pieces        int
	}
	got := value[[]*reckoned](p.tab, module("taps.js")+`.then(m => `+string(sent)+`.map(r => m.rateOfTaps(r.at, r.per_tap, r.catches)))`)
	known := 0
	for i, r := range records {
		want, err := rate.Taps(r.At, r.PerTap, r.Catches)
		if err != nil {
			if got[i] != nil {
				t.Errorf("record %d: the phone finds %v where there is none: %v", i, *got[i].RPM, err)
			}
			continue
		}
		if got[i] == nil {
			t.Errorf("record %d: the phone finds nothing, want %v", i, want.RPM)
			continue
		}
		known++
		g := got[i]
		if !near(*g.RPM, want.RPM) || !near(*g.Rotations, want.Rotations) || !near(*g.LongestRest, want.LongestRest) ||
			g.Filled != want.Filled || g.Dropped != want.Dropped || g.Pieces != want.Pieces {
			t.Errorf("record %d: the phone finds %v of %v rotations, want %+v", i, *g.RPM, *g.Rotations, want)
		}
		if math.IsNaN(want.U) != (g.U == nil) || g.U != nil && !near(*g.U, want.U) {
			t.Errorf("record %d: the phone is uncertain by %v, want %v", i, g.U, want.U)
		}
	}
	if known < 250 {
		t.Errorf("only %d of %d records show a rate", known, len(records))
	}
	for _, c := range [][2]float64{{87, 30}, {0, 60}, {46, 15}, {408, 60}} {
		want, err := rate.Count{Counted: c[0], Seconds: c[1], Timing: rate.ByApp}.WholeTest()
		if err != nil {
			t.Fatal(err)
		}
		got := value[[]float64](p.tab, fmt.Sprintf(module("taps.js")+`.then(m => m.rateOfCount(%v, %v)).then(r => [r.rpm, r.u])`, c[0], c[1]))
		if !near(got[0], want.RPM) || !near(got[1], want.U) {
			t.Errorf("%v in %v s: the phone finds %v, want %+v", c[0], c[1], got, want)
		}
	}
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(1, math.Abs(b)) }

// hasty lets a test skip the time of a window: the page's clock runs ahead.
const hasty = `{ const real = performance.now.bind(performance); globalThis.ahead = 0; performance.now = () => real() + globalThis.ahead; }`

// tapAt presses the pad as if touched at ms after the window began: the event
// carries the time.
const tapAt = `(stamps, id) => { for (const at of stamps) {
	const e = new PointerEvent("pointerdown", { isPrimary: true, pointerId: 1, button: 0, bubbles: true });
	Object.defineProperty(e, "timeStamp", { value: at });
	document.getElementById(id).dispatchEvent(e);
} }`

// began is when the page's window began, found by how much of it is left.
func (p *phone) window(seconds int) float64 {
	p.Helper()
	p.until(`document.querySelector("#time-word").textContent === "seconds left"`)
	// The figure changes at whole seconds; a tap tells the rest exactly.
	return value[float64](p.tab, fmt.Sprintf(`new Promise(done => {
		const time = document.querySelector("#time"), before = time.textContent;
		const look = () => time.textContent === before ? setTimeout(look, 1) : done(performance.now() - (%d - Number(before)) * 1000 - 1000);
		look();
	})`, seconds))
}

// A test of fifteen seconds at 164 rpm, tapped at every second rotation with a
// scatter, one tap missed and one catch: both rates within 1 rpm.
func TestPhoneCountsATest(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t, hasty)
	p.joins(0)
	p.open("/me/test")
	p.until(`!document.querySelector("#timed").ariaBusy`)
	p.choose("test", "Base rate, 15\u00a0s")
	p.tap(`#setup-form button.go`)
	began := p.window(15)
	const rpm = 164.0
	luck := rand.New(rand.NewPCG(20261104, 7))
	var stamps []string
	for n := range 18 {
		if n == 6 {
			continue // missed
		}
		at := 600 + float64(n)*2*60000/rpm
		if n > 10 {
			at += 1400 // the rope caught
		}
		stamps = append(stamps, strconv.FormatFloat(began+at+12*luck.NormFloat64(), 'f', 1, 64))
	}
	value[int](p.tab, fmt.Sprintf(`((%s)([%s], "pad"), 1)`, tapAt, strings.Join(stamps, ",")))
	value[int](p.tab, fmt.Sprintf(`((%s)([%v], "caught"), 1)`, tapAt, began+600+10.5*2*60000/rpm))
	value[int](p.tab, fmt.Sprintf(`((%s)([%v, %v], "pad"), 1)`, tapAt, began-400, began+15400)) // before and after: not in the window
	p.says("34", "Catches: 1")
	value[float64](p.tab, `globalThis.ahead += 15000`)
	p.until(`!document.querySelector("#result").hidden`)
	shown := value[[]string](p.tab, `["whole", "turning"].map(id => document.getElementById(id).textContent)`)
	turning, err := strconv.ParseFloat(strings.Fields(shown[1])[0], 64)
	if err != nil || math.Abs(turning-rpm) > 1 {
		t.Errorf("the rope turned at %q, want %v", shown[1], rpm)
	}
	if !strings.HasPrefix(shown[0], "144 ") { // 36 rotations in 15 s
		t.Errorf("the whole test is %q", shown[0])
	}
	p.do(chromedp.Click(chromedp.CSS("#result-form button.go")))
	p.until(`!document.querySelector("#saved").hidden`)
	p.says("36 rotations in 15 s")
	p.sent()
	if n := g.count(`SELECT count(*) FROM result WHERE rotations = 36 AND catches = 1 AND abs(rpm_from_taps - 164) < 1 AND standard_error_rpm < 1
		AND timing = 'app' AND counted_by = 'partner' AND longest_restart_seconds > 1.4`); n != 1 {
		t.Errorf("%d rows with the rate of the taps", n)
	}
}

// Real touches count when the finger comes down; the last one can be taken off;
// a second finger and a wet screen count nothing.
func TestPhoneFeelsTouches(t *testing.T) {
	g := newPhoneGym(t)
	p := g.newPhone(t, hasty)
	p.joins(0)
	p.open("/me/test")
	p.until(`!document.querySelector("#timed").ariaBusy`)
	p.do(chromedp.Click(chromedp.CSS(`[name="who"][value="mate"]`)))
	p.tap(`#setup-form button.go`)
	p.says("Choose whom you count for.")
	p.choose("mate", g.athletes[1].Name)
	p.tap(`#setup-form button.go`)
	p.window(60)
	at := value[[]float64](p.tab, `(({ x, y, width, height }) => [x + width / 2, y + height / 2, height / innerHeight])(document.querySelector("#pad").getBoundingClientRect())`)
	if at[2] < 0.4 {
		t.Errorf("the pad takes %.0f %% of the screen's height", 100*at[2])
	}
	touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		t.Helper()
		if _, err := chromedp.Call(p.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points}); err != nil {
			t.Fatal(err)
		}
	}
	finger, drop := &input.TouchPoint{X: at[0], Y: at[1], ID: ptr(1.0)}, &input.TouchPoint{X: at[0] + 40, Y: at[1] + 40, ID: ptr(2.0)}
	for n := 1; n <= 3; n++ {
		touch(input.DispatchTouchEventTypeTouchStart, finger)
		p.until(fmt.Sprintf(`document.querySelector("#tap-count").textContent === "%d"`, 2*n))
		touch(input.DispatchTouchEventTypeTouchStart, finger, drop)
		touch(input.DispatchTouchEventTypeTouchEnd)
		p.until(`new Promise(done => setTimeout(done, 90, true))`) // longer than water takes
	}
	p.says("6")
	p.tap("#undo")
	p.says("4")
	value[float64](p.tab, `globalThis.ahead += 60000`)
	p.until(`!document.querySelector("#result").hidden`)
	p.fill("rotations", "x7")
	p.do(chromedp.Click(chromedp.CSS("#result-form button.go")))
	p.says("The count must be a whole number, like 87.")
	p.fill("rotations", "131")
	p.do(chromedp.Click(chromedp.CSS("#result-form button.go")))
	p.until(`!document.querySelector("#saved").hidden`)
	p.sent()
	if n := g.count(`SELECT count(*) FROM result WHERE rotations = 131 AND athlete_id = $1 AND recorded_by = $2 AND taps IS NULL`, g.athletes[1].AthleteID, g.athletes[0].AthleteID); n != 1 {
		t.Errorf("%d rows of the class-mate's count", n)
	}
}

func ptr[T any](v T) *T { return &v }
