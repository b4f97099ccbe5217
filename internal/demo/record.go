package demo

import "time"

// invented marks a record as made up. Every record type embeds it, so that no
// record can be without the mark.
type invented struct{}

// Invented reports that the record is made up: always true.
func (invented) Invented() bool { return true }

// Gym is the whole demonstration.
type Gym struct {
	invented
	Name     string
	Address  string
	Phone    string // from a range kept free for fiction
	TimeZone string // IANA name
	Surface  string // of the hall's floor
	Owner    Person
	Coaches  []Person
	Terms    []Term
	Classes  []Class
	Athletes []Athlete
	Ropes    []Rope
	Sessions []Session

	Attendance []Attendance
	Tests      []Test
	Unsent     []Test // still on a phone, not known to the gym
	Taps       []TapSeries
	Doubles    []DoubleRun
	Feedback   []Feedback
}

// Person is the owner or a coach, with a password for the demonstration only.
type Person struct {
	invented
	Name     string
	Email    string
	Role     string // owner, coach or assistant (enters results, sets no stages)
	Password string
	Classes  []string // codes of the classes that the person coaches
}

// Term spans whole days, both included, as midnight in the gym's zone.
type Term struct {
	invented
	Name              string
	StartsOn, EndsOn  time.Time
	HolidayFrom       time.Time // first day without classes
	HolidayTo         time.Time // last day without classes
	HolidayName       string
	WeeksWithSessions []int // 1 is the first week of the term
}

// Class meets once a week.
type Class struct {
	invented
	Code      string // what athletes type to come in
	Name      string
	Weekday   time.Weekday
	StartsAt  time.Duration // since midnight, on the gym's clock
	Minutes   int
	Ages      string
	RopeKinds []string // that the class may use
}

// Athlete is one name on the roster. ID counts from 1.
type Athlete struct {
	invented
	ID         int
	Name       string
	SortName   string // where the script needs one, else empty
	Lang       string // BCP 47
	BirthYear  int
	PIN        string // four digits
	Class      string // code
	StartStage int    // on the ladder that ships, 1–16
	JoinedWeek int    // of the term; 1 for most
	Rope       string // label of the rope usually used
}

// AgeIn returns the age that the athlete reaches in year.
func (a Athlete) AgeIn(year int) int { return year - a.BirthYear }

// Rope is one rope of the rack. LengthM is in metres.
type Rope struct {
	invented
	Label         string
	Kind          string // beaded, cord (PVC), steel (coated cable) or cloth
	LengthM       float64
	CheckedWeekly bool
	Note          string
}

// Session is one meeting of a class. Held is false for those still to come.
type Session struct {
	invented
	Class    string // code
	Week     int
	StartsAt time.Time
	Minutes  int
	Held     bool
}

// Attendance says whether an athlete came to a session.
type Attendance struct {
	invented
	Athlete  int
	Class    string
	Week     int
	StartsAt time.Time // of the session
	Present  bool
}

func (a Attendance) when() time.Time { return a.StartsAt }

// Kinds of test.
const (
	Base  = "base"  // a rate that can be held
	Burst = "burst" // a short all-out effort
)

// Steps.
const (
	Bounce    = "bounce"
	Alternate = "alternate"
)

// Who counted.
const (
	BySelf    = "self"
	ByPartner = "partner"
	ByCoach   = "coach"
)

// Test is one timed test.
type Test struct {
	invented
	Key            string // unique and stable, such as "bounce30-07-w05"
	Athlete        int
	Week           int
	Kind           string // Base or Burst
	Step           string // Bounce or Alternate
	TakenAt        time.Time
	Seconds        float64
	Rotations      int
	Catches        int
	LostSeconds    float64 // to catches, all together, to 0.1 s
	LongestRestart float64 // seconds lost to the worst catch, to 0.1 s
	Rope           string  // label
	CountedBy      string
	Device         string
	InSession      bool   // false: at home or elsewhere
	ClashesWith    string // Key of a test that counts the same attempt differently
}

func (t Test) when() time.Time { return t.TakenAt }

// TapSeries holds the taps of somebody watching a test, one tap a rotation, in
// seconds from the start, rising.
type TapSeries struct {
	invented
	Test    string // Key
	Athlete int
	TakenAt time.Time
	Stamps  []float64
}

func (s TapSeries) when() time.Time { return s.TakenAt }

// DoubleRun is one attempt at double unders in a row, ended by a catch.
type DoubleRun struct {
	invented
	Key            string
	Athlete        int
	Week           int
	Attempt        int // 1–5
	TakenAt        time.Time
	Doubles        int // clean ones before the catch, at least 1
	JumpsPerMinute int
	Rope           string
	CountedBy      string
}

func (d DoubleRun) when() time.Time { return d.TakenAt }

// Feedback is an athlete's word after a session or after practice alone.
type Feedback struct {
	invented
	Key        string
	Athlete    int
	Week       int
	GivenAt    time.Time
	Word       string    // easy, right or hard
	Effort     int       // 0–10, see [EffortOf]
	Pain       int       // 0–10; 0 is none
	PainPlace  string    // empty without pain
	PainNote   string    // empty without pain
	ReleasedAt time.Time // a coach let the athlete go on; zero: plan still held
	InSession  bool
}

func (f Feedback) when() time.Time { return f.GivenAt }
