package server

import (
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

func (h *hall) debriefs() map[uuid.UUID]gym.Debrief {
	h.t.Helper()
	var all []gym.Debrief
	h.read(h.id, store.DebriefsOfClass(h.class, day(h.now).AddDate(0, 0, -1), &all))
	found := map[uuid.UUID]gym.Debrief{}
	for _, d := range all {
		found[d.AthleteID] = d
	}
	return found
}

func TestLogAWholeClass(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi", "Dora", "Eve")
	for i := range 4 {
		h.counted(i, "base", 110, 60, 7)
		h.counted(i, "burst", 25, 10, 7)
	}
	session := h.checkIn(3)
	coach := h.as(h.coach)
	path := "/sessions/" + session.String()
	coach.post(path+"/plans", form("do", "make")).is(303)
	phone := h.as(h.jumper(2))
	told := phone.get("/me/debrief").is(200).form("/me/debrief")
	told.Set("sets", "2")
	phone.post("/me/debrief", told).is(303)

	f := coach.get(path+"/log").is(200).says("4 here, 1 away", "Chidi", "Told: 2 sets", "Eve No plan today.").lacks("Dora").form(path + "/log")
	f.Set(h.of("how", 1), "shortened")
	f.Set("note", "Loud hall, short breaks.")
	coach.post(path+"/log", f).is(422).says("Say how many sets were done.")
	f.Set(h.of("sets", 1), "1")
	f.Set(h.of("catches", 0), "two")
	coach.post(path+"/log", f).is(422).says("Catches must be a whole number")
	f.Set(h.of("catches", 0), "2")
	coach.follow(coach.post(path+"/log", f)).is(200).says("Logged for 2 athletes.", "After class Logged.")
	coach.post(path+"/log", f).is(303) // the same form once more

	kept := h.debriefs()
	ana, ben, chidi := kept[h.athletes[0].AthleteID], kept[h.athletes[1].AthleteID], kept[h.athletes[2].AthleteID]
	if ana.PlanID == uuid.Nil || ana.SessionID != session || ana.Catches == nil || *ana.Catches != 2 || ana.Bursts == nil || *ana.CleanBursts != *ana.Bursts-2 ||
		ana.Contacts == nil || *ana.Contacts == 0 {
		t.Errorf("Ana, as planned with 2 catches: %+v", ana)
	}
	if ben.SetsDone == nil || *ben.SetsDone != 1 || ben.Bursts != nil || ben.Catches != nil || *ben.Contacts >= *ana.Contacts {
		t.Errorf("Ben, shortened and not counted: %+v", ben)
	}
	if chidi.RecordedBy != h.athletes[2].AthleteID || *chidi.SetsDone != 2 {
		t.Errorf("Chidi told himself, and was overwritten: %+v", chidi)
	}
	if len(kept) != 3 {
		t.Errorf("%d debriefs, want 3", len(kept))
	}
	var closed gym.Session
	h.read(h.id, store.Session(session, &closed))
	if closed.ClosedAt == nil || closed.Note != "Loud hall, short breaks." {
		t.Errorf("the session: %+v", closed)
	}
	coach.get("/today").lacks("is under way")
}

// Two hours without a catch, logged with one choice for everybody, move the
// next plan; hours in which nobody counted do not.
func TestTheNextPlanLearnsFromTheLog(t *testing.T) {
	next := func(t *testing.T, empty string) string {
		h := newHall(t, "Ana")
		h.counted(0, "base", 130, 60, 15)
		h.counted(0, "burst", 32, 10, 15)
		coach := h.as(h.coach)
		for range 2 {
			path := "/sessions/" + h.checkIn().String()
			coach.post(path+"/plans", form("do", "make")).is(303)
			f := coach.get(path + "/log").form(path + "/log")
			f.Set("empty", empty)
			coach.post(path+"/log", f).is(303)
			h.now = h.now.Add(7 * 24 * time.Hour)
		}
		path := "/sessions/" + h.checkIn().String()
		coach = h.as(h.coach)
		coach.post(path+"/plans", form("do", "make")).is(303)
		return coach.get(path).is(200).words()
	}
	if got := next(t, "none"); !strings.Contains(got, "The split goes from 20/10 to 15/10: 100") {
		t.Errorf("after two clean hours: %s", got)
	}
	if got := next(t, "unknown"); strings.Contains(got, "The split goes") {
		t.Errorf("after two hours that nobody counted: %s", got)
	}
}

func TestFloorTellsWhoFits(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi", "Dora", "Eve")
	coach := h.as(h.coach)
	path := h.path("/floor")
	f := coach.get(path).is(200).form(path)
	f.Set("length", "six")
	f.Set("width", "3")
	coach.post(path, f).is(422).says("Type a number of metres")
	f.Set("length", "1")
	coach.post(path, f).is(422).says("The length must be from 2 to 200 m.")
	f.Set("length", "6,5")
	f.Set("surface", "wood")
	f.Set(h.of("height", 0), "148")
	f.Set(h.of("shoes", 0), "fit")
	coach.follow(coach.post(path, f)).says("Can jump at once 2", "Waves for a test 3", "Ana", "2.4 m")
	session := h.checkIn()
	coach.get("/sessions/" + session.String()).says("Floor: 2 can jump at once")
	coach.get(h.path("/tests?test=base")).says("Start 60 s, wave C")
}

func TestHandOverSaysWhatToWatch(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi")
	h.counted(0, "base", 110, 60, 7)
	h.counted(1, "base", 110, 60, 7)
	h.now = h.now.AddDate(0, 0, -6)
	session := h.checkIn(1)
	coach := h.as(h.coach)
	f := coach.get("/sessions/" + session.String() + "/log").form("/sessions/" + session.String() + "/log")
	f.Set("note", "Rope B4 is worn.")
	coach.post("/sessions/"+session.String()+"/log", f).is(303)
	phone := h.as(h.jumper(0))
	hurt := phone.get("/me/debrief").form("/me/debrief")
	hurt.Set("pain", "5")
	hurt.Set("pain_place", "heel")
	phone.post("/me/debrief", hurt).is(303)
	h.now = h.now.AddDate(0, 0, 6)
	h.plan("2026-11-05")
	a := h.as(h.coach).get(h.path("/hand-over")).is(200)
	a.says("Hand-over: Thursday Open", "Thu 29 Oct: 2 here, 1 away.", "Rope B4 is worn.", "Ana", "On hold: pain. No impact work.", "Pain 5 of 10, heel", "Ben", "Away last time", "Chidi", "Needs a base test first")
	h.as(h.assistant).get(h.path("/hand-over")).is(200).lacks("in the last four weeks")
}

func TestIncidentsAreSeenByFew(t *testing.T) {
	h := newHall(t, "Ana")
	session := h.checkIn()
	coach := h.as(h.coach)
	f := coach.get("/incidents/new?session=" + session.String()).is(200).form("/incidents")
	f.Set("what", "Tripped over a bench.")
	coach.post("/incidents", f).is(422).says("Write where it happened", "Write who saw it", "Write what was done")
	f.Set("athlete", h.athletes[0].AthleteID.String())
	f.Set("place", "hall, by the door")
	f.Set("seen_by", "Cleo")
	f.Set("done", "Cooled the shin, sat out.")
	f.Set("day", "2026-11-05")
	coach.post("/incidents", f).is(422).says("not in the future")
	f.Set("day", "2026-11-04")
	coach.follow(coach.post("/incidents", f)).is(200).says("Tripped over a bench.", "hall, by the door", "Not written down yet", "Cleo, Wed 4 Nov")
	coach.post("/incidents", f).is(303) // sent twice
	var all []gym.Incident
	h.read(h.id, store.Incidents(store.Page{Most: 500}, &all))
	if len(all) != 1 || all[0].ClassID != h.class || all[0].SessionID != session {
		t.Fatalf("kept as %+v", all)
	}
	mend := coach.get("/incidents/new?corrects=" + all[0].IncidentID.String()).is(200).form("/incidents")
	mend.Set("told", "mother, 17:50, by phone")
	coach.follow(coach.post("/incidents", mend)).says("mother, 17:50, by phone").lacks("Not written down yet")
	for _, other := range []gym.Who{h.assistant, h.jumper(0)} {
		h.as(other).get("/incidents").is(403)
		h.as(other).post("/incidents", f).is(403)
	}
	h.as(h.owner).get("/incidents").is(200)
}
