package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Plan as kept: the planner's input and output as JSON, so that it can be
// explained and computed again.
type Plan struct {
	PlanID    uuid.UUID
	AthleteID uuid.UUID
	ClassID   uuid.UUID
	SessionID uuid.UUID
	Day       time.Time
	Input     []byte   // JSON of planner.Input
	Output    []byte   // JSON of planner.Plan
	Hour      []byte   // JSON of planner.Hour; nil: the sets alone were planned
	Parts     []byte   // JSON of the hour's parts and reasons; nil likewise
	Notes     []string // on the evidence, as package coaching names them
	MadeAt    time.Time
	MadeBy    uuid.UUID
	SentAt    *time.Time
}

// A SetLog is one set as it was done.
type SetLog struct {
	SetLogID      uuid.UUID
	AthleteID     uuid.UUID
	PlanID        uuid.UUID
	SetNumber     int
	Bursts        int
	CleanBursts   int
	CatchesSteady int
	CatchesBurst  int
	Shortened     bool
	DoneAt        time.Time
	RecordedAt    time.Time
	RecordedBy    uuid.UUID
}

// A Debrief says how a session went for one athlete.
type Debrief struct {
	DebriefID   uuid.UUID
	AthleteID   uuid.UUID
	PlanID      uuid.UUID
	SessionID   uuid.UUID
	Day         time.Time
	SetsDone    *int
	Bursts      *int
	CleanBursts *int
	Catches     *int
	Contacts    *int
	Minutes     *float64
	Effort      *int // 0–10
	Pain        int  // 0–10
	PainPlace   string
	PainSigns   []string
	Note        string
	Corrects    uuid.UUID
	RecordedAt  time.Time
	RecordedBy  uuid.UUID
}

// A Hold stops impact work for an athlete until a coach releases it.
type Hold struct {
	HoldID    uuid.UUID
	AthleteID uuid.UUID
	Opened    bool // false: a release
	Code      string
	Reason    string
	DebriefID uuid.UUID
	At        time.Time
	Day       time.Time
	By        uuid.UUID
}

// A StageDecision is the coach's word on where an athlete stands.
type StageDecision struct {
	DecisionID uuid.UUID
	AthleteID  uuid.UUID
	Verdict    string // start, up, stay, down, back
	StageFrom  string
	StageTo    string
	LadderID   uuid.UUID
	Version    int
	Reason     string
	Evidence   []byte // JSON, clause by clause
	TakesBack  uuid.UUID
	DecidedOn  time.Time
	DecidedAt  time.Time
	DecidedBy  uuid.UUID
}

// A Stage is one rung as kept; Body is what package ladder reads.
type Stage struct {
	LadderID uuid.UUID
	Version  int
	Number   int
	Key      string
	Title    string
	Body     []byte
}
