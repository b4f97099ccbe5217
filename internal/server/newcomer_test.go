package server

import (
	"testing"
	"time"

	"ropewalk.example/internal/gym"
)

// A city says its time zone, however it is typed; what is none is told of.
func TestZoneByCity(t *testing.T) {
	for _, test := range []struct{ typed, zone string }{
		{"london", "Europe/London"}, {" new york ", "America/New_York"}, {"EUROPE/paris", "Europe/Paris"},
		{"utc", "UTC"}, {"Asia/Kathmandu", "Asia/Kathmandu"}, {"the moon", "the moon"}, {"", ""},
	} {
		if got := zoneNamed(test.typed); got != test.zone {
			t.Errorf("%q is %q, want %q", test.typed, got, test.zone)
		}
	}
	for _, zone := range zones() {
		if _, err := time.LoadLocation(zone); err != nil || zoneNamed(zone) != zone {
			t.Errorf("%s: %q, %v", zone, zoneNamed(zone), err)
		}
	}
}

func TestJoinSaysWhatIsMissing(t *testing.T) {
	h := newHall(t, "Ana")
	b := h.open()
	f := b.get("/join?code=" + h.code).form("/join")
	f.Set("athlete", "")
	b.post("/join", f).is(422).says("Choose your name.", "Type your PIN. It has 4 digits and is on your card.").lacks("does not match")
	f.Set("pin", "0000")
	b.post("/join", f).is(422).says("Choose your name.").lacks("does not match", "Type your PIN.")
	f.Set("pin", "")
	f.Set("athlete", h.athletes[0].AthleteID.String())
	if kept := b.post("/join", f).is(422).says("Type your PIN.").form("/join"); kept.Get("athlete") != f.Get("athlete") {
		t.Error("the chosen name is forgotten")
	}
}

// Pasted names come back to be mended; and who needs a consent is counted.
func TestPastedNamesComeBack(t *testing.T) {
	h := newHall(t)
	h.askFor(16)
	coach := h.as(h.coach)
	f := coach.get(h.path("/import")).form(h.path("/import"))
	f.Set("names", "Ana, 1990\nBen, 2015\nChidi\none, two, three\n")
	preview := coach.upload(h.path("/import"), "", "", nil, f).is(200).says("Lines that are left out", "Change the names")
	edit := preview.form(h.path("/import"))
	if again := coach.upload(h.path("/import"), "", "", nil, edit).is(200).form(h.path("/import")); again.Get("names") == "" {
		t.Errorf("the names did not come back: %v", again)
	}
	h.confirm(preview).says("3 in, 3 of them new to the gym. Note the consent of parents or guardians for 2 of them.", "Consents")
	coach.get(h.path("/consents")).says("What is asked", "Add a missing birth year")
}

// What stands out on the page of plans is what can be done next.
func TestPlansShowTheNextStep(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	coach := h.as(h.coach)
	coach.get(h.path("/plans")).is(200).says("Record their test").lacks("Send")
	coach.get("/today").says("Record a test", "For a substitute")
	h.counted(0, "base", 110, 60, 7)
	f := coach.get(h.path("/plans")).form(h.path("/plans"))
	f.Set("do", "make")
	made := coach.follow(coach.post(h.path("/plans"), f)).says("1 plan made. 1 athlete needs a test first.", "Athletes do not see these yet.", "Send 1 plan to phones")
	send := made.form(h.path("/plans"))
	send.Set("do", "send")
	coach.follow(coach.post(h.path("/plans"), send)).lacks("Athletes do not see these yet.")
}

// Whoever has no stage yet is ticked, to get one at once.
func TestStagesForManyAtOnce(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi")
	h.climb("steady-minute") // places the first
	coach := h.as(h.coach)
	coach.get("/stages?class=" + h.class.String()).says("Choose a stage for many at once")
	f := coach.get(h.path("/set?on=none")).is(200).says("No stage yet (2)").form(h.path("/set"))
	if f.Get("kind") != "stage" || len(f["athlete"]) != 2 {
		t.Errorf("the form begins as %v, want a stage for two", f)
	}
	f.Set("stage", "first-jumps")
	f.Set("note", "Where they stood on the first day.")
	coach.post(h.path("/set"), f).is(303)
	var stages []gym.StageDecision
	for n := range 3 {
		stages = append(stages, h.decisions(n)...)
	}
	if len(stages) != 3 {
		t.Errorf("%d decisions, want one for each: %+v", len(stages), stages)
	}
}

// A class that was started by mistake is taken back, until something came of it.
func TestTakeACheckInBack(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	coach := h.as(h.coach)
	session := h.checkIn(1)
	path := "/sessions/" + session.String()
	coach.get("/today").says("is under way")
	f := coach.get(path).is(200).says("1 here, 1 away", "Started by mistake?").form(path + "/not-started")
	coach.follow(coach.post(path+"/not-started", f)).says("The class is not started. Start it when it begins.").lacks("is under way")
	coach.get(path).lacks("Started by mistake?")

	h.checkIn()
	coach.get(path).says("2 here, 0 away")
	coach.post(path+"/log", coach.get(path+"/log").form(path+"/log")).is(303)
	coach.get(path).lacks("Started by mistake?")
	coach.post(path+"/not-started", f).is(409).says("it stays started")
	coach.post("/sessions/"+newID().String()+"/not-started", f).is(404)
}

// A row says before anything is typed that a guardian has not agreed.
func TestSheetNamesMissingConsents(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	coach := h.as(h.coach)
	coach.get(h.path("/tests?test=base")).is(200).lacks("A guardian has not agreed")
	h.askFor(18)
	coach.get(h.path("/tests?test=base")).is(200).says("A guardian has not agreed")
}
