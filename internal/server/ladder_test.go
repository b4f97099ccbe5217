package server

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
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

func TestTheRackOnPages(t *testing.T) {
	h := newHall(t, "Ana")
	_, rope, _ := h.climb("steady-minute")
	coach, helper := h.as(h.coach), h.as(h.assistant)
	helper.post("/ropes", form("label", "C1", "kind", "steel", "length", "2,8")).leadsTo("/ropes")
	helper.post("/ropes", form("label", "", "kind", "steel", "length", "long")).is(422).says("The length must be a number of metres, like 2.6.")
	helper.post("/ropes", form("label", "b1", "kind", "wire")).is(422).says("Choose a kind from the list.")
	rack := helper.get("/ropes").is(200).says("Look at these first", "C1", "Never looked at", "2.8", "every kind")
	var steel gym.Rope
	var all []gym.Rope
	h.read(h.id, store.Ropes(&all))
	for _, r := range all {
		if r.Kind == "steel" {
			steel = r
		}
	}
	path := "/ropes/" + steel.RopeID.String()
	check := rack.form(path + "/check")
	check.Set("sound", "yes")
	helper.post(path+"/check", check).leadsTo("/ropes")
	ana := h.athletes[0].AthleteID.String()
	refused := coach.post(path+"/lend", form("athlete", ana)).is(422).says("Steel is for adults, or for athletes whom a coach has approved.", "Lend it all the same, because")
	helper.post(path+"/lend", form("athlete", ana)).is(422).lacks("Lend it all the same")
	override := refused.form(path + "/lend")
	override.Set("why", "Beside me, one minute.")
	coach.post(path+"/lend", override).leadsTo(path)
	coach.get(path).is(200).says("Lent to Ana by Cleo.", "Cleo took it over: “Beside me, one minute.”", "Sound, Wed 4 Nov")
	helper.post(path+"/return", nil).leadsTo(path)
	helper.get(path).says("It hangs in the rack.", "Back from Ana.")
	helper.post(path+"/check", form("sound", "no", "note", "coating split")).leadsTo(path)
	helper.get(path).says("Not sound, Wed 4 Nov", "coating split")
	coach.post(path+"/lend", form("athlete", ana, "why", "only today")).is(422).says("Rope C1 was found not sound on Wed 4 Nov.")
	coach.post("/ropes/steel", form("athlete", ana, "do", "approve", "reason", "")).is(422).says("Write why, for whoever asks later.")
	coach.post("/ropes/steel", form("athlete", "", "do", "approve", "reason", "why")).is(422).says("Choose who is meant.")
	coach.post("/ropes/steel", form("athlete", ana, "do", "approve", "reason", "Seen for a term.")).leadsTo("/ropes")
	coach.post(h.path("/ropes"), form("kind", "cord")).leadsTo("/ropes")
	coach.get("/ropes").says("may use steel since Wed 4 Nov: “Seen for a term.”")
	coach.post("/ropes/"+rope.String()+"/lend", form("athlete", ana)).is(422).says("This class does not use this kind of rope: beaded.")
	coach.post(path, form("label", "C9", "kind", "steel", "handle", "short")).leadsTo(path)
	coach.post(path+"/retire", nil).leadsTo("/ropes")
	coach.get("/ropes").lacks("C9")
}

func TestTheEditorByForms(t *testing.T) {
	h := newHall(t, "Ana")
	id, _, _ := h.climb("steady-minute")
	h.counted(0, "base", 100, 60, 1)
	coach := h.as(h.coach)
	path := "/ladders/" + id.String()
	editor := coach.get(path).is(200).says("In use, version 1", "Turn in time", "shipped with the program").lacks("not published")
	move := editor.form(path + "/stages/first-jumps/move")
	move.Set("do", "up")
	coach.post(path+"/stages/first-jumps/move", move).leadsTo(path + "#stage-first-jumps")
	coach.post(path+"/stages/first-jumps/move", move).is(409).says("Somebody else changed this ladder meanwhile.")
	editor = coach.get(path).says("1 change is not published yet.", "moved from place")
	add := editor.form(path + "/stages")
	add.Set("title", "Side swings")
	coach.post(path+"/stages", add).is(422).says("There is a problem")
	add.Set("purpose", "Rest while the rope turns.")
	coach.post(path+"/stages", add).leadsTo(path + "/stages/side-swings/gate")
	gate := coach.get(path+"/stages/steady-minute/gate").is(200).says("0 of 1 athlete here would be ready today.", "Two 60 s tests")
	seen := gate.form(path + "/stages/steady-minute/gate")
	seen.Set("seen", "yes")
	coach.post(path+"/stages/steady-minute/gate", seen).leadsTo(path + "/stages/steady-minute/gate")
	clause := coach.get(path + "/stages/steady-minute/gate/minute").is(200).form(path + "/stages/steady-minute/gate/minute")
	clause.Set("days", "3")
	coach.post(path+"/stages/steady-minute/gate/minute", clause).is(422).says("3 days need at least 3 results.")
	clause.Set("days", "1")
	clause.Set("results", "one")
	coach.post(path+"/stages/steady-minute/gate/minute", clause).is(422).says("This must be a whole number, like 2.")
	clause.Set("results", "1")
	coach.post(path+"/stages/steady-minute/gate/minute", clause).leadsTo(path + "/stages/steady-minute/gate")
	coach.get(path+"/stages/steady-minute/gate").says("1 of 1 athlete here would be ready today.", "Ready only under the new gate: Ana")
	coach.get(path+"/publish").is(200).says("Publish version 2", "is new, as stage 17", "Nobody. Everybody keeps the place.", "Ready only under the new gate: Ana")
	h.as(h.jumper(0)).get("/me/stage").says("Not yet").lacks("Met")
	publish := coach.get(path + "/publish").form(path + "/publish")
	publish.Set("note", "Easier minute.")
	coach.post(path+"/publish", publish).leadsTo(path)
	coach.post(path+"/publish", publish).is(409)
	coach.get(path).says("Version 2 is published. Everybody keeps the place.", "“Easier minute.”", "In use, version 2")
	coach.get(path+"/versions/2").is(200).says("The gate of “Steady minute” changed.", "“Side swings” is new, as stage 17.")
	coach.get(path + "/versions/9").is(404)
	h.as(h.jumper(0)).get("/me/stage").says("You have shown all of it.")
}

func TestTheWordsOfAStage(t *testing.T) {
	h := newHall(t, "Ana")
	id, _, _ := h.climb("steady-minute")
	coach := h.as(h.coach)
	path := "/ladders/" + id.String() + "/stages/changes-of-pace"
	words := coach.get(path).is(200).form(path)
	coach.post(path, words).leadsTo("/ladders/" + id.String() + "#stage-changes-of-pace")
	coach.get("/ladders/" + id.String()).lacks("not published yet") // the form gives back what it got
	words = coach.get(path).form(path)
	words.Set("title", "Fast and slow")
	words.Set("look_for", "One line.\n\n  Another.  ")
	words["count"][0], words["sets"] = "30", []string{"4"}
	words["allows"] = []string{"bursts"}
	words.Set("check-eyes", "")
	coach.post(path, words).leadsTo("/ladders/" + id.String() + "#stage-changes-of-pace")
	coach.get("/ladders/"+id.String()).says("“Changes of pace” is now called “Fast and slow”.", "The text of “Fast and slow” changed.")
	draft, err := h.server.Deciding.Draft(t.Context(), h.coach, id)
	if err != nil {
		t.Fatal(err)
	}
	s, _ := draft.Ladder.Stage("changes-of-pace")
	if len(s.LookFor) != 2 || s.LookFor[1] != "Another." || s.Drill.Blocks[0].Reps != 30 || s.Drill.Sets != 4 || s.Allows != (ladder.Allows{Bursts: true}) ||
		len(s.Checks) != 4 || len(s.Faults) != 3 || len(s.Gate.Clauses) != 2 {
		t.Errorf("%+v", s)
	}
	words = coach.get(path).form(path)
	words["count"][0] = "many"
	coach.post(path, words).is(422).says("Numbers of a drill are whole numbers from 1, like 20. You typed “many”.")
	words["count"][0] = "30"
	words["percent"][0] = "300"
	coach.post(path, words).is(422).says("There is a problem")
	words["percent"][0] = ""
	words["cue"][0] = ""
	coach.post(path, words).is(422)
	coach.get("/ladders/" + id.String() + "/stages/flying").is(404)
}

func TestClausesOfEveryMeasure(t *testing.T) {
	h := newHall(t, "Ana")
	id, _, _ := h.climb("steady-minute")
	coach := h.as(h.coach)
	gate := "/ladders/" + id.String() + "/stages/first-jumps/gate"
	for _, m := range ladder.Measures()[:7] {
		form := coach.get(gate + "/new?measure=" + m.Key).is(200).form(gate + "/new")
		if m.Task {
			coach.post(gate+"/new", form).is(422).says("Say in a few words what is tried or judged.")
			form.Set("task", "A small test")
		}
		coach.post(gate+"/new", form).leadsTo(gate)
	}
	coach.get(gate).says("10 or more")
	coach.get(gate + "/new?measure=luck").is(404)
	draft, err := h.server.Deciding.Draft(t.Context(), h.coach, id)
	if err != nil {
		t.Fatal(err)
	}
	s, _ := draft.Ladder.Stage("first-jumps")
	if len(s.Gate.Clauses) != 8 || s.Gate.Clauses[7].Task != "a-small-test" || s.Gate.Clauses[3].Threshold.AboveBase.RPM != 12 {
		t.Fatalf("%+v", s.Gate.Clauses)
	}
	// Every clause survives its own form.
	for _, c := range s.Gate.Clauses {
		form := coach.get(gate + "/" + c.Key).is(200).form(gate + "/" + c.Key)
		coach.post(gate+"/"+c.Key, form).leadsTo(gate)
	}
	draft, err = h.server.Deciding.Draft(t.Context(), h.coach, id)
	if err != nil {
		t.Fatal(err)
	}
	after, _ := draft.Ladder.Stage("first-jumps")
	if changes := ladder.Diff(ladder.Ladder{Stages: []ladder.Stage{s}}, ladder.Ladder{Stages: []ladder.Stage{after}}); len(changes) != 0 {
		t.Errorf("%v:\n%+v\n%+v", changes, s.Gate, after.Gate)
	}
	for _, c := range s.Gate.Clauses[1:] {
		coach.post(gate+"/"+c.Key+"/remove", coach.get(gate).form(gate+"/"+c.Key+"/remove")).leadsTo(gate)
	}
	coach.post(gate+"/single-jumps/remove", coach.get(gate).form(gate+"/single-jumps/remove")).is(409).says("A gate needs at least one clause.")
}

func TestLadderFilesOnPages(t *testing.T) {
	h := newHall(t, "Ana")
	id, _, _ := h.climb("steady-minute")
	coach := h.as(h.coach)
	file := coach.get("/ladders/" + id.String() + "/versions/1/file").is(200)
	if file.Header.Get("Content-Disposition") != `attachment; filename="doubles-1.json"` {
		t.Errorf("%s", file.Header.Get("Content-Disposition"))
	}
	broken := strings.Replace(file.Text, `"purpose"`, `"porpoise"`, 1)
	coach.upload("/ladders/import", "file", "ours.json", []byte(broken), nil).is(422).says("Nothing was changed", "porpoise")
	coach.upload("/ladders/import", "", "", nil, nil).is(422).says("Choose a ladder file, or paste one below.")
	coach.post("/ladders/import", form("text", "{")).is(422).says("Nothing was changed", "Line")
	own := strings.Replace(strings.Replace(file.Text, `"key": "doubles"`, `"key": "ours"`, 1), "From first turns to doubles", "Ours", 1)
	there := coach.upload("/ladders/import", "file", "ours.json", []byte(own), nil).is(http.StatusSeeOther).Header.Get("Location")
	coach.get(there).is(200).says("Not in use, version 1", "Ours", "Brought in as a ladder of its own.")
	coach.get(there+"/use").is(200).says("Use this ladder", "Nobody. Everybody keeps the place.")
	coach.post(there+"/use", coach.get(there+"/use").form(there+"/use")).leadsTo(there)
	coach.get("/ladders").is(200).says("Ours", "in use", "From first turns to doubles")
	coach.get("/ladders/schema").is(200)
	changed := strings.Replace(file.Text, "Turn in time", "Turn, then jump", 1)
	coach.upload("/ladders/import", "file", "ours.json", []byte(changed), nil).leadsTo("/ladders/" + id.String())
	coach.get("/ladders/"+id.String()).says("Brought in as changes to this ladder.", "“Turn in time” is now called “Turn, then jump”.")
	coach.post("/ladders/"+id.String()+"/discard", nil).leadsTo("/ladders/" + id.String())
	copied := coach.post("/ladders", form("from", id.String(), "name", "Winter")).is(http.StatusSeeOther).Header.Get("Location")
	name := coach.get(copied).says("Copied.").form(copied + "/name")
	name.Set("name", "Spring")
	coach.post(copied+"/name", name).leadsTo(copied)
	coach.get(copied).says("The ladder is now called “Spring”.")
	name = coach.get(copied).form(copied + "/name")
	name.Set("name", "")
	coach.post(copied+"/name", name).is(422)
	coach.post("/ladders", form("from", "", "name", "X")).is(422).says("Choose the ladder to copy.")
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

// A test on another rope than the stage was begun on is kept, with a word of
// advice.
func TestOneSkillOnOneRopeAtEntry(t *testing.T) {
	h := newHall(t, "Ana")
	h.climb("steady-minute")
	h.counted(0, "base", 100, 60, 8) // on beads
	coach := h.as(h.coach)
	single := coach.get(h.below(0, "/tests/new")).is(200).says("This stage was begun on: beaded. Learn one skill on one rope.").form(h.below(0, "/tests"))
	single.Set("rotations", "101")
	single.Set("rope", "cord")
	coach.post(h.below(0, "/tests"), single).is(http.StatusSeeOther)
	for _, test := range []struct {
		rope string
		said bool
	}{{"beaded", false}, {"cord", true}} {
		h.now = h.now.AddDate(0, 0, 1)
		class := coach.get(h.path("/tests")).is(200).form(h.path("/tests"))
		class.Set("rope", test.rope)
		class.Set(h.of("rotations", 0), "102")
		kept := coach.post(h.path("/tests"), class).is(200).says("Saved")
		if said := strings.Contains(kept.words(), "This stage was begun on: beaded."); said != test.said {
			t.Errorf("on %s the advice is given: %t; the page says %s", test.rope, said, kept.words())
		}
	}
}
