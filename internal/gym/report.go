package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Meeting is one session that an athlete of the class could come to.
type Meeting struct {
	AthleteID uuid.UUID
	SessionID uuid.UUID
	ClassID   uuid.UUID
	Day       time.Time // on the gym's calendar
	Minutes   int
	Here      *bool // nil where nobody noted it
}

// A Repeat is two tests of one athlete that followed each other, alike in
// protocol, length, step and rope: how far tests lie apart by themselves. There
// is one for each class that the athlete is in.
type Repeat struct {
	ClassID       uuid.UUID
	Protocol      string
	Seconds       float64
	First, Second int      // rotations
	FirstLost     *float64 // seconds lost to catches; nil where nobody timed them
	SecondLost    *float64
}

// A Comment is a coach's words on one athlete's term: what is being typed, and
// what the report shows.
type Comment struct {
	TermID    uuid.UUID
	AthleteID uuid.UUID
	Draft     string
	DraftAim  string
	Comment   string
	Aim       string
	Revision  int // counts changes, from 1
	ChangedAt time.Time
	ChangedBy uuid.UUID
	ByName    string // of whoever changed it last
	ByLang    string
	ShownAt   *time.Time // nil: nothing is in the report yet
}

// Pending reports whether something was typed that the report does not show.
func (c Comment) Pending() bool { return c.Draft != c.Comment || c.DraftAim != c.Aim }

// What a Report is about, by its Kind.
const (
	ReportAthlete     = "athlete"      // one athlete's term
	ReportClass       = "class"        // a class's term
	ReportGym         = "gym"          // the whole gym's term
	ReportAthleteData = "athlete_data" // all that is kept of one athlete
	ReportGymData     = "gym_data"     // all that is kept of the gym
)

// Formats and papers of a Report.
const (
	FormatPDF  = "pdf"
	FormatXLSX = "xlsx"
	FormatCSV  = "csv"
	FormatZip  = "zip"

	PaperA4     = "a4"
	PaperLetter = "letter"
)

// States of a Report.
const (
	ReportWaiting = "waiting"
	ReportWorking = "working"
	ReportDone    = "done"
	ReportStopped = "stopped" // somebody stopped it
	ReportBroken  = "broken"  // it could not be made
)

// A Report is a file that somebody asked for.
type Report struct {
	ReportID   uuid.UUID
	Kind       string
	Format     string
	Paper      string
	Language   string // of a PDF, BCP 47
	TermID     uuid.UUID
	ClassID    uuid.UUID
	AthleteID  uuid.UUID
	AsOf       time.Time // the last day that it looks at
	State      string
	Done, Of   int // how far it is; Of is 0 while nobody counted
	Attempt    uuid.UUID
	FileName   string
	Bytes      int64
	SHA256     []byte
	AskedAt    time.Time
	AskedBy    uuid.UUID
	FinishedAt *time.Time
	RemovedAt  *time.Time // its bytes are gone; it can be made again
}

// Ready reports whether the file can be fetched.
func (r Report) Ready() bool { return r.State == ReportDone && r.RemovedAt == nil }

// Open reports whether the file is still to be made.
func (r Report) Open() bool { return r.State == ReportWaiting || r.State == ReportWorking }

// A Token lets a program read what reports show. Its secret is not kept.
type Token struct {
	TokenID    uuid.UUID
	Name       string // what it is for
	MadeAt     time.Time
	MadeBy     uuid.UUID
	LastUsedOn *time.Time
	EndedAt    *time.Time
}
