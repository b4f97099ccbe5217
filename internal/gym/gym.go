// Package gym holds the nouns of the job: gyms, people, classes, athletes,
// sessions, results and plans as they are kept, with the rules that make each
// valid. It is pure and imports only the standard library and the UUID type.
package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Gym is one tenant: everything else belongs to exactly one.
type Gym struct {
	GymID      uuid.UUID
	Name       string
	TimeZone   string // IANA name
	Invented   bool   // a demo gym
	AdultAge   int    // years; younger ones jump with an adult present
	ConsentAge int    // years; for younger ones a guardian agrees before a phone is let in; 0: not asked
	CreatedAt  time.Time
}

// Zone returns the gym's time zone, or UTC if the name is unknown here.
func (g Gym) Zone() *time.Location {
	zone, err := time.LoadLocation(g.TimeZone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// DayOf returns the calendar day of at in the gym's zone, as midnight UTC.
func (g Gym) DayOf(at time.Time) time.Time { return DayIn(at, g.Zone()) }

// DayIn returns the calendar day of at in zone, as midnight UTC.
func DayIn(at time.Time, zone *time.Location) time.Time {
	year, month, day := at.In(zone).Date()
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}

// Role says what a person may do in a gym; package account has the table.
type Role string

// The roles.
const (
	Owner     Role = "owner"
	Coach     Role = "coach"
	Assistant Role = "assistant" // enters results, sets no stages
	Guardian  Role = "guardian"
	Jumper    Role = "athlete"
)

// Staff reports whether the role works for the gym.
func (r Role) Staff() bool { return r == Owner || r == Coach || r == Assistant }

// A Person has an account: staff and guardians. Athletes have none.
type Person struct {
	PersonID     uuid.UUID
	SignInName   string
	Name         string
	Lang         string
	PasswordHash string
	CreatedAt    time.Time
}

// A Membership joins a person to a gym.
type Membership struct {
	GymID    uuid.UUID
	PersonID uuid.UUID
	Role     Role
	Since    time.Time
}

// Who is the identity behind a request. The zero Who is nobody.
type Who struct {
	GymID     uuid.UUID
	PersonID  uuid.UUID // staff and guardians
	AthleteID uuid.UUID // athletes; for a guardian the one whom the page is about
	DeviceID  uuid.UUID // the phone that was let in, uuid.Nil for staff
	Role      Role
	Name      string
}

// ID returns the person's or athlete's id.
func (w Who) ID() uuid.UUID {
	if w.Role == Jumper {
		return w.AthleteID
	}
	return w.PersonID
}
