package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Session is one meeting of a class.
type Session struct {
	SessionID uuid.UUID
	ClassID   uuid.UUID
	Day       time.Time // on the gym's calendar
	StartsAt  time.Time
	Minutes   int
	Note      string
	OpenedAt  *time.Time
	ClosedAt  *time.Time
}

// A Result is one measured attempt. It is never changed; a correction is a new
// Result that points at the old one.
type Result struct {
	ResultID              uuid.UUID
	AthleteID             uuid.UUID
	SessionID             uuid.UUID // uuid.Nil outside a session
	Protocol              string    // key of package rate's protocols
	Day                   time.Time // on the gym's calendar
	TakenAt               time.Time
	Rotations             *int    // of the rope; reps of a run, doubles in a row, cycles or rounds
	OneFoot               bool    // one foot was counted: Rotations is twice that
	Counts                []int32 // of several counters of one test, as counted
	Seconds               *float64
	Catches               int
	LostSeconds           *float64 // to catches, when timed
	LongestRestartSeconds *float64
	StoppedClean          bool   // a run that the coach ended
	Task                  string // what was tried, for tries, cycles and rounds
	Successes             *int   // of Attempts
	Attempts              *int
	Bouts                 []int32 // rotations per bout of a repeat-burst test
	RestSeconds           *float64
	FlightSeconds         *float64
	Taps                  []float64 // seconds from the start
	RotationsPerTap       *int
	RPMFromTaps           *float64
	StandardErrorRPM      *float64 // of RPMFromTaps
	Step                  string
	RopeKind              string
	RopeID                uuid.UUID
	Surface               string
	CountedBy             string // self, partner, coach
	SeenByCoach           bool
	Unattended            bool   // no adult was present
	Timing                string // app or hand
	Note                  string
	KeptOdd               bool
	Corrects              uuid.UUID
	Void                  bool
	RecordedAt            time.Time
	RecordedBy            uuid.UUID
	DeviceAt              *time.Time
}

// Steps lists the jump steps by key.
func Steps() []string { return []string{"bounce", "alternate", "double"} }

// Surfaces lists the floors by key; "" is not noted.
func Surfaces() []string { return []string{"", "wood", "rubber", "concrete", "grass", "mat"} }
