package gym

import (
	"time"

	"github.com/google/uuid"
)

// Keeping says how long a gym keeps what, in months.
type Keeping struct {
	Athlete  int // after the last activity
	Health   int // what hurt, where and how; answers on health
	Incident int // after it happened
	Audit    int
}

// An Erasure says that somebody is to be forgotten, or was. It holds no name.
type Erasure struct {
	ErasureID     uuid.UUID
	About         string // athlete or person
	AboutID       uuid.UUID
	AskedFor      string // athlete, guardian, gym, or time: the gym's own rule
	AskedAt       time.Time
	AskedBy       uuid.UUID
	KeepIncidents bool
	DueAt         time.Time
	UndoneAt      *time.Time
	DoneAt        *time.Time
	Report        map[string]int // rows by table
}

// Pending reports whether the erasure is still to be done.
func (e Erasure) Pending() bool { return e.UndoneAt == nil && e.DoneAt == nil }

// A Former worked in the gym once.
type Former struct {
	PersonID uuid.UUID
	Name     string
	Until    time.Time
}

// A Purge says how many rows the gym's own rules removed at once.
type Purge struct {
	At   time.Time
	What string // athletes, health, incidents, audit
	Rows int
}

// An AuditLine is something that somebody did, with the names as they are now.
type AuditLine struct {
	AuditID   uuid.UUID
	At        time.Time
	By        uuid.UUID
	ByName    string // "" for somebody who is gone
	ByLang    string // of the name
	Action    string
	Subject   string // kind of thing
	SubjectID uuid.UUID
	About     string // name of an athlete or a person, "" for other things
	AboutLang string
}

// A HealthAnswer is what was answered before the first session: the questions
// that were answered with yes, by key.
type HealthAnswer struct {
	AnswerID   uuid.UUID
	AthleteID  uuid.UUID
	Yes        []string
	Note       string
	AnsweredAt time.Time
	AnsweredBy uuid.UUID
}

// A HealthTalk says that a coach talked about the answers.
type HealthTalk struct {
	TalkID    uuid.UUID
	AthleteID uuid.UUID
	Note      string
	At        time.Time
	By        uuid.UUID
}

// Told says that a guardian learned of a hold or an incident.
type Told struct {
	ToldID     uuid.UUID
	AthleteID  uuid.UUID
	About      string // hold or incident
	AboutID    uuid.UUID
	GuardianID uuid.UUID // who read it on the own page
	How        string    // page or spoken
	At         time.Time
	By         uuid.UUID
}
