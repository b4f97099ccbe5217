package server

import (
	"net/http"
	"strings"
	"testing"

	"ropewalk.example/internal/ladder"
)

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
