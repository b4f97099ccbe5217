package gym

import (
	"time"

	"github.com/google/uuid"
)

// ChangeKind says what became of a meeting.
type ChangeKind string

// The kinds of change.
const (
	Moved     ChangeKind = "moved"
	Cancelled ChangeKind = "cancelled"
	Restored  ChangeKind = "restored" // as the weekly times give it
	Extra     ChangeKind = "extra"    // a meeting beside the weekly ones
)

// A MeetingChange is what is other than the weekly times say. The newest for a
// meeting counts; Day and StartsAt name the meeting as the weekly times give
// it, or as an extra meeting's own.
type MeetingChange struct {
	ChangeID   uuid.UUID
	ClassID    uuid.UUID
	Kind       ChangeKind
	Day        time.Time     // on the gym's calendar
	StartsAt   time.Duration // since midnight
	ToDay      *time.Time    // moved and extra
	ToStartsAt *time.Duration
	ToMinutes  *int
	Reason     string
	MadeAt     time.Time
	MadeBy     uuid.UUID
}

// LinkKind says what a link without an account shows.
type LinkKind string

// The kinds of link.
const (
	CalendarLink LinkKind = "calendar" // of a class or an athlete
	ScreenLink   LinkKind = "screen"   // the hall's screen of one session
)

// A Link leads in without an account, by a secret in its address, until it is
// ended or expires. What it shows is no private data.
type Link struct {
	LinkID    uuid.UUID
	Kind      LinkKind
	ClassID   uuid.UUID // uuid.Nil where the link is of none
	AthleteID uuid.UUID
	SessionID uuid.UUID
	Names     bool // a screen with first names; else letters of groups alone
	MadeAt    time.Time
	MadeBy    uuid.UUID
	ExpiresAt *time.Time
	EndedAt   *time.Time
}

// Open reports whether the link leads in at a moment.
func (l Link) Open(at time.Time) bool {
	return l.EndedAt == nil && (l.ExpiresAt == nil || at.Before(*l.ExpiresAt))
}
