package server

import (
	"context"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// term gives the hall a term, from Monday 7 September to Sunday 29 November
// 2026, with a holiday in its eighth week; the class meets on Thursdays.
func (h *hall) term() gym.Term {
	h.t.Helper()
	on := func(text string) time.Time { return dayIn(text) }
	term := gym.Term{TermID: newID(), Name: "Autumn 2026", StartsOn: on("2026-09-07"), EndsOn: on("2026-11-29")}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddTerm(ctx, term); err != nil {
			return err
		}
		return tx.AddHoliday(ctx, gym.Holiday{HolidayID: newID(), Name: "Half term", StartsOn: on("2026-10-26"), EndsOn: on("2026-11-01")})
	})
	return term
}

// meeting is the address of a meeting's page.
func (h *hall) meeting(day string) string {
	return h.path("/calendar/meeting?day=" + day + "&starts=18:30")
}

// formWith returns the form of a page that has a field with a value.
func (a *answer) formWith(action, field, value string) url.Values {
	a.t.Helper()
	for _, f := range a.forms(action) {
		if f.Get(field) == value {
			return f
		}
	}
	a.t.Fatalf("no form to %s has %s=%s", action, field, value)
	return nil
}

func (h *hall) changes() []gym.MeetingChange {
	h.t.Helper()
	var all []gym.MeetingChange
	h.read(h.id, store.MeetingChanges(time.Time{}, &all))
	return all
}

func TestCalendarShowsTheTerm(t *testing.T) {
	h := newHall(t, "Ana")
	coach, owner := h.as(h.coach), h.as(h.owner)
	coach.get(h.path("/calendar")).is(200).says("Every week: Thu 18:30, 60 min", "There is no term yet.", "owner sets terms")
	owner.get(h.path("/calendar")).is(200).says("Make the first term")
	h.term()
	coach.get(h.path("/calendar")).is(200).says("Autumn 2026", "Mon 7 Sep to Sun 29 Nov 2026, 12 weeks", "8 earlier days", "Thu 10 Sep", "Half term: no class",
		"Thu 5 Nov 18:30 Next Lighter week Week 9", "Thu 19 Nov 18:30 Test day: base rate and burst rate").lacks("Terms and holidays")
	h.as(h.assistant).get(h.path("/calendar")).is(200).lacks("Add a meeting")
	coach.get("/today").says("Calendar")
	coach.get(h.path("")).says("Calendar")
	h.now = h.now.AddDate(0, 2, 0)
	h.as(h.coach).get(h.path("/calendar")).is(200).says("Autumn 2026, over").lacks("Next")
}

// A meeting is moved on one page, what follows is seen on the next, and kept
// from there; plans follow, and the same form again changes nothing.
func TestMoveAMeeting(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.term()
	for i := range 2 {
		h.counted(i, "base", 110, 60, 7)
		h.counted(i, "burst", 25, 10, 7)
	}
	h.plan("2026-11-05")
	coach := h.as(h.coach)
	below := h.path("/calendar/meeting")
	f := coach.get(h.meeting("2026-11-05")).is(200).says("Thu 5 Nov, 18:30", "60 min. Lighter week").formWith(below, "kind", "moved")
	f.Set("to_day", "2026-12-03")
	f.Set("do", "look")
	coach.post(below, f).is(422).says("Choose a day within Autumn 2026.")
	f.Set("to_day", "2026-11-12")
	coach.post(below, f).is(422).says("This class meets on that day already.")
	f.Set("to_day", "")
	f.Set("to_minutes", "soon")
	f.Set("to_starts_at", "half six")
	coach.post(below, f).is(422).says("Choose the day.", "Choose when it starts, like 17:30.", "A meeting lasts from 10 to 240 minutes.")
	f.Set("to_day", "2026-11-06")
	f.Set("to_starts_at", "17:00")
	f.Set("to_minutes", "45")
	f.Set("reason", "the floor is painted")
	seen := coach.post(below, f).is(200).says("Thu 5 Nov, 18:30 becomes Fri 6 Nov, 17:00, 45 min.", "2 plans are made again for the new day.",
		"Meetings to come: 4 now, 4 after this.", "Nothing is kept yet.")
	if n := len(h.changes()); n != 0 {
		t.Fatalf("%d changes are kept before anybody said so", n)
	}
	keep := seen.form(below)
	keep.Set("do", "save")
	coach.follow(coach.post(below, keep)).is(200).says("Moved. 2 plans were made again", "Fri 6 Nov 17:00 Next Lighter week Moved from Thu 5 Nov: the floor is painted")
	coach.post(below, keep).is(303)
	if all := h.changes(); len(all) != 1 {
		t.Errorf("%d changes are kept, want one: %+v", len(all), all)
	}
	var plans []gym.Plan
	h.read(h.id, store.PlansOfClass(h.class, dayIn("2026-11-06"), &plans))
	if len(plans) != 2 || plans[0].SentAt == nil {
		t.Errorf("plans of the new day: %+v", plans)
	}
	if n := h.onPhones("2026-11-05"); n != 0 {
		t.Errorf("%d plans of the old day are still on phones", n)
	}
	coach.get("/today").says("Fri 6 Nov", "Moved from Thu 5 Nov: the floor is painted.")

	back := coach.get(h.meeting("2026-11-05")).is(200).says("Put it back to Thu 5 Nov, 18:30").formWith(below, "kind", "restored")
	back.Set("do", "save")
	coach.follow(coach.post(below, back)).says("Put back.", "Thu 5 Nov 18:30 Next")
}

// onPhones is how many plans of a day athletes can see.
func (h *hall) onPhones(day string) (n int) {
	h.t.Helper()
	var plans []gym.Plan
	h.read(h.id, store.PlansOfClass(h.class, dayIn(day), &plans))
	for _, plan := range plans {
		if plan.SentAt != nil {
			n++
		}
	}
	return n
}

// A day on which no class meets leaves no plan on a phone; put back, the plans
// are there to be sent again. A meeting at another hour of its day keeps them.
func TestPlansOfADayWithoutClassLeaveThePhones(t *testing.T) {
	h := newHall(t, "Ana")
	h.term()
	h.counted(0, "base", 110, 60, 7)
	coach, owner := h.as(h.coach), h.as(h.owner)
	plan := func() {
		t.Helper()
		h.plan("2026-11-12")
		if n := h.onPhones("2026-11-12"); n != 1 {
			t.Fatalf("%d plans are on phones, want 1", n)
		}
	}
	gone := func(after string) {
		t.Helper()
		if n := h.onPhones("2026-11-12"); n != 0 {
			t.Errorf("%d plans are on phones %s", n, after)
		}
	}
	plan()
	below := h.path("/calendar/meeting")
	f := coach.get(h.meeting("2026-11-12")).formWith(below, "kind", "cancelled")
	f.Set("do", "look")
	coach.post(below, f).says("1 plan leaves the phones: the day falls away.")
	f.Set("do", "save")
	coach.post(below, f).is(303)
	gone("after the meeting was cancelled")
	back := coach.get(h.meeting("2026-11-12")).formWith(below, "kind", "restored")
	back.Set("do", "save")
	coach.post(below, back).is(303)
	coach.get(h.path("/plans?day=2026-11-12")).says("Not sent yet", "Send 1 plan to phones")

	plan()
	times := coach.get(h.path("/times")).form(h.path("/times"))
	times.Set("starts_at-1", "19:00")
	times.Set("do", "save")
	coach.post(h.path("/times"), times).is(303)
	if n := h.onPhones("2026-11-12"); n != 1 {
		t.Errorf("another hour of the same day leaves %d plans on phones, want 1", n)
	}
	times.Set("weekday-1", "5")
	coach.post(h.path("/times"), times).is(303)
	gone("after the weekly day changed")

	times.Set("weekday-1", "4")
	coach.post(h.path("/times"), times).is(303)
	plan()
	holiday := owner.get("/holidays/new").form("/holidays")
	holiday.Set("name", "Fair")
	holiday.Set("starts_on", "2026-11-12")
	holiday.Set("ends_on", "2026-11-12")
	holiday.Set("do", "save")
	owner.post("/holidays", holiday).is(303)
	gone("on a holiday")
}

func TestCancelAMeetingAndTheRestFollows(t *testing.T) {
	h := newHall(t, "Ana")
	h.term()
	coach := h.as(h.coach)
	below := h.path("/calendar/meeting")
	f := coach.get(h.meeting("2026-11-12")).is(200).says("Cancel the 2 later meetings of this term too").formWith(below, "kind", "cancelled")
	f.Set("reason", "storm")
	f.Set("do", "look")
	coach.post(below, f).is(200).says("No class on Thu 12 Nov, 18:30.", "Thu 19 Nov: no test day any more.", "Thu 26 Nov: test day now: base rate and burst rate.",
		"Meetings to come: 4 now, 3 after this.", "Cancel the meeting")
	f.Set("do", "save")
	coach.follow(coach.post(below, f)).says("Cancelled.", "Thu 12 Nov 18:30 Cancelled: storm", "Thu 26 Nov 18:30 Test day")
	f.Set("id", newID().String())
	coach.post(below, f).is(409).says("no such meeting any more")
	coach.get(h.meeting("2026-11-12")).is(200).says("Cancelled: storm.", "Put it back").lacks("Move it")

	rest := coach.get(h.meeting("2026-11-19")).formWith(below, "kind", "moved")
	rest.Set("rest", "yes")
	rest.Set("to_day", "2026-11-20")
	rest.Set("do", "save")
	coach.follow(coach.post(below, rest)).says("Fri 20 Nov 18:30", "Fri 27 Nov 18:30", "Moved from Thu 26 Nov").lacks("Thu 19 Nov 18:30")
}

func TestAddAMeeting(t *testing.T) {
	h := newHall(t, "Ana")
	h.term()
	coach := h.as(h.coach)
	below := h.path("/calendar/meeting")
	f := coach.get(h.path("/calendar/extra")).is(200).form(below)
	if f.Get("to_starts_at") != "18:30" || f.Get("to_minutes") != "60" {
		t.Errorf("offers %s and %s, want the weekly time", f.Get("to_starts_at"), f.Get("to_minutes"))
	}
	f.Set("to_day", "2027-03-01")
	f.Set("do", "look")
	coach.post(below, f).is(422).says("Choose a day within a term.")
	f.Set("to_day", "2026-11-14")
	f.Set("to_starts_at", "10:00")
	coach.post(below, f).is(200).says("A class on Sat 14 Nov, 10:00.", "Add the meeting")
	f.Set("do", "save")
	coach.follow(coach.post(below, f)).says("Added.", "Sat 14 Nov 10:00 Extra")
	off := coach.get(h.path("/calendar/meeting?day=2026-11-14&starts=10:00")).is(200).lacks("of this term").formWith(below, "kind", "cancelled")
	off.Set("do", "save")
	coach.follow(coach.post(below, off)).says("Sat 14 Nov 10:00 Cancelled")
	back := coach.get(h.path("/calendar/meeting?day=2026-11-14&starts=10:00")).formWith(below, "kind", "restored")
	back.Set("do", "save")
	coach.follow(coach.post(below, back)).says("Put back.", "Sat 14 Nov 10:00 Extra")
}

func TestNobodyGetsAnotherClassesMeetings(t *testing.T) {
	h := newHall(t, "Ana")
	h.term()
	coach := h.as(h.coach)
	coach.get(h.path("/calendar/meeting?day=2026-11-06&starts=18:30")).is(404).says("no such meeting")
	coach.get(h.path("/calendar/meeting")).is(303)
	coach.post(h.path("/calendar/meeting"), form("kind", "burnt", "day", "2026-11-05", "starts", "18:30", "do", "save")).is(422)
	for _, who := range []gym.Who{h.assistant, h.jumper(0)} {
		h.as(who).post(h.path("/calendar/meeting"), form("kind", "cancelled", "day", "2026-11-05", "starts", "18:30", "do", "save")).is(403)
	}
	if n := len(h.changes()); n != 0 {
		t.Errorf("%d changes are kept", n)
	}
}

func TestWeeklyTimes(t *testing.T) {
	h := newHall(t, "Ana")
	h.term()
	coach := h.as(h.coach)
	path := h.path("/times")
	f := coach.get(path).is(200).form(path)
	f.Set("weekday-2", "4")
	f.Set("starts_at-2", "19:30")
	f.Set("do", "look")
	coach.post(path, f).is(422).says("The class has a time on that day already.")
	f.Set("weekday-2", "1")
	f.Set("starts_at-2", "")
	f.Set("minutes-2", "5")
	coach.post(path, f).is(422).says("Type when the class starts, like 17:00.", "Minutes must be a whole number from 10 to 240.")
	f.Set("starts_at-2", "17:00")
	f.Set("minutes-2", "45")
	seen := coach.post(path, f).is(200).says("A class on Mon 9 Nov, 17:00.", "A class on Mon 16 Nov, 17:00, a test day.", "Thu 19 Nov: no test day any more.", "Meetings to come: 4 now, 7 after this.")
	keep := seen.form(path)
	keep.Set("do", "save")
	coach.follow(coach.post(path, keep)).says("The weekly times are set.", "Every week: Mon 17:00, 45 min · Thu 18:30, 60 min")
	if f := coach.get(path).form(path); f.Get("weekday-1") != "1" || f.Get("starts_at-2") != "18:30" || f.Get("weekday-4") != "" {
		t.Errorf("the form has %v", f)
	}
	none := form("do", "save")
	coach.follow(coach.post(path, none)).says("No weekly time is set.", "No meeting is to come in this term.")
}

func TestTermsAndHolidays(t *testing.T) {
	h := newHall(t, "Ana")
	owner := h.as(h.owner)
	owner.get("/gym").says("Terms and holidays")
	owner.get("/terms").is(200).says("Make your first term.", "12 weeks is usual.")
	f := owner.get("/terms/new").is(200).form("/terms")
	if f.Get("starts_on") != "2026-11-09" || f.Get("ends_on") != "2027-01-31" {
		t.Errorf("offers %s to %s, want 12 weeks from Monday", f.Get("starts_on"), f.Get("ends_on"))
	}
	f.Set("do", "look")
	owner.post("/terms", f).is(422).says("Give the term a name")
	f.Set("name", "Winter")
	f.Set("ends_on", "2026-11-01")
	owner.post("/terms", f).is(422).says("The last day must not be before the first.")
	f.Set("ends_on", "2028-11-01")
	owner.post("/terms", f).is(422).says("A term lasts at most 400 days.")
	f.Set("ends_on", "2027-01-31")
	seen := owner.post("/terms", f).is(200).says("Thursday Open", "12 classes more, from Thu 12 Nov to Thu 28 Jan.", "Test days among them: Thu 12 Nov, Thu 3 Dec", "Keep the term")
	keep := seen.form("/terms")
	keep.Set("do", "save")
	owner.follow(owner.post("/terms", keep)).says("Winter is kept.", "Mon 9 Nov to Sun 31 Jan 2027, 12 weeks")
	owner.post("/terms", keep).is(303)
	other := owner.get("/terms/new").form("/terms")
	other.Set("name", "Again")
	other.Set("starts_on", "2027-01-25")
	other.Set("do", "save")
	owner.post("/terms", other).is(422).says("Winter has some of these days. Terms may not overlap.")

	rest := owner.get("/holidays/new").is(200).form("/holidays")
	rest.Set("name", "Midwinter")
	rest.Set("starts_on", "2026-12-21")
	rest.Set("ends_on", "2027-01-03")
	rest.Set("do", "look")
	owner.post("/holidays", rest).is(200).says("No class on Thu 24 Dec, 18:30", "No class on Thu 31 Dec, 18:30", "Meetings to come: 12 now, 10 after this.")
	rest.Set("do", "save")
	owner.follow(owner.post("/holidays", rest)).says("Midwinter is kept.", "Mon 21 Dec to Sun 3 Jan 2027, 2 weeks")
	var holidays []gym.Holiday
	h.read(h.id, store.Holidays(&holidays))
	at := "/holidays/" + holidays[0].HolidayID.String()
	change := owner.get(at).is(200).says("Remove it").form("/holidays")
	change.Set("ends_on", "2026-12-27")
	change.Set("do", "save")
	owner.follow(owner.post("/holidays", change)).says("Mon 21 Dec to Sun 27 Dec 2026, 1 week")
	change.Set("do", "look-remove")
	gone := owner.post("/holidays", change).is(200).says("A class on Thu 24 Dec, 18:30, a test day.", "Remove the holiday").form("/holidays")
	gone.Set("do", "remove")
	owner.follow(owner.post("/holidays", gone)).says("Midwinter is removed.", "None. No class meets on a holiday")
	owner.post("/holidays", gone).is(404)
}

// A term that coaches wrote reports on is not removed.
func TestATermWithCommentsStays(t *testing.T) {
	h := newHall(t, "Ana")
	term := h.term()
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		return tx.SaveComment(ctx, gym.Comment{TermID: term.TermID, AthleteID: h.athletes[0].AthleteID, Draft: "Counts well for others.", Revision: 1,
			ChangedAt: h.now, ChangedBy: h.coach.PersonID})
	})
	owner := h.as(h.owner)
	gone := owner.get("/terms/" + term.TermID.String()).form("/terms")
	gone.Set("do", "remove")
	owner.post("/terms", gone).is(409).says("Coaches wrote comments for reports of this term.")
	var terms []gym.Term
	h.read(h.id, store.Terms(&terms))
	if !slices.ContainsFunc(terms, func(kept gym.Term) bool { return kept.TermID == term.TermID }) {
		t.Error("the term is gone")
	}
	if strings.Contains(owner.get("/log").is(200).words(), "removed a term") {
		t.Error("the log says that it was removed")
	}
}
