package server

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/internal/store"
	"ropewalk.example/web"
)

// An entry as a phone sends it.
type sentEntry struct {
	ID     uuid.UUID      `json:"id"`
	Kind   receiving.Kind `json:"kind"`
	At     time.Time      `json:"at"`
	Offset *int64         `json:"offset_ms"`
	Body   any            `json:"body"`
}

func (h *hall) counted60(rotations int) map[string]any {
	return map[string]any{"protocol": "base", "seconds": 60, "rotations": rotations, "step": "bounce", "rope": "beaded", "surface": "wood", "counted_by": "partner", "timing": "app"}
}

func (h *hall) entry(kind receiving.Kind, body any) sentEntry {
	return sentEntry{ID: newID(), Kind: kind, At: h.now, Body: body}
}

// sends posts entries as a phone does whose clock says now.
func (b *browser) sends(athlete uuid.UUID, now time.Time, entries ...sentEntry) *answer {
	b.t.Helper()
	body, err := json.Marshal(map[string]any{"athlete": athlete, "sent_at": now, "entries": entries})
	if err != nil {
		b.t.Fatal(err)
	}
	return b.do("POST", "/me/outbox", "application/json", strings.NewReader(string(body)))
}

// answers reads what became of the entries.
func (a *answer) answers() []receiving.Answer {
	a.t.Helper()
	a.is(http.StatusOK)
	var out outboxAnswer
	if err := json.Unmarshal([]byte(a.Text), &out); err != nil {
		a.t.Fatalf("%s: %v: %s", a.what, err, a.Text)
	}
	return out.Answers
}

// became checks the answers' words in order.
func (a *answer) became(want ...receiving.Word) *answer {
	a.t.Helper()
	got := a.answers()
	if len(got) != len(want) {
		a.t.Fatalf("%d answers, want %d: %s", len(got), len(want), a.Text)
	}
	for i := range want {
		if got[i].Word != want[i] {
			a.t.Errorf("entry %d is %q (%s), want %q", i+1, got[i].Word, got[i].Said, want[i])
		}
	}
	return a
}

func repeat(word receiving.Word, n int) []receiving.Word {
	words := make([]receiving.Word, n)
	for i := range words {
		words[i] = word
	}
	return words
}

// However often, in whatever order and in whatever parts entries come: each is
// kept once.
func TestEachEntryIsKeptOnce(t *testing.T) {
	h := newHall(t, "Ana")
	h.plan("2026-11-05")
	h.counted(0, "base", 100, 60, 7)
	h.plan("2026-11-05")
	plan := h.plansOf(0)[0].PlanID
	ana := h.as(h.jumper(0))
	var entries []sentEntry
	for n := range 6 {
		entries = append(entries, h.entry(receiving.Result, h.counted60(100+n)))
	}
	entries = append(entries,
		h.entry(receiving.Set, map[string]any{"plan": plan, "number": 1, "bursts": 0, "catches_steady": 2}),
		h.entry(receiving.CatchNote, map[string]any{"spot": "toes"}),
		h.entry(receiving.Debrief, map[string]any{"plan": plan, "sets": 3, "effort": 5, "pain": 0, "pain_signs": []string{}}))
	ana.sends(h.athletes[0].AthleteID, h.now, entries...).became(repeat(receiving.Accepted, len(entries))...)
	order := rand.New(rand.NewPCG(20261104, 1))
	for range 10 {
		order.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
		part := 1 + order.IntN(len(entries))
		ana.sends(h.athletes[0].AthleteID, h.now, entries[:part]...).became(repeat(receiving.Duplicate, part)...)
	}
	if n := len(h.history(0)); n != 7 { // and the one before
		t.Errorf("%d results are kept, want 7", n)
	}
	var sets []gym.SetLog
	var notes []gym.CatchNote
	var debriefs []gym.Debrief
	h.read(h.id, store.SetLogsOf(h.athletes[0].AthleteID, h.now.AddDate(0, 0, -1), &sets),
		store.CatchNotes(store.Only(h.athletes[0].AthleteID), h.now.AddDate(0, 0, -2), &notes),
		store.DebriefsOf(h.athletes[0].AthleteID, h.now.AddDate(0, 0, -2), &debriefs))
	if len(sets) != 1 || len(notes) != 1 || len(debriefs) != 1 {
		t.Fatalf("%d sets, %d catch notes and %d debriefs are kept, want one of each", len(sets), len(notes), len(debriefs))
	}
	if sets[0].CatchesSteady != 2 || notes[0].Spot != "toes" || debriefs[0].Contacts == nil || *debriefs[0].Contacts == 0 {
		t.Errorf("kept otherwise than sent: %+v, %+v, %+v", sets[0], notes[0], debriefs[0])
	}
}

// One that is refused does not stop the others and says why.
func TestOneRefusedEntryStaysBehind(t *testing.T) {
	h := newHall(t, "Ana")
	var entries []sentEntry
	want := repeat(receiving.Accepted, 20)
	for n := range 20 {
		entries = append(entries, h.entry(receiving.Result, h.counted60(100+n)))
	}
	entries[7].Body, want[7] = h.counted60(99999), receiving.Refused
	a := h.as(h.jumper(0)).sends(h.athletes[0].AthleteID, h.now, entries...).became(want...)
	if said := a.answers()[7].Said; !strings.Contains(said, "whole number from 0 to 999") {
		t.Errorf("the refusal says %q", said)
	}
	if n := len(h.history(0)); n != 19 {
		t.Errorf("%d results are kept, want 19", n)
	}
}

func TestWhatCannotBeReadIsRefusedByItself(t *testing.T) {
	h := newHall(t, "Ana")
	good := h.entry(receiving.Result, h.counted60(101))
	ana := h.as(h.jumper(0))
	for name, bad := range map[string]sentEntry{
		"no id":            {Kind: receiving.Result, At: h.now, Body: h.counted60(1)},
		"unknown kind":     h.entry("weather", map[string]any{"rain": true}),
		"no time":          {ID: newID(), Kind: receiving.Result, Body: h.counted60(1)},
		"a body of text":   h.entry(receiving.Result, "87"),
		"two years old":    {ID: newID(), Kind: receiving.Result, At: h.now.AddDate(-2, 0, 0), Body: h.counted60(1)},
		"a foreign plan":   h.entry(receiving.Set, map[string]any{"plan": newID(), "number": 1}),
		"an unknown spot":  h.entry(receiving.CatchNote, map[string]any{"spot": "moon"}),
		"taps too late":    h.entry(receiving.Result, map[string]any{"protocol": "base", "seconds": 15, "step": "bounce", "counted_by": "self", "per_tap": 1, "taps": []float64{1, 2, 3, 99}}),
		"three to a tap":   h.entry(receiving.Result, map[string]any{"protocol": "base", "seconds": 15, "step": "bounce", "counted_by": "self", "per_tap": 3, "taps": []float64{1, 2, 3, 4}}),
		"faster than rope": h.entry(receiving.Result, map[string]any{"protocol": "base", "seconds": 15, "step": "bounce", "counted_by": "self", "per_tap": 2, "taps": []float64{1, 1.1, 1.2, 1.3, 1.4}}),
	} {
		t.Run(name, func(t *testing.T) {
			fresh := good
			fresh.ID = newID()
			if said := ana.sends(h.athletes[0].AthleteID, h.now, bad, fresh).became(receiving.Refused, receiving.Accepted).answers()[0].Said; said == "" {
				t.Error("the refusal gives no reason")
			}
		})
	}
	ana.do("POST", "/me/outbox", "application/json", strings.NewReader(`{"entries":`)).is(http.StatusUnprocessableEntity)
	ana.do("POST", "/me/outbox", "application/x-www-form-urlencoded", strings.NewReader(`{"entries":[]}`)).is(http.StatusUnprocessableEntity)
	ana.do("POST", "/me/outbox", "text/plain", strings.NewReader(`{"entries":[]}`)).is(http.StatusUnsupportedMediaType)
	many := make([]sentEntry, receiving.MostEntries+1)
	ana.sends(h.athletes[0].AthleteID, h.now, many...).is(http.StatusRequestEntityTooLarge)
	ana.headers["Sec-Fetch-Site"] = "cross-site"
	ana.sends(h.athletes[0].AthleteID, h.now, good).is(http.StatusForbidden)
}

// What comes under a known number and says something else is refused; the first
// stands.
func TestAnotherEntryUnderAKnownID(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	first := h.entry(receiving.Result, h.counted60(101))
	other := first
	other.Body = h.counted60(102)
	ana := h.as(h.jumper(0))
	ana.sends(h.athletes[0].AthleteID, h.now, first).became(receiving.Accepted)
	ana.sends(h.athletes[0].AthleteID, h.now, other).became(receiving.Refused)
	h.as(h.jumper(1)).sends(h.athletes[1].AthleteID, h.now, first).became(receiving.Refused)
	if kept := h.history(0); len(kept) != 1 || *kept[0].Rotations != 101 {
		t.Errorf("kept is %v", kept)
	}
	if n := len(h.history(1)); n != 0 {
		t.Errorf("%d results are kept of another athlete", n)
	}
}

// A phone whose clock is wrong: the time is set right, and what its clock said
// stays.
func TestThePhonesClockIsSetRight(t *testing.T) {
	h := newHall(t, "Ana")
	ana := h.as(h.jumper(0))
	for name, test := range map[string]struct {
		fast  time.Duration // how far the phone's clock is ahead
		ago   time.Duration
		known bool // the phone compared its clock before it kept the entry
		moved time.Duration
	}{
		"right":                           {ago: time.Minute},
		"three hours fast":                {fast: 3 * time.Hour, ago: 10 * time.Minute},
		"two days slow":                   {fast: -48 * time.Hour, ago: time.Hour},
		"three days without a signal":     {fast: 3 * time.Hour, ago: 72 * time.Hour},
		"set right after it was compared": {fast: 3 * time.Hour, ago: 20 * time.Minute, known: true, moved: -3 * time.Hour},
	} {
		t.Run(name, func(t *testing.T) {
			made := h.now.Add(-test.ago)
			e := h.entry(receiving.Result, h.counted60(101))
			e.At = made.Add(test.fast)
			if test.known {
				offset := -test.fast.Milliseconds()
				e.Offset = &offset
			}
			ana.sends(h.athletes[0].AthleteID, h.now.Add(test.fast+test.moved), e).became(receiving.Accepted)
			for _, r := range h.history(0) {
				if r.ResultID != e.ID {
					continue
				}
				if off := r.TakenAt.Sub(made).Abs(); off > 2*time.Second {
					t.Errorf("taken at %s, want %s", r.TakenAt, made)
				}
				if r.DeviceAt == nil || !r.DeviceAt.Equal(e.At) {
					t.Errorf("the phone's own time is %v, want %s", r.DeviceAt, e.At)
				}
			}
		})
	}
	e := h.entry(receiving.Result, h.counted60(102)) // made before the clock was set forward, and never compared
	e.At = h.now.Add(5 * time.Hour)
	ana.sends(h.athletes[0].AthleteID, h.now, e).became(receiving.Accepted)
	if newest := h.history(0)[0]; newest.TakenAt.After(h.now) {
		t.Errorf("taken in the future: %s", newest.TakenAt)
	}
}

func TestOnlyTheOneWhoMadeThemSendsEntries(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	e := h.entry(receiving.Result, h.counted60(101))
	signedOut := h.open().sends(h.athletes[0].AthleteID, h.now, e).is(http.StatusUnauthorized)
	if !strings.Contains(signedOut.Text, "What is on this phone stays here") {
		t.Errorf("the answer says %s", signedOut.Text)
	}
	h.as(h.coach).sends(h.athletes[0].AthleteID, h.now, e).is(http.StatusForbidden)
	h.as(h.jumper(1)).sends(h.athletes[0].AthleteID, h.now, e).is(http.StatusForbidden)
	if len(h.history(0))+len(h.history(1)) != 0 {
		t.Error("something was kept")
	}
	h.as(h.jumper(0)).sends(h.athletes[0].AthleteID, h.now, e).became(receiving.Accepted)
}

// Who counts for a class-mate writes to the class-mate's results, and to nobody
// else's.
func TestCountForAClassMate(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	stranger := h.addHall("Elm Row", "Eve")
	for _, test := range []struct {
		mate uuid.UUID
		want receiving.Word
	}{{h.athletes[1].AthleteID, receiving.Accepted}, {stranger.athletes[0].AthleteID, receiving.Refused}, {newID(), receiving.Refused}} {
		body := h.counted60(111)
		body["for"] = test.mate
		h.as(h.jumper(0)).sends(h.athletes[0].AthleteID, h.now, h.entry(receiving.Result, body)).became(test.want)
	}
	ben := h.history(1)
	if len(ben) != 1 || ben[0].CountedBy != "partner" || ben[0].RecordedBy != h.athletes[0].AthleteID || !ben[0].Unattended {
		t.Errorf("Ben's results are %+v", ben)
	}
	if len(h.history(0)) != 0 {
		t.Error("the count is Ana's")
	}
	page := h.as(h.jumper(0)).get("/me/test").is(200).says("Ben")
	page.lacks("Eve")
}

func TestTapsBecomeARate(t *testing.T) {
	h := newHall(t, "Ana")
	var taps []float64
	for n := range 20 { // every second rotation at 160 rpm, one tap missed
		if n != 7 {
			taps = append(taps, 0.2+float64(n)*0.75)
		}
	}
	body := map[string]any{"protocol": "base", "seconds": 15, "taps": taps, "per_tap": 2, "catches": 0, "step": "bounce", "counted_by": "partner", "timing": "app", "adult": true}
	h.as(h.jumper(0)).sends(h.athletes[0].AthleteID, h.now, h.entry(receiving.Result, body)).became(receiving.Accepted)
	r := h.history(0)[0]
	if r.RPMFromTaps == nil || *r.RPMFromTaps < 159.9 || *r.RPMFromTaps > 160.1 || *r.Rotations != 40 || r.Unattended {
		t.Errorf("kept is %+v", r)
	}
}

// Athletes mend their own counts; the second of two who mend the same one learns
// that another stands.
func TestCorrectAResultOnThePhone(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	ana := h.as(h.jumper(0))
	wrong := h.entry(receiving.Result, h.counted60(13))
	ana.sends(h.athletes[0].AthleteID, h.now, wrong).became(receiving.Accepted)
	fix := func(to int) sentEntry {
		return h.entry(receiving.Correction, map[string]any{"corrects": wrong.ID, "rotations": to, "catches": 1})
	}
	ana.get("/me/results").is(200).says("Change a result", "Base rate, 60 s")
	h.as(h.jumper(1)).sends(h.athletes[1].AthleteID, h.now, fix(500)).became(receiving.Refused)
	ana.sends(h.athletes[0].AthleteID, h.now, fix(130), fix(131)).became(receiving.Accepted, receiving.Superseded)
	seen := h.counted(0, "base", 120, 60, 1)
	ana.sends(h.athletes[0].AthleteID, h.now, h.entry(receiving.Correction, map[string]any{"corrects": seen.ResultID, "rotations": 140})).became(receiving.Refused)
	var stands []gym.Result
	h.read(h.id, store.ResultsOf(h.athletes[0].AthleteID, h.now.AddDate(0, 0, -2), &stands))
	if len(stands) != 2 || *stands[0].Rotations != 130 || stands[0].Catches != 1 {
		t.Errorf("what stands is %+v", stands)
	}
	f := form("corrects", stands[0].ResultID.String(), "rotations", "130", "catches", "1", "do", "void")
	ana.follow(ana.post("/me/results", f)).is(200).says("Changed.", "Nothing to change.")
}

// Pain that a phone reports holds the plan, and no correction takes it back.
func TestPainFromThePhoneHolds(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 100, 60, 7)
	h.plan("2026-11-05")
	ana := h.as(h.jumper(0))
	hurts := func(pain int, corrects any) sentEntry {
		return h.entry(receiving.Debrief, map[string]any{"pain": pain, "pain_place": "shin", "pain_signs": []string{}, "corrects": corrects})
	}
	first := hurts(3, nil)
	a := ana.sends(h.athletes[0].AthleteID, h.now, first).became(receiving.Accepted)
	if said := a.answers()[0].Said; !strings.Contains(said, "Stop jumping for now") {
		t.Errorf("the answer says %q", said)
	}
	ana.sends(h.athletes[0].AthleteID, h.now, hurts(0, first.ID), hurts(6, first.ID)).became(receiving.Refused, receiving.Accepted)
	ana.get("/me").is(200).says("No jumping now").lacks("Go to your session")
	var kept ready
	if err := json.Unmarshal([]byte(ana.get("/me/ready").is(200).Text), &kept); err != nil || !kept.Held || kept.Plan != nil {
		t.Errorf("the phone is told held %t and plan %v: %v", kept.Held, kept.Plan, err)
	}
	h.as(h.coach).get(h.path("")).is(200).says("pain")
}

// What a phone keeps names nobody: not the athlete, not the gym, not the class.
func TestWhatAPhoneKeepsNamesNobody(t *testing.T) {
	h := newHall(t, "Marguerite Oakhollow", "Benedikt Farrow")
	h.counted(0, "base", 100, 60, 7)
	h.plan("2026-11-05")
	ana := h.as(h.jumper(0))
	names := []string{"Marguerite", "Oakhollow", "Benedikt", "Farrow", "Ash Lane", "Thursday Open", "Cleo"}
	kept := ana.get("/me/ready").is(200)
	if len(kept.Text) > 30_000 {
		t.Errorf("what a phone keeps has %d bytes", len(kept.Text))
	}
	pages := []*answer{kept, ana.get("/sw.js").is(200)}
	for name := range offline(&http.Request{}) {
		pages = append(pages, ana.get("/offline/"+name).is(200))
	}
	for _, page := range pages {
		for _, name := range names {
			if strings.Contains(page.Text, name) {
				t.Errorf("%s names %s", page.what, name)
			}
		}
		if strings.Contains(page.Text, h.athletes[1].AthleteID.String()) {
			t.Errorf("%s holds a class-mate's id", page.what)
		}
	}
}

// Every file that the phone stores is there, under the address it asks for.
func TestTheServiceWorkerStoresWhatIsThere(t *testing.T) {
	h := newHall(t)
	b := h.open()
	a := b.get("/sw.js").is(200)
	if got := a.Header.Get("Cache-Control"); got != "no-cache" {
		t.Errorf("Cache-Control is %q: browsers would miss a new version", got)
	}
	if strings.Contains(a.Text, "@version") || a.Text != b.get("/sw.js").Text {
		t.Error("the version is not set, or changes by itself")
	}
	files := web.Files()
	for _, quoted := range strings.Split(a.Text, `"`) {
		if strings.HasPrefix(quoted, "/static/") && quoted != "/static/" {
			if _, there := files[quoted]; !there {
				t.Errorf("%s is not there", quoted)
			}
		}
		if strings.HasPrefix(quoted, "/offline/") {
			b.get(quoted).is(200)
		}
	}
}

func TestReadyHoldsThePlanToPlay(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 100, 60, 7)
	h.plan("2026-11-05")
	var kept ready
	if err := json.Unmarshal([]byte(h.as(h.jumper(0)).get("/me/ready").is(200).Text), &kept); err != nil {
		t.Fatal(err)
	}
	if kept.Plan == nil || len(kept.Plan.Blocks) == 0 || kept.Athlete != h.athletes[0].AthleteID || !kept.Minor {
		t.Fatalf("the phone is told %+v", kept)
	}
	beats := 0
	for i, block := range kept.Plan.Blocks {
		if (block.Kind == "rest") != (block.Beats == 0) || block.Seconds <= 0 || block.Set < 1 {
			t.Errorf("block %d is %+v", i+1, block)
		}
		beats += block.Beats
	}
	if beats == 0 {
		t.Error("there is nothing to jump to")
	}
	for _, choice := range kept.Tests {
		if protocol, _, _ := strings.Cut(choice.Value, " "); protocol == "all_out" {
			t.Errorf("%s is offered to somebody who stands on no stage yet", choice.Text)
		}
	}
	h.open().get("/me/ready").is(http.StatusSeeOther) // signed out: as every own page
	if !strings.Contains(fmt.Sprint(h.as(h.coach).get("/me/ready").Code), "403") {
		t.Error("a coach reads an athlete's plan as her own")
	}
}
