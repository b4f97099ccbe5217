package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Staff is a person with a role in the gym, as the owner sees it.
type Staff struct {
	PersonID   uuid.UUID
	SignInName string
	Name       string
	Lang       string
	Role       Role
	Since      time.Time
	Factor     bool       // has a second factor
	SeenAt     *time.Time // last use of a sign-in that still stands
}

// An Invitation asks somebody to work in the gym. Its code is shown when it is
// made and kept only as a hash.
type Invitation struct {
	InvitationID uuid.UUID
	Name         string
	Role         Role
	MadeAt       time.Time
	MadeBy       uuid.UUID
	ExpiresAt    time.Time
	UsedAt       *time.Time
	TakenBackAt  *time.Time
}

// Open reports whether somebody may still accept the invitation.
func (i Invitation) Open(at time.Time) bool {
	return i.UsedAt == nil && i.TakenBackAt == nil && at.Before(i.ExpiresAt)
}

// A SecondFactor is a secret that an app on the person's phone computes codes
// from (RFC 6238).
type SecondFactor struct {
	PersonID    uuid.UUID
	Secret      string // base32
	ConfirmedAt *time.Time
	LastStep    int64 // the newest half minute whose code was used
}

// A SignIn is one browser in which a person is signed in.
type SignIn struct {
	SignInID string
	Label    string // the kind of browser
	Role     Role
	BeganAt  time.Time
	SeenAt   time.Time
	This     bool // the one that asks
}

// A WayBack is a code that an owner hands to somebody who is locked out.
type WayBack struct {
	PersonID  uuid.UUID
	GymID     uuid.UUID
	MadeBy    uuid.UUID
	MadeAt    time.Time
	ExpiresAt time.Time
}
