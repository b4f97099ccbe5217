package server

import (
	"context"
	"strings"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// climb gives the hall the ladder that ships and a rope, and places the first
// athlete on a stage.
func (h *hall) climb(stage string) (ladderID, rope, decision uuid.UUID) {
	h.t.Helper()
	ladderID, rope, decision = newID(), newID(), newID()
	kept, version, stages, err := standing.Shipped(ladderID, h.now)
	if err != nil {
		h.t.Fatal(err)
	}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddLadder(ctx, kept); err != nil {
			return err
		}
		if err := tx.AddLadderVersion(ctx, version, stages); err != nil {
			return err
		}
		if err := tx.AddRope(ctx, gym.Rope{RopeID: rope, Label: "B1", Kind: "beaded", LengthM: 2.6}, h.now); err != nil {
			return err
		}
		_, err := tx.AddDecision(ctx, gym.StageDecision{DecisionID: decision, AthleteID: h.athletes[0].AthleteID, Verdict: standing.Start, StageTo: stage,
			LadderID: ladderID, Version: 1, Reason: "First day.", DecidedOn: day(h.now).AddDate(0, 0, -30), DecidedAt: h.now.AddDate(0, 0, -30), DecidedBy: h.coach.PersonID})
		return err
	})
	return ladderID, rope, decision
}

// below is an address below the n-th athlete.
func (h *hall) below(n int, path string) string {
	return "/athletes/" + h.athletes[n].AthleteID.String() + path
}

// decisions reads every decision on the n-th athlete, newest first.
func (h *hall) decisions(n int) []gym.StageDecision {
	h.t.Helper()
	var made []gym.StageDecision
	h.read(h.id, store.DecisionsOf(h.athletes[n].AthleteID, &made))
	return made
}

func TestTheBoardSaysWhoStandsWhere(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	coach := h.as(h.coach)
	coach.get("/stages").is(200).says("This gym has no ladder in use.", "Use the ladder that ships")
	coach.post("/ladders/shipped", nil).leadsTo("/stages")
	coach.get("/stages").is(200).says("No stage yet", "Ana", "Ben", "Nobody’s gate is met today.")
	coach.post(h.below(0, "/gate"), form("from", "", "to", "steady-minute", "reason", "40 bounces seen.")).leadsTo(h.below(0, "/gate"))
	h.counted(0, "base", 100, 60, 8)
	h.counted(0, "base", 104, 60, 1)
	coach.get("/stages").is(200).says("Ready now Ana 4 · Steady minute", "1 athlete").lacks("Four weeks or longer")
	coach.get("/stages?class=all").is(200).says("Whole gym", "Ana")
	coach.get("/stages?class=" + newID().String()).is(404)
	h.as(h.assistant).get("/stages").is(200).says("Ana").lacks("Set a drill")
}

func TestADecisionShowsItsEvidenceFirst(t *testing.T) {
	h := newHall(t, "Ana")
	h.climb("steady-minute")
	h.counted(0, "base", 100, 60, 8)
	coach := h.as(h.coach)
	coach.get(h.below(0, "/gate")).is(200).says("What opens 5 · Alternate step", "One more 60 s test with at most 2 catches", "The gate is not met yet")
	h.counted(0, "base", 104, 60, 1)
	gate := coach.get(h.below(0, "/gate")).is(200).says("Tue 27 Oct", "100 rotations", "Tue 3 Nov", "104 rotations", "Move up to 5 · Alternate step", "8 · Double without a rope")
	up := gate.form(h.below(0, "/gate"))
	if up.Get("to") != "alternate-step" || up.Get("from") != "steady-minute" {
		t.Fatalf("the button sends %v", up)
	}
	coach.post(h.below(0, "/gate"), up).leadsTo(h.below(0, "/gate"))
	coach.post(h.below(0, "/gate"), up).leadsTo(h.below(0, "/gate")) // sent twice, kept once
	after := coach.get(h.below(0, "/gate")).is(200).says("moved up to 5 · Alternate step", "Moved up from 4 · Steady minute to 5 · Alternate step.", "Met: Two 60 s tests", "Cleo, 12:00")
	made := h.decisions(0)
	if len(made) != 2 {
		t.Fatalf("%d decisions", len(made))
	}
	coach.post("/decisions/"+made[0].DecisionID.String()+"/take-back", nil).leadsTo(h.below(0, "/gate"))
	coach.get(h.below(0, "/gate")).says("Taken back. Both stay in the history.", "taken back later", "4 · Steady minute, 4 weeks")
	after.lacks("taken back later")
	coach.post(h.below(0, "/gate"), form("from", "steady-minute", "to", "alternate-step", "reason", "")).leadsTo(h.below(0, "/gate")) // met: no reason needed
	coach.post(h.below(0, "/gate"), form("from", "alternate-step", "to", "first-jumps", "reason", "")).is(422).says("Write why. It is kept with the decision.")
	coach.post(h.below(0, "/gate"), form("from", "steady-minute", "to", "first-jumps", "reason", "why")).is(409).says("Somebody else decided on Ana meanwhile.")
	h.as(h.assistant).get(h.below(0, "/gate")).is(200).lacks("Your decision", "Take this decision back")
}

func TestTheGateSaysWhyNotYet(t *testing.T) {
	h := newHall(t, "Ana")
	h.climb("ten-then-thirty")
	reps := 6
	r := h.counted(0, "base", 30, 60, 40)
	r.ResultID, r.Protocol, r.Rotations, r.Seconds, r.Day, r.TakenAt = newID(), "clean_run", &reps, nil, day(h.now).AddDate(0, 0, -2), h.now.AddDate(0, 0, -2)
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error { _, err := tx.AddResult(ctx, r); return err })
	h.as(h.coach).get(h.below(0, "/gate")).says("Done once lately; best so far: 6 reps.", "Next attempt:", "in 12 weeks")
	h.as(h.jumper(0)).get("/me/stage").is(200).says("My stage", "3 · Ten, then thirty bounces", "What opens 4 · Steady minute", "None yet.", "here now",
		"Stay with the rope you began on", "only while an adult is present", "Your coach and you can see this page.")
}

func TestACoachsLookFromTheGate(t *testing.T) {
	h := newHall(t, "Ana")
	h.climb("first-jumps")
	coach := h.as(h.coach)
	look := coach.get(h.below(0, "/gate")).says("The coach judges: 5 single jumps, each with a stop.", "Not yet").form(h.below(0, "/looks"))
	look.Set("do", "good")
	coach.post(h.below(0, "/looks"), look).leadsTo(h.below(0, "/gate"))
	seen := coach.get(h.below(0, "/gate")).says("Seen by Cleo: good.", "Move up to 3")
	back := form("back", valueIn(seen, "back"))
	coach.post(h.below(0, "/looks"), back).leadsTo(h.below(0, "/gate"))
	coach.get(h.below(0, "/gate")).says("Taken back.").lacks("Seen by Cleo: good.")
}

// valueIn returns the value of the first button with a name.
func valueIn(a *answer, name string) string {
	a.t.Helper()
	for n := range a.document().Descendants() {
		if is, _ := attribute(n, "name"); n.Data == "button" && is == name {
			value, _ := attribute(n, "value")
			return value
		}
	}
	a.t.Fatalf("%s: no button %s", a.what, name)
	return ""
}

func TestAStagePage(t *testing.T) {
	h := newHall(t, "Ana")
	h.climb("steady-minute")
	h.counted(0, "base", 100, 60, 1)
	coach := h.as(h.coach)
	coach.get("/stages/steady-minute").is(200).says("Stage 4 of 16", "What to look for", "You hold your breath.", "Breathe out on every fourth jump.",
		"at 90 % of base rate", "6 sets, 40 s rest between", "Two 60 s tests with at most 2 catches, each restarted within 3 s, on two different days.", "Ana", "Steady turning only.")
	coach.get("/stages/steady-minute?athlete=" + h.athletes[0].AthleteID.String()).says("at 90 rpm, 90 % of base rate")
	coach.get("/stages/flying").is(404)
}

func TestSettingWorkForAClass(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.climb("steady-minute")
	coach := h.as(h.coach)
	page := coach.get(h.path("/set?on=steady-minute")).is(200).says("Everybody", "4 · Steady minute (1)")
	if ticked := page.form(h.path("/set"))["athlete"]; len(ticked) != 1 || ticked[0] != h.athletes[0].AthleteID.String() {
		t.Errorf("ticked: %v", ticked)
	}
	whole := coach.get(h.path("/set?on=all")).form(h.path("/set"))
	whole.Set("kind", "test")
	whole.Set("test", "lacked")
	coach.post(h.path("/set"), whole).leadsTo("/stages?class=" + h.class.String())
	coach.get("/stages").says("Set for 1 athlete. Nothing to set for Ben.")
	h.as(h.jumper(0)).get("/me/stage").says("Set by your coach", "60 s base test, bounce step", "Set Wed 4 Nov.")
	h.counted(0, "base", 90, 60, 0)
	coach.get(h.below(0, "/gate")).says("Done Wed 4 Nov")
	coach.post(h.path("/set"), form("kind", "drill", "drill", "own")).is(422).says("Tick at least one name.")
	one := coach.get(h.below(0, "/set")).is(200).form(h.below(0, "/set"))
	one.Set("note", "twice this week")
	coach.post(h.below(0, "/set"), one).leadsTo(h.below(0, "/gate"))
	gate := coach.get(h.below(0, "/gate")).says("Drill of 4 · Steady minute", "twice this week")
	coach.post(h.below(0, "/set/off"), form("assignment", valueIn(gate, "assignment"))).leadsTo(h.below(0, "/gate"))
	coach.get(h.below(0, "/gate")).lacks("twice this week")
}

func TestJudgingOnTheFloor(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.climb("first-jumps")
	coach := h.as(h.coach)
	checks := h.path("/checks")
	tap := func() *answer {
		t.Helper()
		page := coach.get(checks).is(200)
		for n := range page.document().Descendants() {
			if id, _ := attribute(n, "id"); id == "look-"+h.athletes[0].AthleteID.String()+"-landing" {
				do, _ := attribute(n, "value")
				return coach.follow(coach.post(checks, form("do", do)))
			}
		}
		t.Fatal("no cell for landing")
		return nil
	}
	coach.get(checks).says("Ana", "2 · First jumps", "Soft, on the balls of both feet").lacks("Ben", "good, 0")
	tap().says("1 good, 0 not yet")
	tap().says("0 good, 1 not yet")
	tap().lacks("1 good", "1 not yet")
	tap()
	h.now = h.now.AddDate(0, 0, 7)
	coach.get(checks + "?point=landing").says("Good Wed 4 Nov").lacks("Posture 1")
	tap().says("1 good, 0 not yet") // looked at again today
	coach.post(checks, form("do", "x")).is(422)
}

func TestTheCatchDiary(t *testing.T) {
	h := newHall(t, "Ana")
	h.climb("steady-minute")
	jumper, coach := h.as(h.jumper(0)), h.as(h.assistant)
	jumper.get("/me/stage/catches").is(200).says("No cue yet", "Note three more to see a pattern.")
	jumper.post("/me/stage/catches", form("spot", "")).is(422).says("Choose at least one thing that was noticed.")
	for range 2 {
		jumper.post("/me/stage/catches", form("spot", "toes", "timing", "early")).leadsTo("/me/stage/catches")
	}
	coach.post(h.below(0, "/catches"), form("spot", "shins", "timing", "early", "hands", "wide")).leadsTo(h.below(0, "/catches"))
	page := coach.get(h.below(0, "/catches")).says("Noted.", "Jump first, then turn your wrists.", "3 of 3 catches: the wrists turned early.", "2 toes", "The rope stopped at the shins, the wrists turned early, the hands were wide.")
	jumper.get("/me/stage").says("One cue to try: Jump first, then turn your wrists.")
	coach.post(h.below(0, "/catches"), form("back", valueIn(page, "back"))).leadsTo(h.below(0, "/catches"))
	coach.get(h.below(0, "/catches")).says("Taken out.", "No cue yet")
}

// How often a stage page goes to the database must not grow with the class.
func TestStagePagesGoOnceHoweverManyThereAre(t *testing.T) {
	count := func(names int) map[string]int64 {
		h := newHall(t, "Ana")
		id, _, _ := h.climb("steady-minute")
		for n := range names {
			h.addAthletes("Athlete " + strings.Repeat("x", n+1))
			h.counted(n, "base", 100+n, 60, 7)
		}
		coach, jumper := h.as(h.coach), h.as(h.jumper(0))
		trips := map[string]int64{}
		for path, b := range map[string]*browser{"/stages": coach, "/stages?class=all": coach, "/stages/steady-minute": coach, h.below(0, "/gate"): coach,
			h.path("/checks"): coach, h.path("/set"): coach, h.below(0, "/catches"): coach, "/ropes": coach, "/ladders": coach,
			"/ladders/" + id.String() + "/publish": coach, "/ladders/" + id.String() + "/stages/steady-minute/gate": coach, "/me/stage": jumper} {
			least := int64(99)
			for range 4 { // a fresh connection prepares its statements first
				before := h.trips.Load()
				b.get(path).is(200)
				least = min(least, h.trips.Load()-before)
			}
			trips[strings.ReplaceAll(parameterless(h, path), id.String(), "…")] = least
		}
		whole := form("id", newID().String(), "kind", "drill", "drill", "own")
		for _, a := range h.athletes {
			whole.Add("athlete", a.AthleteID.String())
		}
		least := int64(99)
		for range 4 {
			before := h.trips.Load()
			coach.post(h.path("/set"), whole).is(303)
			least = min(least, h.trips.Load()-before)
		}
		trips["setting a drill"] = least
		return trips
	}
	few, many := count(1), count(20)
	for page, trips := range few {
		if many[page] != trips {
			t.Errorf("%s: %d round trips for few athletes, %d for many", page, trips, many[page])
		}
	}
}
