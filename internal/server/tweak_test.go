package server

import (
	"net/url"
	"testing"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/store"
)

func TestChangeAPlan(t *testing.T) {
	h := newHall(t, "Ana")
	h.ladder(0, "long-clean-run")
	h.counted(0, "base", 120, 60, 7)
	h.counted(0, "burst", 30, 10, 7)
	h.plan("2026-11-05")
	coach := h.as(h.coach)
	first := h.plansOf(0)[0]
	path := "/plans/" + first.PlanID.String() + "/tweak"

	coach.get(path).is(200).says("Change the plan for Thu 5 Nov", "Show what it does").lacks("Use this plan")
	coach.get(path+"?try=yes&sets=many&step=x").is(422).says("Type a whole number from 1 up, like 4.", "Type a number, like 25.")
	coach.get(path + "?try=yes&rest=9999").is(422).says("Rest must be from 0 to 600 seconds.")
	ask := url.Values{"try": {"yes"}, "split": {"10/10"}, "sets": {"2"}, "rest": {"120"}}
	coach.get(path+"?"+ask.Encode()).is(200).says("What it does", "Your coach chose the split 10/10.", "2 sets: your coach said so.", "Use this plan")
	if kept := h.plansOf(0); kept[0].PlanID != first.PlanID {
		t.Error("looking at a change kept it")
	}

	ask.Set("id", newID().String())
	coach.follow(coach.post(path, ask)).is(200).says("Changed, and on the phone now.", "Your coach chose the split 10/10.", "the same to the last digit")
	coach.post(path, ask).is(303) // sent twice, kept once
	changed := h.plansOf(0)[0]
	plan, err := finding.ReadPlan(changed)
	if err != nil {
		t.Fatal(err)
	}
	if changed.PlanID.String() != ask.Get("id") || changed.SentAt == nil || plan.Sets != 2 || plan.Split.Steady != 10 || plan.RestSeconds < 120 {
		t.Errorf("changed to %d sets of %+v, rest %.0f s, sent %v", plan.Sets, plan.Split, plan.RestSeconds, changed.SentAt)
	}
	h.now = h.now.AddDate(0, 0, 2)
	coach.get(path + "?try=yes&sets=1").is(409).says("The day of this plan is over.")
}

func TestRulesOfTheGym(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 120, 60, 7)
	h.counted(0, "burst", 30, 10, 7)
	h.plan("2026-11-05")
	before := h.plansOf(0)[0]
	coach := h.as(h.coach)

	f := coach.get("/rules").is(200).says("Shortest rest", "common practice, no source", "assumed", "our caution, no source").form("/rules")
	f.Set("building.rest_seconds", "500")
	f.Set("building.floor_share", "78")
	again := coach.post("/rules", f).is(422).says("Type a number from 5 to 300.", "A set must start with more of the reserve than the floor").form("/rules")
	if again.Get("building.rest_seconds") != "500" || again.Get("building.floor_share") != "78" {
		t.Errorf("what was typed does not stay: %v", again)
	}
	f.Set("building.rest_seconds", "120")
	f.Set("building.floor_share", "45")
	f.Set("ceiling.1.plan", "600")
	coach.post("/rules", f).is(422).says("Write why. It is kept with the change.")
	f.Set("reason", "Hard floor in the new hall.")
	coach.follow(coach.post("/rules", f)).is(200).says("Saved.", "Hard floor in the new hall.", "Cleo")

	h.now = h.now.AddDate(0, 0, 1)
	h.plan("2026-11-12")
	after := h.plansOf(0)[0]
	plan, err := finding.ReadPlan(after)
	if err != nil {
		t.Fatal(err)
	}
	if plan.RestSeconds < 120 || plan.Contacts > 600 {
		t.Errorf("rest %.0f s, %d jumps; the gym wants 120 s and at most 600", plan.RestSeconds, plan.Contacts)
	}
	for name, kept := range map[string]gym.Plan{"before": before, "after": after} {
		if _, same, err := coaching.Recompute(kept); err != nil || !same {
			t.Errorf("the plan made %s the change is the same: %t, %v", name, same, err)
		}
	}

	f.Set("do", "standard")
	f.Set("reason", "Back again.")
	f.Set("id", newID().String())
	coach.follow(coach.post("/rules", f)).is(200)
	var kept []gym.Rules
	h.read(h.id, store.AllRules(&kept))
	rules, err := coaching.RulesOf(kept)
	if err != nil || len(kept) != 2 || rules.Plans != planner.StandardRules() {
		t.Errorf("%d settings, rules %+v, %v", len(kept), rules.Plans, err)
	}
}

func TestReleaseAHold(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 120, 60, 7)
	coach := h.as(h.coach)
	athlete := "/athletes/" + h.athletes[0].AthleteID.String()
	coach.get(athlete + "/release").is(200).says("There is no hold to release.")

	f := coach.get(athlete + "/debrief").is(200).form(athlete + "/debrief")
	f.Set("pain", "4")
	coach.post(athlete+"/debrief", f).is(422).says("Say where it hurts.")
	f.Set("pain_place", "shin")
	f.Add("pain_signs", "sharp")
	coach.follow(coach.post(athlete+"/debrief", f)).is(200).says("Impact work is on hold now.", "Let the athlete go on").lacks("shin")
	coach.get(athlete+"/health").is(200).says("shin", "sharp")
	h.plan("2026-11-05")
	coach.get("/plans/"+h.plansOf(0)[0].PlanID.String()).is(200).says("Pain stops all impact work", "No impact work")

	release := coach.get(athlete + "/release").is(200).says("Two days without pain").form(athlete + "/release")
	coach.post(athlete+"/release", release).is(422).says("Write why the athlete may go on.")
	release.Set("reason", "Seen by the physiotherapist; walks and runs without pain.")
	coach.post(athlete+"/release", release).is(422).says("licensed professional's advice first")
	release.Set("advised", "yes")
	again := coach.post(athlete+"/release", release).is(422).says("48 hours")
	if kept := again.form(athlete + "/release"); kept.Get("reason") == "" || kept.Get("advised") != "yes" {
		t.Errorf("what was typed does not stay: %v", kept)
	}
	h.now = h.now.AddDate(0, 0, 3)
	release.Set("last_pain", "2026-11-06") // yesterday
	coach.post(athlete+"/release", release).is(422).says("48 hours")
	release.Set("last_pain", "")
	coach.follow(coach.post(athlete+"/release", release)).is(200).says("Going on: half the jumps", "Starting again after pain")
	h.plan("2026-11-12")
	coach.get("/plans/" + h.plansOf(0)[0].PlanID.String()).is(200).says("First work after a hold: 50 % of the jumps")
	h.as(h.assistant).get(athlete + "/release").is(403)
}

// A hold stands until it is released, however long ago the pain was told.
func TestOldHoldStillHolds(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	athlete := "/athletes/" + h.athletes[0].AthleteID.String()
	f := coach.get(athlete + "/debrief").form(athlete + "/debrief")
	f.Set("pain", "5")
	f.Set("pain_place", "knee")
	coach.post(athlete+"/debrief", f).is(303)
	h.now = h.now.AddDate(0, 8, 0)
	h.counted(0, "base", 120, 60, 1)
	coach.get(athlete).is(200).says("Impact work is on hold")
	h.plan(h.now.Format("2006-01-02"))
	coach.get("/plans/" + h.plansOf(0)[0].PlanID.String()).is(200).says("Pain stops all impact work")
}
