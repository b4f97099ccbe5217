package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Device is a phone that was let in, for an athlete or for a guardian of one.
type Device struct {
	DeviceID   uuid.UUID
	AthleteID  uuid.UUID
	GuardianID uuid.UUID // uuid.Nil for the athlete's own
	Label      string    // the kind of phone: "iPhone"
	Shared     bool      // passed around, so that its sign-ins are short
	LetInAt    time.Time
	LastSeenAt time.Time
	CutOffAt   *time.Time
}

// A Card lets one phone in, once. Its secret is shown when it is made and kept
// only as a hash.
type Card struct {
	CardID     uuid.UUID
	AthleteID  uuid.UUID
	GuardianID uuid.UUID // uuid.Nil for the athlete's own
	MadeAt     time.Time
	MadeBy     uuid.UUID
	ExpiresAt  time.Time
	UsedAt     *time.Time
	VoidedAt   *time.Time
}

// Open reports whether the card still lets a phone in.
func (c Card) Open(at time.Time) bool {
	return c.UsedAt == nil && c.VoidedAt == nil && at.Before(c.ExpiresAt)
}

// A Guardianship lets a parent or guardian see one athlete's page and agree for that
// athlete.
type Guardianship struct {
	GuardianID uuid.UUID
	AthleteID  uuid.UUID
	Name       string
	AddedAt    time.Time
}

// A Consent says that a guardian agreed, or took that back. The newest counts.
type Consent struct {
	ConsentID  uuid.UUID
	AthleteID  uuid.UUID
	Purpose    Purpose
	Given      bool
	ByName     string
	GuardianID uuid.UUID // who said so on an own phone, else uuid.Nil
	How        string    // paper, spoken or phone
	Wording    string    // what was agreed to
	NotedAt    time.Time
	NotedBy    uuid.UUID
}

// A PhoneEntry is the receipt of something that a phone sent and that was kept.
type PhoneEntry struct {
	EntryID    uuid.UUID
	Kind       string
	SentBy     uuid.UUID
	DeviceID   uuid.UUID
	BodyHash   []byte
	DeviceAt   time.Time
	OffsetMS   int64
	ReceivedAt time.Time
}

// NeedsConsent reports whether the gym asks a guardian of the athlete first, in
// year.
func (g Gym) NeedsConsent(a Athlete, year int) bool {
	return g.ConsentAge > 0 && a.Under(g.ConsentAge, year)
}
