package server

import (
	"context"
	"testing"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// kept keeps a result of the n-th athlete some days ago, as change makes it.
func (h *hall) kept(n int, protocol string, daysAgo int, change func(*gym.Result)) {
	h.t.Helper()
	at := h.now.AddDate(0, 0, -daysAgo)
	r := gym.Result{ResultID: newID(), AthleteID: h.athletes[n].AthleteID, Protocol: protocol, Day: day(at), TakenAt: at, Step: "bounce", RopeKind: "beaded",
		CountedBy: "coach", SeenByCoach: true, Timing: "hand", RecordedAt: at, RecordedBy: h.coach.PersonID}
	change(&r)
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.AddResult(ctx, r)
		return err
	})
}

func TestAthletePageAnswers(t *testing.T) {
	h := newHall(t, "Ana")
	h.ladder(0, "long-clean-run")
	coach := h.as(h.coach)
	path := "/athletes/" + h.athletes[0].AthleteID.String()

	empty := coach.get(path).is(200)
	empty.says("No base test in the last half year.", "No all-out tests yet.", "No clean run counted", "No burst test yet.", "No session told of", "No pain reported.")

	for i, rotations := range []int{100, 104, 109, 113, 118, 123} {
		h.counted(0, "base", rotations, 60, 35-7*i)
	}
	h.counted(0, "burst", 28, 10, 2)
	h.counted(0, "all_out", 70, 30, 2)
	for reps, clean := range map[int]bool{20: false, 45: false, 80: true, 12: false} {
		h.kept(0, "clean_run", 2, func(r *gym.Result) { r.Rotations, r.StoppedClean = &reps, clean })
	}
	page := coach.get(path).is(200)
	page.says(
		"so this is real", // 100 to 123 rpm
		"One length of all-out test is not enough. Add one of 180 s.",
		"4 runs in 12 weeks, the longest of 80 clean reps. Half of them end by 20.",
		"The rope turns in 0.36 s",
		"a first guess from the burst rate",
		"At this pace a base rate of 130 rpm is likely around",
		"No forecast of a clean run of 100 yet", // the bar of the young
		"The next attempt has a chance of",
		"1 catch in",
		"No pattern yet of where catches come. 9 more catches would tell.",
	)
	coach.get(path + "?bar=150").is(200).says("a base rate of 150 rpm")

	h.counted(0, "all_out", 480, 180, 1)
	coach.get(path).is(200).says("These all-out tests disagree: the longer one was faster. Repeat the 30 s one.")
	h.counted(0, "all_out", 75, 30, 0)
	h.counted(0, "all_out", 360, 180, 0)
	coach.get(path).is(200).says("Can keep up 114 rpm, with 18 rotations in reserve above it.")
}

func TestAthletePageIsOneTrip(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 118, 60, 7)
	coach := h.as(h.coach)
	trips := func(path string) int64 {
		coach.get(path).is(200)
		before := h.trips.Load()
		coach.get(path).is(200)
		return h.trips.Load() - before
	}
	own := trips("/help") // of the sign-in alone
	if got := trips("/athletes/"+h.athletes[0].AthleteID.String()) - own; got != 1 {
		t.Errorf("an athlete's page takes %d round trips beside the sign-in's, want 1", got)
	}
	h.plan("2026-11-05")
	if got := trips("/plans/"+h.plansOf(0)[0].PlanID.String()) - own; got != 1 {
		t.Errorf("a plan takes %d round trips beside the sign-in's, want 1", got)
	}
	if got := trips("/rules") - own; got != 1 {
		t.Errorf("the rules take %d round trips beside the sign-in's, want 1", got)
	}
}

// What happened moves the next plan, and the plan says so.
func TestWhatHappenedMovesTheNextPlan(t *testing.T) {
	h := newHall(t, "Ana")
	h.ladder(0, "changes-of-pace")
	coach := h.as(h.coach)
	h.counted(0, "base", 120, 60, 7)
	h.counted(0, "burst", 30, 10, 7)
	debrief := "/athletes/" + h.athletes[0].AthleteID.String() + "/debrief"
	session := func(clean string) {
		on := h.now.Format("2006-01-02")
		h.plan(on)
		f := coach.get(debrief).is(200).form(debrief)
		f.Set("sets", "4")
		f.Set("bursts", "12")
		f.Set("clean_bursts", clean)
		f.Set("effort", "5")
		f.Set("minutes", "40")
		coach.follow(coach.post(debrief, f)).is(200).says("Saved.")
		h.now = h.now.AddDate(0, 0, 2)
	}
	session("11")
	session("12")
	h.plan(h.now.Format("2006-01-02"))
	page := coach.get("/plans/" + h.plansOf(0)[0].PlanID.String()).is(200)
	page.says("The split goes from 20/10 to 15/10: 92 % and 100 % of the bursts were clean.", "the same to the last digit",
		"Warm-up", "Cool-down", "Together 20:00")
	session("4")
	h.plan(h.now.Format("2006-01-02"))
	coach.get("/plans/" + h.plansOf(0)[0].PlanID.String()).is(200).says("The split goes back from 15/10 to 20/10: only 33 % of the bursts were clean.")
}

func TestHourAddsUpToTheClass(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 120, 60, 7)
	coach := h.as(h.coach)
	f := form("day", "2026-11-05", "minutes", "", "do", "make")
	coach.post(h.path("/plans"), f).is(303)
	coach.get("/plans/"+h.plansOf(0)[0].PlanID.String()).is(200).says("The hour", "Together 60:00") // as the class meets on Thursdays
	f.Set("minutes", "45")
	coach.post(h.path("/plans"), f).is(303)
	coach.get("/plans/" + h.plansOf(0)[0].PlanID.String()).is(200).says("Together 45:00")
}
