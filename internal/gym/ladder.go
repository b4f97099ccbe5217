package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Ladder is a list of skills that a gym owns, with its newest version.
type Ladder struct {
	LadderID  uuid.UUID
	Key       string // of its file
	Name      string
	Lang      string // BCP 47, of its texts
	InUse     bool
	Version   int
	CreatedAt time.Time
}

// A LadderVersion is one published state of a ladder.
type LadderVersion struct {
	LadderID    uuid.UUID
	Version     int
	Note        string // what changed, in the coach's words
	PublishedAt time.Time
	PublishedBy uuid.UUID // uuid.Nil: shipped with the program
}

// A LadderDraft is a ladder while somebody changes it.
type LadderDraft struct {
	LadderID  uuid.UUID
	BasedOn   int    // the version that was copied
	Revision  int    // counts changes, from 1
	Body      []byte // JSON, a ladder file
	ChangedAt time.Time
	ChangedBy uuid.UUID
}

// A Judgement is what a coach saw: a point of how somebody jumps, or a task of
// a gate. Taking one back is a new Judgement that points at it.
type Judgement struct {
	JudgementID uuid.UUID
	AthleteID   uuid.UUID
	Stage       string // key
	Task        string // a point, or the key of a clause's task
	Good        bool   // false: not yet
	Day         time.Time
	TakesBack   uuid.UUID
	JudgedAt    time.Time
	JudgedBy    uuid.UUID
}

// A CatchNote is an entry of the catch diary. What nobody noticed is "".
type CatchNote struct {
	CatchNoteID uuid.UUID
	AthleteID   uuid.UUID
	Stage       string // key, "" where the athlete has none
	Day         time.Time
	Spot        string
	Timing      string
	Hands       string
	Height      string
	TakesBack   uuid.UUID
	NotedAt     time.Time
	NotedBy     uuid.UUID
}

// An Assignment is a drill or a test that a coach set for an athlete. Those of
// one setting share a batch.
type Assignment struct {
	AssignmentID uuid.UUID
	BatchID      uuid.UUID
	AthleteID    uuid.UUID
	Kind         string // drill or test
	Stage        string // whose drill, or whose gate asks for the test
	Clause       string // key of the clause that the test is for
	Protocol     string // of the test
	Seconds      int    // of the test, 0 for any
	Step         string // of the test, "" for any
	Task         string // of the test
	Note         string
	Day          time.Time
	TakesBack    uuid.UUID
	SetAt        time.Time
	SetBy        uuid.UUID
}
