package server

import (
	"fmt"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/store"
)

// checkIn opens the class hour without those away, and returns its session.
func (h *hall) checkIn(away ...int) uuid.UUID {
	h.t.Helper()
	check := leading.CheckIn{Class: h.class, Day: day(h.now), Starts: h.now, Minutes: 60}
	for _, n := range away {
		check.Away = append(check.Away, h.athletes[n].AthleteID)
	}
	session, err := h.server.Leading.CheckIn(h.t.Context(), h.coach, check)
	if err != nil {
		h.t.Fatal(err)
	}
	return session
}

// A typist types on a sheet of counts as the script of the page does.
type typist struct {
	*browser
	h     *hall
	round string
}

// typist opens the sheet of base tests of 30 s.
func (h *hall) typist(who gym.Who) *typist {
	h.t.Helper()
	b := h.as(who)
	f := b.get(h.path("/tests?test=base")).is(200).form(h.path("/tests"))
	return &typist{b, h, f.Get("round")}
}

// row sends one row; seen is the count that the typist saw.
func (ty *typist) row(n int, rotations string, seen, id string) *answer {
	ty.t.Helper()
	if id == "" {
		id = newID().String()
	}
	a := ty.post(ty.h.path("/tests/"+ty.round+"/rows"), form("athlete", ty.h.athletes[n].AthleteID.String(), "id", id, "seen", seen,
		"rotations", rotations, "test", "base 30", "step", "bounce", "rope", "beaded", "surface", "wood", "counted_by", "partner", "known", "0"))
	if round := a.mark("round"); round != "" {
		ty.round = round
	}
	return a
}

// mark returns the value of a data- attribute on the answer's first element.
func (a *answer) mark(name string) string {
	_, rest, ok := strings.Cut(a.Text, `data-`+name+`="`)
	if !ok {
		return ""
	}
	value, _, _ := strings.Cut(rest, `"`)
	return value
}

func (h *hall) standing(n int) []gym.Result {
	h.t.Helper()
	var results []gym.Result
	h.read(h.id, store.ResultsOf(h.athletes[n].AthleteID, day(h.now), &results))
	return results
}

func TestRowsAreKeptOneByOne(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi")
	h.counted(0, "base", 118, 60, 7)
	session := h.checkIn(2)
	marit := h.typist(h.coach)
	marit.get(h.path("/tests?test=base")).says("last 118 rpm", "0 of 2 in", "Chidi Away", "Start 60 s, wave A")
	id := newID().String()
	saved := marit.row(0, "62", "", id).is(200).says("Saved", "Undo")
	marit.row(0, "62", "", id).is(200).says("Saved") // the same send once more
	if got := h.history(0); len(got) != 2 || got[0].SessionID != session || *got[0].Rotations != 62 {
		t.Errorf("kept as %+v", got)
	}
	marit.row(1, "sixty", "", "").is(422).says("Rotations must be a whole number", "You typed “sixty”.")
	marit.row(1, "150", "", "").is(200).says("Saved")
	marit.get(h.path("/tests?test=base")).says("2 of 2 in").lacks("Base rate Burst rate") // the set-up is fixed
	marit.get(h.path("/tests/"+marit.round+"/rows")).is(200).says("2 of 2 in", "Saved Cleo, 12:00")

	marit.row(0, "64", saved.mark("stands"), "").is(200).says("Saved") // a change of what one saw
	if got := h.standing(0); len(got) != 1 || *got[0].Rotations != 64 || got[0].Corrects.String() != saved.mark("stands") {
		t.Errorf("changed to %+v", got)
	}
}

func TestOddCountsAreAskedNeverBlocked(t *testing.T) {
	h := newHall(t, "Ana")
	h.counted(0, "base", 118, 60, 7)
	h.checkIn()
	h.typist(h.coach).row(0, "120", "", "").is(200).says("Saved", "Check: 240 rpm? Lately about 118.")
}

func TestTwoCoachesAtOneSheet(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.checkIn()
	cleo, asa := h.typist(h.coach), h.typist(h.assistant) // both open a new sheet
	first := cleo.row(0, "87", "", "").is(200)
	asa.row(1, "70", "", "").is(200)
	if cleo.round != asa.round {
		t.Errorf("two sheets, %s and %s", cleo.round, asa.round)
	}
	asa.row(0, "91", "", "").is(409).says("Cleo already saved 87 for Ana at 12:00. Keep 87 or use 91?")
	if got := h.standing(0); len(got) != 1 || *got[0].Rotations != 87 {
		t.Fatalf("before anybody decided there stands %+v", got)
	}
	asa.row(0, "91", first.mark("stands"), "").is(200).says("Saved")
	if got := h.standing(0); len(got) != 1 || *got[0].Rotations != 91 {
		t.Errorf("after “use 91” there stands %+v", got)
	}
	cleo.row(0, "88", first.mark("stands"), "").is(409).says("Asa already saved 91") // a stale change overwrites nothing
	cleo.row(0, "91", "", "").is(200).says("Saved")                                  // the same number is no clash
	if got := h.history(0); len(got) != 2 {
		t.Errorf("%d entries in the history, want 2", len(got))
	}
}

func TestClashOnAPageWithoutScript(t *testing.T) {
	h := newHall(t, "Ana")
	h.checkIn()
	asa := h.typist(h.assistant)
	f := asa.get(h.path("/tests?test=base")).form(h.path("/tests"))
	f.Set("test", "base 30")
	h.typist(h.coach).row(0, "87", "", "").is(200)
	f.Set(h.of("rotations", 0), "91")
	a := asa.post(h.path("/tests"), f).is(200).says("Cleo already saved 87 for Ana", "Keep 87", "Use 91")
	again := a.form(h.path("/tests"))
	asa.post(h.path("/tests"), again).is(200).says("Cleo already saved 87") // pressing Save decides nothing
	again.Set("use", h.athletes[0].AthleteID.String())
	asa.post(h.path("/tests"), again).is(200).says("1 of 1 in", "Saved")
	if got := h.standing(0); len(got) != 1 || *got[0].Rotations != 91 {
		t.Errorf("there stands %+v", got)
	}
}

func TestUndoBringsBackWhatWas(t *testing.T) {
	h := newHall(t, "Ana")
	h.checkIn()
	cleo := h.typist(h.coach)
	undo := func(a *answer) *answer {
		return cleo.post(h.path("/tests/"+cleo.round+"/undo"), form("athlete", h.athletes[0].AthleteID.String(), "result", a.mark("stands")))
	}
	first := cleo.row(0, "87", "", "")
	second := cleo.row(0, "91", first.mark("stands"), "")
	undo(second).is(200).says("Saved")
	if got := h.standing(0); len(got) != 1 || *got[0].Rotations != 87 {
		t.Fatalf("after undoing the change there stands %+v", got)
	}
	undo(second).is(200) // pressed twice
	if got := h.standing(0); len(got) != 1 || *got[0].Rotations != 87 {
		t.Errorf("after pressing twice there stands %+v", got)
	}
	alone := cleo.row(0, "80", cleo.get(h.path("/tests/"+cleo.round+"/rows")).mark("stands"), "")
	h.now = h.now.Add(time.Hour)
	round2 := cleo.get(h.path("/tests?new=1&test=base")).form(h.path("/tests"))
	cleo.round = round2.Get("round")
	fresh := cleo.post(h.path("/tests/"+cleo.round+"/rows"), form("athlete", h.athletes[0].AthleteID.String(), "id", newID().String(), "rotations", "66",
		"test", "base 30", "step", "bounce", "rope", "", "surface", "", "counted_by", "coach", "known", round2.Get("known"))).is(200)
	cleo.round = fresh.mark("round")
	undo(fresh).is(200)
	if got := h.standing(0); len(got) != 1 || got[0].ResultID.String() != alone.mark("stands") {
		t.Errorf("after undoing the second test's count there stands %+v", got)
	}
}

// A phone that counts while the coach types is seen on the sheet.
func TestPhonesCountOnTheSameSheet(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.checkIn()
	phone := h.as(h.jumper(0))
	f := phone.get("/me/result").is(200).form("/me/result")
	f.Set("test", "base 30")
	f.Set("step", "bounce")
	f.Set("rotations", "87")
	phone.post("/me/result", f).is(303)
	cleo := h.typist(h.coach)
	cleo.row(1, "70", "", "").is(200)
	cleo.get(h.path("/tests/"+cleo.round+"/rows")).says("2 of 2 in", "Ana, 12:00")
	cleo.row(0, "91", "", "").is(409).says("Ana already saved 87 for Ana at 12:00. Keep 87 or use 91?")

	f = phone.get("/me/result").form("/me/result") // and once more from the phone: two counts of one test
	f.Set("test", "base 30")
	f.Set("step", "bounce")
	f.Set("rotations", "89")
	phone.post("/me/result", f).is(303)
	page := cleo.get(h.path("/tests?test=base")).says("Two counts: 89 by Ana and 87 by Ana. Which one stands?")
	sheet := page.form(h.path("/tests"))
	results := h.standing(0)
	sheet.Set("settle", h.athletes[0].AthleteID.String()+" "+results[1].ResultID.String())
	cleo.follow(cleo.post(h.path("/tests"), sheet)).says("2 of 2 in").lacks("Which one stands?")
	if got := h.standing(0); len(got) != 1 || got[0].ResultID != results[1].ResultID {
		t.Errorf("there stands %+v", got)
	}
}

func TestPaperListOfAnotherDay(t *testing.T) {
	h := newHall(t, "Ana")
	cleo := h.as(h.coach)
	path := h.path("/tests")
	a := cleo.get(path + "?new=1&test=base&day=2026-10-29").is(200).says("Thu 29 Oct").lacks("Start 60 s")
	f := a.form(path)
	f.Set("test", "base 60")
	f.Set(h.of("rotations", 0), "118")
	cleo.post(path, f).is(200).says("1 of 1 in")
	got := h.history(0)
	if len(got) != 1 || !got[0].Day.Equal(time.Date(2026, 10, 29, 0, 0, 0, 0, time.UTC)) {
		t.Fatalf("kept as %+v", got)
	}
	cleo.get(path + "?day=2026-11-05").is(422).says("not in the future")
	cleo.get(path).says("0 of 1 in") // today's sheet is another
}

func TestACountdownNeedsACheckIn(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	cleo := h.as(h.coach)
	f := form("test", "base 30", "step", "bounce", "counted_by", "partner", "wave", "A", "known", "0")
	cleo.post(h.path("/tests/"+newID().String()+"/start"), f).is(409).says("Check the class in first.")
	session := h.checkIn()
	cleo.post(h.path("/tests/"+newID().String()+"/start"), f).is(303)
	f.Set("wave", "Z")
	cleo.post(h.path("/tests/"+newID().String()+"/start"), f).is(422).says("Choose a wave")
	var events []gym.RunEvent
	h.read(h.id, store.RunEvents(session, &events))
	if len(events) != 1 || events[0].Kind != gym.RunStart {
		t.Errorf("the clock has %+v", events)
	}
}

// Thirty phones post while the coach types the same people and plans change
// hands: every number that was said to be kept is there once, and what the
// coach saw as standing was never overwritten unseen.
func TestThirtyPhonesAndACoachAtOnce(t *testing.T) {
	const n = 30
	var names []string
	for i := range n {
		names = append(names, fmt.Sprintf("Athlete %02d", i))
	}
	h := newHall(t, names...)
	h.checkIn()
	cleo := h.typist(h.coach)
	cleo.row(0, "50", "", "").is(200) // opens the sheet
	phones := make([]*browser, n)
	forms := make([]url.Values, n)
	for i := range n {
		phones[i] = h.as(h.jumper(i))
		forms[i] = phones[i].get("/me/result").form("/me/result")
		forms[i].Set("test", "base 30")
		forms[i].Set("step", "bounce")
		forms[i].Set("rotations", fmt.Sprint(60+i))
	}
	var all sync.WaitGroup
	typed := make([]int, n)
	for i := range n {
		all.Go(func() {
			if a := phones[i].post("/me/result", forms[i]); a.Code != 303 {
				t.Errorf("phone %d: status %d", i, a.Code)
			}
			phones[i].post("/me/result", forms[i]) // its answer was lost; it sends again
		})
		all.Go(func() {
			another := &typist{&browser{site: cleo.site, cookies: map[string]string{}, headers: cleo.headers}, h, cleo.round}
			for name, value := range cleo.cookies {
				another.cookies[name] = value
			}
			typed[i] = another.row(i, fmt.Sprint(100+i), "", "").Code
		})
	}
	all.Wait()
	for i := range n {
		standing := h.standing(i)
		byPhone, byCoach := 0, 0
		for _, r := range standing {
			if *r.Rotations == 60+i {
				byPhone++
			}
			if *r.Rotations == 100+i {
				byCoach++
			}
		}
		if byPhone != 1 {
			t.Errorf("athlete %d: the phone's count stands %d times, want once", i, byPhone)
		}
		if want := 0; i > 0 && typed[i] == 200 {
			want = 1
			if byCoach != want {
				t.Errorf("athlete %d: the coach's count was kept and stands %d times", i, byCoach)
			}
		} else if typed[i] == 409 && byCoach != 0 {
			t.Errorf("athlete %d: the coach was asked, and the count was kept all the same", i)
		}
		if i > 0 && typed[i] != 200 && typed[i] != 409 {
			t.Errorf("athlete %d: the coach's row got status %d", i, typed[i])
		}
	}
}
