package server

import (
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

func (h *hall) plansOf(n int) []gym.Plan {
	h.t.Helper()
	var plans []gym.Plan
	h.read(h.id, store.RecentPlansOf(h.athletes[n].AthleteID, time.Time{}, &plans))
	for i := range plans { // whole, with what they were made from
		h.read(h.id, store.Plan(plans[i].PlanID, &plans[i]))
	}
	return plans
}

func TestPlanAClass(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi")
	for n, rotations := range []int{118, 96} {
		h.counted(n, "base", rotations, 60, 7)
		h.counted(n, "burst", rotations/6+6, 10, 7)
	}
	coach := h.as(h.coach)
	page := coach.get(h.path("/plans")).is(200).says("Plans for Thu 5 Nov", "No plans for this day yet.", "These need a test first", "Chidi")
	f := page.form(h.path("/plans"))
	f.Set("minutes", "999")
	f.Set("do", "make")
	bad := coach.post(h.path("/plans"), f).is(422).says("Minutes of the class must be a whole number from 10 to 240.")
	if kept := bad.form(h.path("/plans")); kept.Get("minutes") != "999" {
		t.Errorf("the typed minutes do not stay: %v", kept)
	}
	f.Set("minutes", "20")
	made := coach.follow(coach.post(h.path("/plans"), f)).is(200)
	made.says("2 plans made. 1 athlete needs a test first.", "Ana", "Ben", "Chidi", "Send 2 plans to phones")

	ana := h.as(h.jumper(0))
	ana.get("/me").is(200).says("No plan for you yet.") // made, not sent
	send := made.form(h.path("/plans"))
	send.Set("do", "send")
	coach.follow(coach.post(h.path("/plans"), send)).is(200).says("2 plans are on the phones now.").lacks("to phones")
	ana.get("/me").is(200).says("Your plan for Thu 5 Nov", "Why this plan?", "Stop if it hurts").lacks("No plan for you yet.")
	h.as(h.jumper(2)).get("/me").is(200).says("No plan for you yet.", "What would help")

	plans := h.plansOf(0)
	if len(plans) != 1 {
		t.Fatalf("%d plans of Ana, want 1", len(plans))
	}
	coach.get("/plans/"+plans[0].PlanID.String()).is(200).says("Why this plan?", "the same to the last digit")
	if _, same, err := coaching.Recompute(plans[0]); err != nil || !same {
		t.Errorf("worked out again the plan is the same: %t, %v", same, err)
	}
}

// The athlete enters a result, the coach sees it, and the next plan uses it.
func TestTheNextPlanUsesTheNewResult(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 100, 60, 7)
	h.plan("2026-11-05")
	before := h.plansOf(0)[0]

	ana := h.as(h.jumper(0))
	f := ana.get("/me/result").is(200).form("/me/result")
	if f.Get("counted_by") == "coach" {
		t.Error("an athlete's form says by itself that a coach counted")
	}
	f.Set("test", "base 60")
	f.Set("rotations", "126")
	ana.follow(ana.post("/me/result", f)).is(200).says("Saved.")
	ana.get("/me/rates").is(200).says("126 ±")
	coach := h.as(h.coach)
	coach.get("/athletes/" + h.athletes[0].AthleteID.String()).is(200).says("126 rotations")
	coach.get(h.path("")).lacks("100 ±")

	h.now = h.now.Add(time.Hour)
	coach.post(h.path("/plans"), form("day", "2026-11-05", "minutes", "20", "do", "make")).is(303)
	after := h.plansOf(0)[0]
	if after.PlanID == before.PlanID || string(after.Input) == string(before.Input) {
		t.Errorf("the next plan rests on %s, as the one before", after.Input)
	}
}

// Yesterday's plan does not hide today's.
func TestThePlanOfTheDayIsShown(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 100, 60, 7)
	for _, day := range []string{"2026-11-03", "2026-11-05", "2026-11-12"} {
		h.plan(day)
	}
	ana := h.as(h.jumper(0))
	ana.get("/me").is(200).says("Your plan for Thu 5 Nov")
	h.now = h.now.AddDate(0, 0, 1)
	ana.get("/me").is(200).says("Your plan for Thu 5 Nov")
	h.now = h.now.AddDate(0, 0, 1)
	ana.get("/me").is(200).says("Your plan for Thu 12 Nov")
	h.now = h.now.AddDate(0, 0, 7)
	ana.get("/me").is(200).says("No plan for you yet.")
}

// An athlete who is told a plan is done says how it went; pain holds the next
// plan until a coach lets her go on.
func TestPainHoldsThePlan(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	for n := range 2 {
		h.counted(n, "base", 100, 60, 7)
	}
	h.plan("2026-11-04")
	h.plan("2026-11-05")
	ana := h.as(h.jumper(0))
	page := ana.get("/me/debrief").is(200)
	f := page.form("/me/debrief")
	f.Set("sets", "3")
	f.Set("pain", "7")
	f.Set("effort", "twelve")
	f.Set("note", "my shin")
	bad := ana.post("/me/debrief", f).is(422).says("There is a problem", "Effort is a whole number from 0 to 10.")
	if kept := bad.form("/me/debrief"); kept.Get("sets") != "3" || kept.Get("pain") != "7" || kept.Get("note") != "my shin" {
		t.Errorf("what was typed does not stay: %v", kept)
	}
	f.Set("effort", "5")
	ana.post("/me/debrief", f).is(422).says("Say where it hurts.")
	f.Set("pain_place", "shin")
	f.Add("pain_signs", "limping")
	for range 2 {
		ana.follow(ana.post("/me/debrief", f)).is(200).says("Stop jumping for now and tell your coach.", "No jumping now").lacks("Your plan for")
	}
	var holds []gym.Hold
	var debriefs []gym.Debrief
	h.read(h.id, store.HoldsOf(h.athletes[0].AthleteID, &holds), store.DebriefsOf(h.athletes[0].AthleteID, day(h.now), &debriefs))
	if len(holds) != 1 || len(debriefs) != 1 {
		t.Errorf("%d holds and %d debriefs, want one of each", len(holds), len(debriefs))
	}

	coach := h.as(h.coach)
	coach.get("/today").is(200).says("Reported pain Ana")
	coach.get(h.path("")).says("On hold: pain")
	coach.get("/athletes/" + h.athletes[0].AthleteID.String()).says("on hold")
	h.now = h.now.Add(time.Hour)
	coach.post(h.path("/plans"), form("day", "2026-11-05", "minutes", "20", "do", "make")).is(303)
	held := h.plansOf(0)[0]
	coach.get("/plans/" + held.PlanID.String()).is(200).says("No jumping today because of pain.")
	h.as(h.jumper(1)).get("/me").is(200).says("Your plan for") // her neighbour
}

func TestNoPainHoldsNothing(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 100, 60, 7)
	h.plan("2026-11-04")
	ana := h.as(h.jumper(0))
	f := ana.get("/me/debrief").is(200).form("/me/debrief")
	if f.Get("plan") != h.plansOf(0)[0].PlanID.String() {
		t.Errorf("the form is about plan %s", f.Get("plan"))
	}
	f.Set("sets", "4")
	f.Set("effort", "6")
	f.Set("minutes", "45,5")
	ana.follow(ana.post("/me/debrief", f)).is(200).says("Saved.").lacks("Stop jumping")
	var debriefs []gym.Debrief
	h.read(h.id, store.DebriefsOf(h.athletes[0].AthleteID, day(h.now), &debriefs))
	if len(debriefs) != 1 || *debriefs[0].SetsDone != 4 || *debriefs[0].Minutes != 45.5 || debriefs[0].Pain != 0 {
		t.Errorf("kept as %+v", debriefs)
	}
}

func TestPlansOfAClassWithNobody(t *testing.T) {
	h := newHall(t)
	coach := h.as(h.coach)
	coach.get(h.path("/plans")).is(200)
	coach.follow(coach.post(h.path("/plans"), form("day", "2026-11-05", "minutes", "20", "do", "make"))).is(200).says("0 plans made")
	coach.post(h.path("/plans"), form("day", "never", "minutes", "20", "do", "make")).is(422).says("That is no day.")
}

func TestTodayTellsWhatAClassNeeds(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.counted(0, "base", 100, 60, 7)
	coach := h.as(h.coach)
	a := coach.get("/today").is(200).says("Wed 4 Nov", "Thursday Open", "Tomorrow, Thu 5 Nov", "2 athletes", "Need a test Ben", "None made for this meeting yet")
	if strings.Count(a.words(), "Need a test") != 1 {
		t.Errorf("the page says: %s", a.words())
	}
	h.plan("2026-11-05")
	coach.get("/today").says("1 of 2 made")
	if strings.Contains(h.as(h.assistant).get("/today").is(200).Text, "/plans") {
		t.Error("an assistant is led to plans")
	}
}
