package gym

import (
	"time"

	"github.com/google/uuid"
)

// A RopeCheck says that somebody looked at a rope's coating, ends and handles.
type RopeCheck struct {
	RopeCheckID uuid.UUID
	RopeID      uuid.UUID
	Sound       bool // false: not to be used
	Note        string
	Day         time.Time
	CheckedAt   time.Time
	CheckedBy   uuid.UUID
}

// A RopeLoan says that an athlete got a rope, or brought it back.
type RopeLoan struct {
	RopeLoanID uuid.UUID
	RopeID     uuid.UUID
	AthleteID  uuid.UUID
	Lent       bool   // false: brought back
	Decision   []byte // JSON of what the rules said
	Day        time.Time
	LentAt     time.Time
	LentBy     uuid.UUID
}

// A SteelApproval is a coach's word that an athlete may use steel, or may no
// longer.
type SteelApproval struct {
	SteelApprovalID uuid.UUID
	AthleteID       uuid.UUID
	Approved        bool
	Reason          string
	Day             time.Time
	ApprovedAt      time.Time
	ApprovedBy      uuid.UUID
}

// A ClassRopeKind is a kind of rope that a class uses. A class without any
// uses all.
type ClassRopeKind struct {
	ClassID uuid.UUID
	Kind    string
}
