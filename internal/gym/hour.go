package gym

import (
	"time"

	"github.com/google/uuid"
)

// Floor is the space that a class jumps in, noted once.
type Floor struct {
	ClassID  uuid.UUID
	LengthM  float64 // 2–200
	WidthM   float64 // 2–200
	SpacingM float64 // from jumper to jumper, 2–10
	Surface  string  // key of Surfaces
	Note     string
	NotedAt  time.Time
	NotedBy  uuid.UUID
}

// An Outfit is what a rope is chosen by, and the shoes, looked at once.
type Outfit struct {
	AthleteID uuid.UUID
	HeightCM  *int   // 80–230
	Shoes     string // key of ShoeWords; "" is not looked at
	NotedAt   time.Time
	NotedBy   uuid.UUID
}

// Shoes lists what is noted of shoes by key; "" is not looked at.
func Shoes() []string { return []string{"", "fit", "thin", "none"} }

// A ClassTest is a test that a class does together. The results of its athletes
// that match it from OpenedAt on belong to it, whoever counted and sent them.
type ClassTest struct {
	ClassTestID uuid.UUID
	ClassID     uuid.UUID
	SessionID   uuid.UUID // uuid.Nil outside a session
	Day         time.Time // on the gym's calendar
	Protocol    string
	Seconds     float64
	Step        string
	RopeKind    string
	Surface     string
	CountedBy   string
	OneFoot     bool       // one foot's steps are counted
	OpenedAt    time.Time  // from when on results belong to it
	Until       *time.Time // when the next one like it was opened, nil if none was
	OpenedBy    uuid.UUID
}

// Like reports whether u is the same kind of test: their results are told apart
// by time alone.
func (t ClassTest) Like(u ClassTest) bool {
	return t.ClassID == u.ClassID && t.Day.Equal(u.Day) && t.Protocol == u.Protocol && t.Seconds == u.Seconds && t.Step == u.Step
}

// Holds reports whether r is a result of the test.
func (t ClassTest) Holds(r Result) bool {
	return r.Protocol == t.Protocol && r.Seconds != nil && *r.Seconds == t.Seconds && r.Step == t.Step &&
		r.Day.Equal(t.Day) && !r.TakenAt.Before(t.OpenedAt) && (t.Until == nil || r.TakenAt.Before(*t.Until))
}

// RunKind is what was pressed on a session's clock.
type RunKind string

// What can be pressed. Join is a course that changed while the clock ran.
const (
	RunStart  RunKind = "start"
	RunPause  RunKind = "pause"
	RunGoOn   RunKind = "go_on"
	RunMoveOn RunKind = "move_on"
	RunJoin   RunKind = "join"
	RunEnd    RunKind = "end"
)

// A RunEvent is one press on the clock of a session. The newest tells where the
// clock stands: at Elapsed when it was pressed, and running since unless it
// paused or ended.
type RunEvent struct {
	SessionID uuid.UUID
	Number    int // from 1, without gaps
	Kind      RunKind
	At        time.Time
	Elapsed   float64 // seconds of the course at At
	Course    []byte  // JSON of floor.Course, where it changed
	By        uuid.UUID
}

// Running reports whether the clock runs after the event.
func (e RunEvent) Running() bool { return e.Kind != "" && e.Kind != RunPause && e.Kind != RunEnd }

// A Hand is an athlete's call for the coach, or that it was seen to.
type Hand struct {
	HandID    uuid.UUID
	SessionID uuid.UUID
	AthleteID uuid.UUID
	Up        bool
	At        time.Time
	By        uuid.UUID
}

// An Incident is something that happened: seen by few, kept for ever. A
// correction is a new Incident that points at the old one.
type Incident struct {
	IncidentID   uuid.UUID
	ClassID      uuid.UUID // uuid.Nil outside a class
	SessionID    uuid.UUID
	AthleteID    uuid.UUID // who was hurt or concerned, if one person was
	HappenedAt   time.Time
	Place        string
	What         string
	SeenBy       string
	Done         string
	GuardianTold string // who was told, when and how
	Corrects     uuid.UUID
	RecordedAt   time.Time
	RecordedBy   uuid.UUID
}
