package leading

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Start is what a coach chooses before the class's sets.
type Start struct {
	Session      uuid.UUID
	Seen         int     // the press that the coach saw last
	Groups       int     // at most; 0: as usual
	ToleranceRPM float64 // 0: as usual
	Minutes      float64 // for all sets; 0: no limit
}

// check returns a form problem for numbers out of bounds.
func (s Start) check() error {
	wrong := map[string]string{}
	if s.Groups < 0 || s.Groups > 12 {
		wrong["groups"] = "Pace groups must be from 1 to 12."
	}
	if !(s.ToleranceRPM >= 0 && s.ToleranceRPM <= 100) {
		wrong["tolerance"] = "The spread must be from 1 to 100 rpm."
	}
	if !(s.Minutes >= 0 && s.Minutes <= 240) {
		wrong["minutes"] = "Minutes must be from 1 to 240."
	}
	return problem.Form(wrong)
}

// Preview returns the course that a start would run, and who is here without a
// plan to jump.
func (lead *Leading) Preview(ctx context.Context, who gym.Who, s Start) (floor.Course, Scene, error) {
	scene, err := lead.Scene(ctx, who, s.Session)
	if err != nil {
		return floor.Course{}, scene, err
	}
	if err := s.check(); err != nil {
		return floor.Course{}, scene, err
	}
	course, err := scene.course(s)
	return course, scene, err
}

// Start begins the class's sets: pace groups take turns by one clock.
func (lead *Leading) Start(ctx context.Context, who gym.Who, s Start) error {
	course, scene, err := lead.Preview(ctx, who, s)
	if errors.Is(err, floor.ErrNobody) {
		return problem.New(problem.Conflict, "Nobody here has a plan with something to jump. Make plans first.")
	}
	if err != nil {
		return err
	}
	if !scene.Clock.Course.Test && !scene.Clock.Over(lead.Now()) {
		return problem.New(problem.Conflict, "The sets are under way. End them before you start again.")
	}
	return lead.press(ctx, who, s.Session, s.Seen, gym.RunStart, 0, &course)
}

// StartTest begins a countdown for one wave of a test, on every screen, whatever
// countdown there was before.
func (lead *Leading) StartTest(ctx context.Context, who gym.Who, session uuid.UUID, letter string, seconds float64) error {
	scene, err := lead.Scene(ctx, who, session)
	if err != nil {
		return err
	}
	if !scene.Clock.Course.Test && !scene.Clock.Over(lead.Now()) {
		return problem.New(problem.Conflict, "The sets are under way. End them before you start a test.")
	}
	if !(seconds >= 1 && seconds <= 600) {
		return problem.New(problem.Invalid, "A countdown lasts from 1 to 600 seconds.")
	}
	for _, wave := range scene.Waves() {
		if wave.Letter == letter {
			course := floor.Countdown(wave, seconds)
			return lead.press(ctx, who, session, scene.Clock.Number, gym.RunStart, 0, &course)
		}
	}
	return problem.New(problem.Invalid, "Choose a wave from the list.")
}

// Press pauses the clock, lets it go on, moves it on to the next turn or ends
// it. seen is the press that whoever presses saw last: a newer one that did the
// same is taken for one's own, any other is a conflict.
func (lead *Leading) Press(ctx context.Context, who gym.Who, session uuid.UUID, seen int, kind gym.RunKind) error {
	var there gym.Session
	var events []gym.RunEvent
	if err := lead.Store.Read(ctx, who.GymID, store.Session(session, &there), store.RunEvents(session, &events)); err != nil {
		return err
	}
	clock, err := ClockOf(events)
	if err != nil {
		return err
	}
	if !clock.Started {
		return problem.New(problem.Conflict, "The clock has not been started yet.")
	}
	if clock.Number != seen {
		if clock.Number == seen+1 && events[len(events)-1].Kind == kind {
			return nil
		}
		return problem.New(problem.Conflict, "Somebody else pressed the clock before you. Look where it stands, then press again if you need to.")
	}
	elapsed := clock.Elapsed(lead.Now())
	switch kind {
	case gym.RunPause, gym.RunEnd:
		if !clock.Running {
			return nil
		}
		if kind == gym.RunEnd {
			elapsed = max(elapsed, clock.Course.Seconds)
		}
	case gym.RunGoOn:
		if clock.Running {
			return nil
		}
	case gym.RunMoveOn:
		elapsed = clock.Course.Next(elapsed)
	default:
		return problem.New(problem.Invalid, "There is no such button on the clock.")
	}
	return lead.press(ctx, who, session, seen, kind, elapsed, nil)
}

// press keeps one press. Two at the same moment carry the same number; the
// second is a conflict.
func (lead *Leading) press(ctx context.Context, who gym.Who, session uuid.UUID, seen int, kind gym.RunKind, elapsed float64, course *floor.Course) error {
	e := gym.RunEvent{SessionID: session, Number: seen + 1, Kind: kind, At: lead.Now(), Elapsed: elapsed, By: who.ID()}
	if course != nil {
		var err error
		if e.Course, err = json.Marshal(course); err != nil {
			return fmt.Errorf("keeping a course: %w", err)
		}
	}
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error { return tx.AddRunEvent(ctx, e) })
}

// Late notes that an athlete came late, makes and sends a plan if there is none
// for the day, and puts the athlete into the course that runs. placed is false
// where no group suits or nothing is to be jumped; missing names the test that
// a plan waits for.
func (lead *Leading) Late(ctx context.Context, who gym.Who, session, athlete uuid.UUID) (placed bool, missing planner.Test, err error) {
	if err := lead.SetHere(ctx, who, session, athlete, true); err != nil {
		return false, "", err
	}
	scene, err := lead.Scene(ctx, who, session)
	if err != nil {
		return false, "", err
	}
	if _, planned := scene.Plans[athlete]; !planned {
		report, err := lead.Coaching.PlanClass(ctx, who, coaching.ClassPlan{Class: scene.Class.ClassID, Day: scene.Session.Day,
			Minutes: float64(scene.Session.Minutes), Only: []uuid.UUID{athlete}})
		if err != nil {
			return false, "", err
		}
		for _, planned := range report.Athletes {
			if planned.Test != "" {
				return false, planned.Test, nil
			}
		}
		if _, err := lead.Coaching.SendPlans(ctx, who, scene.Class.ClassID, scene.Session.Day); err != nil {
			return false, "", err
		}
		if scene, err = lead.Scene(ctx, who, session); err != nil {
			return false, "", err
		}
	}
	now := lead.Now()
	jumper, jumps := scene.jumper(athlete)
	if !jumps || scene.Clock.Over(now) || scene.Clock.Course.Test || scene.Clock.Course.Has(athlete.String()) {
		return false, "", nil
	}
	elapsed := scene.Clock.Elapsed(now)
	course, placed := scene.Clock.Course.Join(jumper, elapsed, floor.Setup{})
	if !placed {
		return false, "", nil
	}
	kind := gym.RunJoin
	if !scene.Clock.Running {
		kind = gym.RunPause // a course that waits goes on waiting
	}
	return true, "", lead.press(ctx, who, session, scene.Clock.Number, kind, elapsed, &course)
}

// Raise lets an athlete call the coach, or a coach say that it was seen to.
func (lead *Leading) Raise(ctx context.Context, who gym.Who, session, athlete uuid.UUID, up bool) error {
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Session
		if err := tx.Read(ctx, store.Session(session, &there)); err != nil {
			return err
		}
		return tx.AddHand(ctx, gym.Hand{HandID: newID(), SessionID: session, AthleteID: athlete, Up: up, At: lead.Now(), By: who.ID()})
	})
}

// OpenFor is how long after check-in a session counts as under way, unless it
// was logged.
const OpenFor = 6 * time.Hour

// UnderWay returns the sessions that were checked in and are not logged, newest
// first.
func (lead *Leading) UnderWay(ctx context.Context, who gym.Who) ([]gym.Session, error) {
	var open []gym.Session
	err := lead.Store.Read(ctx, who.GymID, store.OpenSessions(lead.Now().Add(-OpenFor), &open))
	return open, err
}
