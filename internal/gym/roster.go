package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Term is a season of classes; both days are part of it.
type Term struct {
	TermID   uuid.UUID
	Name     string
	StartsOn time.Time
	EndsOn   time.Time
}

// A Holiday is a span of days without classes.
type Holiday struct {
	HolidayID uuid.UUID
	Name      string
	StartsOn  time.Time
	EndsOn    time.Time
}

// A Class meets weekly at its times.
type Class struct {
	ClassID    uuid.UUID
	Name       string
	Code       string // what athletes type to come in
	Athletes   int    // enrolled today
	CreatedAt  time.Time
	ArchivedAt *time.Time
}

// A ClassTime is one weekly meeting on the gym's clock.
type ClassTime struct {
	ClassID  uuid.UUID
	Weekday  int           // ISO: 1 is Monday
	StartsAt time.Duration // since midnight
	Minutes  int
}

// A Named is what a list of athletes shows of one.
type Named struct {
	AthleteID  uuid.UUID
	Name, Lang string
}

// An Athlete belongs to one gym.
type Athlete struct {
	AthleteID uuid.UUID
	Name      string
	SortName  string // where the script needs one
	Lang      string // BCP 47, for the name's script
	BirthYear int    // 0 when unknown
	HasPIN    bool
	StartedOn time.Time // zero when unknown
}

// Under reports whether the athlete may be younger than age in year, by birth
// year alone. Someone whose year is unknown counts as younger.
func (a Athlete) Under(age, year int) bool {
	return a.BirthYear == 0 || year-a.BirthYear <= age
}

// A Rope is in the rack or in somebody's bag.
type Rope struct {
	RopeID    uuid.UUID
	Label     string
	Kind      string
	LengthM   float64
	Handle    string
	Note      string
	AthleteID uuid.UUID // uuid.Nil when nobody's own
}

// RopeKinds lists the kinds of rope that the database knows, in the order of
// how fast they turn, slowest first (common practice, no source).
func RopeKinds() []string { return []string{"cloth", "leather", "beaded", "cord", "steel"} }
