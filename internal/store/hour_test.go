package store_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

var (
	laterSession = id(60)
	oneTest      = id(61)
	nextTest     = id(62)
	hand         = id(63)
	incident     = id(64)
	mended       = id(65)
	change       = id(66)
	link         = id(67)
)

func TestSessionOpensAndCloses(t *testing.T) {
	b := open(t)
	b.fill()
	meeting := gym.Session{SessionID: laterSession, ClassID: class, Day: today.AddDate(0, 0, 7), StartsAt: now.AddDate(0, 0, 7), Minutes: 60}
	opened, closed := now.Add(time.Minute), now.Add(time.Hour)
	b.write(gymA, func(tx *store.Tx) error {
		if _, err := tx.EnsureSession(t.Context(), meeting); err != nil {
			return err
		}
		if err := tx.OpenSession(t.Context(), laterSession, opened); err != nil {
			return err
		}
		return tx.OpenSession(t.Context(), laterSession, closed) // again: the first counts
	})
	meeting.OpenedAt = &opened
	check(b, "an open session", []gym.Session{meeting}, func(into *[]gym.Session) store.Reading { return store.OpenSessions(now, into) })
	check(b, "a session opened since later", []gym.Session{}, func(into *[]gym.Session) store.Reading { return store.OpenSessions(closed, into) })
	check(b, "a session by its start", []gym.Session{meeting}, func(into *[]gym.Session) store.Reading {
		return store.SessionStarting(class, meeting.StartsAt, into)
	})
	b.write(gymA, func(tx *store.Tx) error { return tx.CloseSession(t.Context(), laterSession, "all in", closed) })
	meeting.ClosedAt, meeting.Note = &closed, "all in"
	check(b, "no open session", []gym.Session{}, func(into *[]gym.Session) store.Reading { return store.OpenSessions(now, into) })
	check(b, "the last session", []gym.Session{meeting}, func(into *[]gym.Session) store.Reading {
		return store.LastSessionOf(class, now.AddDate(0, 0, 8), into)
	})
	check(b, "who was there", []store.Attendance{{SessionID: session, AthleteID: ana, Here: true}, {SessionID: session, AthleteID: ben}},
		func(into *[]store.Attendance) store.Reading { return store.AttendanceAt(session, into) })
}

func TestFloorAndOutfit(t *testing.T) {
	b := open(t)
	b.fill()
	space := gym.Floor{ClassID: class, LengthM: 18, WidthM: 9, SpacingM: 3, Surface: "wood", Note: "mind the bench", NotedAt: now, NotedBy: person}
	worn := gym.Outfit{AthleteID: ana, HeightCM: ptr(148), Shoes: "fit", NotedAt: now, NotedBy: person}
	b.write(gymA, func(tx *store.Tx) error {
		smaller := space
		smaller.LengthM = 9
		for _, f := range []gym.Floor{smaller, space} {
			if err := tx.SetFloor(t.Context(), f); err != nil {
				return err
			}
		}
		return tx.SetOutfits(t.Context(), []gym.Outfit{{AthleteID: ana, NotedAt: now, NotedBy: person}, worn})
	})
	check(b, "the floor", []gym.Floor{space}, func(into *[]gym.Floor) store.Reading { return store.FloorOf(class, into) })
	check(b, "outfits", []gym.Outfit{worn}, func(into *[]gym.Outfit) store.Reading { return store.OutfitsOfClass(class, into) })
}

func TestClassTestsEndWhereTheNextBegins(t *testing.T) {
	b := open(t)
	b.fill()
	one := gym.ClassTest{ClassTestID: oneTest, ClassID: class, SessionID: session, Day: today, Protocol: "base", Seconds: 60, Step: "bounce",
		RopeKind: "beaded", Surface: "wood", CountedBy: "partner", OneFoot: true, OpenedAt: now, OpenedBy: person}
	next := one
	next.ClassTestID, next.OpenedAt = nextTest, now.Add(10*time.Minute)
	b.write(gymA, func(tx *store.Tx) error {
		for _, test := range []gym.ClassTest{one, next, one} {
			if err := tx.AddClassTest(t.Context(), test); err != nil {
				return err
			}
		}
		return nil
	})
	one.Until = &next.OpenedAt
	check(b, "class tests", []gym.ClassTest{one, next}, func(into *[]gym.ClassTest) store.Reading { return store.ClassTests(class, today, into) })
	r := resultOf(ana, first, 90)
	if !one.Holds(r) || next.Holds(r) {
		t.Error("a result of the first test is not held by it alone")
	}
	r.TakenAt = next.OpenedAt
	if one.Holds(r) || !next.Holds(r) {
		t.Error("a result of the next test is not held by it alone")
	}
}

func TestTwoPressesAtOnce(t *testing.T) {
	b := open(t)
	b.fill()
	start := gym.RunEvent{SessionID: session, Number: 1, Kind: gym.RunStart, At: now, Course: []byte(`{"rounds": 1}`), By: person}
	pause := gym.RunEvent{SessionID: session, Number: 2, Kind: gym.RunPause, At: now.Add(time.Minute), Elapsed: 60, By: person}
	press := func(e gym.RunEvent) error {
		return b.Write(t.Context(), gymA, func(tx *store.Tx) error { return tx.AddRunEvent(t.Context(), e) })
	}
	for _, e := range []gym.RunEvent{start, pause} {
		if err := press(e); err != nil {
			t.Fatal(err)
		}
	}
	if err := press(pause); problem.KindOf(err) != problem.Conflict {
		t.Errorf("the second press with the same number: %v, want a conflict", err)
	}
	check(b, "run events", []gym.RunEvent{start, pause}, func(into *[]gym.RunEvent) store.Reading { return store.RunEvents(session, into) })
}

func TestHandsNewestCounts(t *testing.T) {
	b := open(t)
	b.fill()
	down := gym.Hand{HandID: hand, SessionID: session, AthleteID: ana, At: now.Add(time.Second), By: person}
	b.write(gymA, func(tx *store.Tx) error {
		if err := tx.AddHand(t.Context(), gym.Hand{HandID: id(68), SessionID: session, AthleteID: ana, Up: true, At: now, By: ana}); err != nil {
			return err
		}
		return tx.AddHand(t.Context(), down)
	})
	check(b, "hands", []gym.Hand{down}, func(into *[]gym.Hand) store.Reading { return store.Hands(session, into) })
}

func TestIncidentIsCorrectedOnce(t *testing.T) {
	b := open(t)
	b.fill()
	fell := gym.Incident{IncidentID: incident, ClassID: class, SessionID: session, AthleteID: ana, HappenedAt: now, Place: "hall", What: "fell",
		SeenBy: "Mara", Done: "ice", GuardianTold: "mother, by phone", RecordedAt: now, RecordedBy: person}
	right := fell
	right.IncidentID, right.Corrects, right.Done = mended, incident, "ice, sat out"
	add := func(i gym.Incident) error {
		return b.Write(t.Context(), gymA, func(tx *store.Tx) error { _, err := tx.AddIncident(t.Context(), i); return err })
	}
	for _, i := range []gym.Incident{fell, right, fell} {
		if err := add(i); err != nil {
			t.Fatal(err)
		}
	}
	incidents := func(into *[]gym.Incident) store.Reading { return store.Incidents(store.Page{Most: 10}, into) }
	check(b, "incidents", []gym.Incident{right}, incidents)
	check(b, "incidents of a class", []gym.Incident{right}, func(into *[]gym.Incident) store.Reading {
		return store.IncidentsOfClass(class, right.HappenedAt.Add(-time.Minute), into)
	})
	check(b, "the first entry", fell, func(into *gym.Incident) store.Reading { return store.Incident(incident, into) })
	again := right
	again.IncidentID = id(69)
	if err := add(again); problem.KindOf(err) != problem.Conflict {
		t.Errorf("a second correction of the same entry: %v, want a conflict", err)
	}
}

func TestTermAndMeetingsChange(t *testing.T) {
	b := open(t)
	b.fill()
	to, clock, minutes := today.AddDate(0, 0, 1), 18*time.Hour, 45
	moved := gym.MeetingChange{ChangeID: change, ClassID: class, Kind: gym.Moved, Day: today, StartsAt: 17 * time.Hour, ToDay: &to,
		ToStartsAt: &clock, ToMinutes: &minutes, Reason: "fair in the hall", MadeAt: now, MadeBy: person}
	longer := gym.Term{TermID: term, Name: "Autumn and winter", StartsOn: today, EndsOn: today.AddDate(0, 4, 0)}
	b.write(gymA, func(tx *store.Tx) error {
		if err := tx.AddMeetingChange(t.Context(), moved); err != nil {
			return err
		}
		if err := tx.SetTerm(t.Context(), longer); err != nil {
			return err
		}
		return tx.DropHoliday(t.Context(), holiday)
	})
	check(b, "changes", []gym.MeetingChange{moved}, func(into *[]gym.MeetingChange) store.Reading { return store.MeetingChanges(moved.Day, into) })
	check(b, "changes of later days", []gym.MeetingChange{}, func(into *[]gym.MeetingChange) store.Reading {
		return store.MeetingChanges(moved.Day.AddDate(0, 0, 1), into)
	})
	check(b, "the longer term", []gym.Term{longer}, store.Terms)
	check(b, "no holiday", []gym.Holiday{}, store.Holidays)
	gone := func(tx *store.Tx) error { return tx.DropHoliday(t.Context(), holiday) }
	if err := b.Write(t.Context(), gymA, gone); problem.KindOf(err) != problem.NotFound {
		t.Errorf("removing it again: %v, want not found", err)
	}
	b.write(gymA, func(tx *store.Tx) error { return tx.DropTerm(t.Context(), term) })
	check(b, "no term", []gym.Term{}, store.Terms)
}

func TestLinkLeadsUntilItEnds(t *testing.T) {
	b := open(t)
	b.fill()
	expires := now.Add(6 * time.Hour)
	screen := gym.Link{LinkID: link, Kind: gym.ScreenLink, ClassID: class, SessionID: session, Names: true, MadeAt: now, MadeBy: person, ExpiresAt: &expires}
	b.write(gymA, func(tx *store.Tx) error { return tx.AddLink(t.Context(), screen, []byte("hash")) })
	check(b, "links", []gym.Link{screen}, func(into *[]gym.Link) store.Reading { return store.Links(gym.ScreenLink, into) })
	gymID, found, ok, err := b.LinkBySecret(t.Context(), []byte("hash"))
	if err != nil || !ok || gymID != gymA || found != link {
		t.Fatalf("by its secret: %s %s %t %v", gymID, found, ok, err)
	}
	b.write(gymA, func(tx *store.Tx) error { return tx.EndLink(t.Context(), link, now) })
	if _, _, ok, _ := b.LinkBySecret(t.Context(), []byte("hash")); ok {
		t.Error("an ended link still leads in")
	}
	check(b, "no link", []gym.Link{}, func(into *[]gym.Link) store.Reading { return store.Links(gym.ScreenLink, into) })
	var ended gym.Link
	b.read(gymA, store.Link(link, &ended))
	if ended.Open(now) || screen.Open(expires) || !screen.Open(now) {
		t.Error("a link is open after its end, or not before it")
	}
}

func TestListenersHearWhatWasCommitted(t *testing.T) {
	b := open(t)
	b.fill() // of which something may be heard yet, but nothing of Ben
	ctx, stop := context.WithCancel(t.Context())
	heard := make(chan store.Changed, 100)
	var listening sync.WaitGroup
	listening.Go(func() {
		b.Listen(ctx, func(c store.Changed) { heard <- c }, func(err error) { t.Errorf("listening: %v", err) })
	})
	t.Cleanup(func() { stop(); listening.Wait() })
	next := func() store.Changed {
		select {
		case c := <-heard:
			return c
		case <-time.After(30 * time.Second):
			t.Fatal("nothing was heard")
			return store.Changed{}
		}
	}
	if c := next(); c != (store.Changed{}) {
		t.Fatalf("first heard %+v, want that anything may have changed", c)
	}
	failed := b.Write(t.Context(), gymA, func(tx *store.Tx) error {
		if _, err := tx.AddResult(t.Context(), resultOf(ben, id(70), 50)); err != nil {
			return err
		}
		return fmt.Errorf("taken back")
	})
	if failed == nil {
		t.Fatal("the write went through")
	}
	b.write(gymA, func(tx *store.Tx) error {
		_, err := tx.AddResult(t.Context(), resultOf(ana, id(71), 50))
		return err
	})
	for c, want := next(), (store.Changed{Gym: gymA, Subject: ana}); c != want; c = next() {
		if c.Subject == ben {
			t.Errorf("heard %+v, of what was taken back", c)
		}
	}
}

func TestCountsOfOneAthleteWaitForEachOther(t *testing.T) {
	b := open(t)
	b.fill()
	entered, leave := make(chan struct{}), make(chan struct{})
	var both sync.WaitGroup
	var order []string
	lock := func(name string, inside func()) {
		b.write(gymA, func(tx *store.Tx) error {
			if err := tx.LockCount(t.Context(), oneTest, ana); err != nil {
				return err
			}
			inside()
			order = append(order, name)
			return nil
		})
	}
	both.Go(func() { lock("first", func() { close(entered); <-leave }) })
	<-entered
	both.Go(func() { lock("second", func() {}) })
	b.write(gymA, func(tx *store.Tx) error { return tx.LockCount(t.Context(), oneTest, ben) }) // another athlete does not wait
	close(leave)
	both.Wait()
	if fmt.Sprint(order) != "[first second]" {
		t.Errorf("order %v", order)
	}
}
