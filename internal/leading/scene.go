package leading

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/store"
)

// A Scene is a class hour as it stands: who is here, what everybody is to jump,
// where the clock is and who needs the coach.
type Scene struct {
	Gym      gym.Gym
	Session  gym.Session
	Class    gym.Class
	Athletes []gym.Athlete // in the order they stand in
	Here     map[uuid.UUID]bool
	Kept     map[uuid.UUID]gym.Plan // newest plan of the day
	Plans    map[uuid.UUID]planner.Plan
	Holds    map[uuid.UUID]gym.Hold // open ones
	Hands    map[uuid.UUID]gym.Hand // that are up
	Floor    *gym.Floor             // nil where nobody noted it
	Clock    Clock
}

// Scene reads a class hour in two round trips, however many athletes there are.
func (lead *Leading) Scene(ctx context.Context, who gym.Who, session uuid.UUID) (Scene, error) {
	var s Scene
	if err := lead.Store.Read(ctx, who.GymID, store.Session(session, &s.Session)); err != nil {
		return s, err
	}
	class := s.Session.ClassID
	var noted []store.Attendance
	var plans []gym.Plan
	var holds []gym.Hold
	var hands []gym.Hand
	var events []gym.RunEvent
	var floors []gym.Floor
	err := lead.Store.Read(ctx, who.GymID, store.TheGym(&s.Gym), store.Class(class, &s.Class), store.AthletesOf(class, &s.Athletes), store.AttendanceAt(session, &noted),
		store.PlansOfClass(class, s.Session.Day, &plans), store.HoldsOfClass(class, &holds), store.Hands(session, &hands),
		store.RunEvents(session, &events), store.FloorOf(class, &floors))
	if err != nil {
		return s, err
	}
	s.Here = HereOf(s.Athletes, noted)
	s.Kept, s.Plans = map[uuid.UUID]gym.Plan{}, map[uuid.UUID]planner.Plan{}
	for _, kept := range plans {
		var plan planner.Plan
		if err := json.Unmarshal(kept.Output, &plan); err != nil {
			return s, fmt.Errorf("reading plan %s: %w", kept.PlanID, err)
		}
		s.Kept[kept.AthleteID], s.Plans[kept.AthleteID] = kept, plan
	}
	s.Holds, s.Hands = map[uuid.UUID]gym.Hold{}, map[uuid.UUID]gym.Hand{}
	for _, hold := range holds {
		if hold.Opened {
			s.Holds[hold.AthleteID] = hold
		}
	}
	for _, hand := range hands {
		if hand.Up {
			s.Hands[hand.AthleteID] = hand
		}
	}
	if len(floors) > 0 {
		s.Floor = &floors[0]
	}
	s.Clock, err = ClockOf(events)
	return s, err
}

// Present returns the athletes who are here, in the order they stand in.
func (s Scene) Present() []gym.Athlete {
	var here []gym.Athlete
	for _, athlete := range s.Athletes {
		if s.Here[athlete.AthleteID] {
			here = append(here, athlete)
		}
	}
	return here
}

// Fits returns how many can jump at once; 0 where nobody noted the floor.
func (s Scene) Fits() int {
	if s.Floor == nil {
		return 0
	}
	return floor.Space{LengthM: s.Floor.LengthM, WidthM: s.Floor.WidthM, SpacingM: s.Floor.SpacingM}.Fits()
}

// Waves parts whoever is here into jumpers and counters for a test. Whoever is
// on hold for pain does not jump.
func (s Scene) Waves() []floor.Wave {
	var ids []string
	for _, athlete := range s.Present() {
		if _, held := s.Holds[athlete.AthleteID]; !held {
			ids = append(ids, athlete.AthleteID.String())
		}
	}
	return floor.CountingWaves(ids, s.Fits())
}

// usualMinutes is how long sets last where no plan says it.
const usualMinutes = 20

// Minutes returns how long the sets of the plans made for the day may last, the
// longest of them.
func (s Scene) Minutes() float64 {
	longest := 0.0
	for _, kept := range s.Kept {
		var in planner.Input
		if json.Unmarshal(kept.Input, &in) == nil && in.Minutes != nil {
			longest = max(longest, *in.Minutes)
		}
	}
	if longest == 0 {
		return usualMinutes
	}
	return math.Ceil(longest)
}

// jumper returns what an athlete has to jump; false where there is no plan, a
// hold, or no set.
func (s Scene) jumper(athlete uuid.UUID) (floor.Jumper, bool) {
	plan, planned := s.Plans[athlete]
	if _, held := s.Holds[athlete]; held || !planned {
		return floor.Jumper{}, false
	}
	for _, a := range s.Athletes {
		if a.AthleteID == athlete {
			return floor.JumperOf(athlete.String(), a.Name, plan)
		}
	}
	return floor.Jumper{}, false
}

// course puts the plans of whoever is here together.
func (s Scene) course(start Start) (floor.Course, error) {
	setup := floor.Setup{MostGroups: start.Groups, ToleranceRPM: start.ToleranceRPM, Fits: s.Fits(), Minutes: start.Minutes}
	for _, athlete := range s.Present() {
		if jumper, jumps := s.jumper(athlete.AthleteID); jumps {
			setup.Jumpers = append(setup.Jumpers, jumper)
		}
	}
	return floor.NewCourse(setup)
}

// Need is why an athlete needs the coach.
type Need string

// The needs.
const (
	NeedPain Need = "pain" // impact work is on hold
	NeedHand Need = "hand" // called the coach
	NeedPlan Need = "plan" // here, without a plan
)

// A Place is one athlete who is here, on the board.
type Place struct {
	Athlete gym.Athlete
	Needs   Need // "" for nothing
	Since   time.Time
	Doing   floor.Doing
}

// Places returns the board at a moment: everybody who is here, in the order they
// stand in. Somebody on hold for pain rests, whatever the course says.
func (s Scene) Places(now time.Time) []Place {
	elapsed := s.Clock.Elapsed(now)
	var places []Place
	for _, athlete := range s.Present() {
		place := Place{Athlete: athlete, Doing: s.Clock.Course.Doing(athlete.AthleteID.String(), elapsed)}
		hold, held := s.Holds[athlete.AthleteID]
		hand, up := s.Hands[athlete.AthleteID]
		_, planned := s.Plans[athlete.AthleteID]
		switch {
		case held:
			place.Needs, place.Since = NeedPain, hold.At
			place.Doing.State = floor.Beside
		case up:
			place.Needs, place.Since = NeedHand, hand.At
		case !planned && s.Clock.Started && !s.Clock.Course.Test:
			place.Needs = NeedPlan
		}
		places = append(places, place)
	}
	return places
}
