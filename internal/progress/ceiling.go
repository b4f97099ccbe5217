package progress

// Kind tells jumps apart by what they do to the body.
type Kind string

// The kinds.
const (
	LowBounce   Kind = "low bounce"
	DoubleUnder Kind = "double under" // and anything higher; missed tries count
)

// A Ceiling bounds the contacts of one kind for athletes of one age group and
// training age. A gym may replace the rows; see [DefaultCeilings].
type Ceiling struct {
	Kind         Kind   `json:"kind"`
	Under16      bool   `json:"under_16"`
	FromDay      int    `json:"from_day"`      // days since the athlete's first session of this kind, from which the row holds
	Plan         int    `json:"plan"`          // contacts a session that plans stay within
	Most         int    `json:"most"`          // contacts a session that nothing may pass
	Week         int    `json:"week"`          // contacts in any seven days
	HoursBetween int    `json:"hours_between"` // from one session of this kind to the next
	Source       string `json:"source"`        // where Plan and Most come from
}

// Sources of the default ceilings.
const (
	ourCaution = "our caution, no source"
	nscaPower  = "NSCA, Essentials of Strength Training and Conditioning: contacts of power jumps by training age"
)

// The training ages that the default rows part at, in days.
const (
	month = 28
	year  = 365
)

// DefaultCeilings returns the ceilings that hold until a gym sets its own with
// a qualified coach. Where the source gives a range, plans stay at its lower end.
// A week's ceiling is three sessions of Plan and the hours between are two days,
// both our caution with no source.
func DefaultCeilings() []Ceiling {
	return []Ceiling{
		{LowBounce, true, 0, 500, 500, 1500, 0, ourCaution},
		{LowBounce, true, month, 800, 1000, 2400, 0, ourCaution},
		{LowBounce, false, 0, 500, 500, 1500, 0, ourCaution},
		{LowBounce, false, month, 1000, 1200, 3000, 0, ourCaution},
		{LowBounce, false, year, 1200, 1500, 3600, 0, ourCaution},
		{DoubleUnder, true, 0, 30, 40, 90, 48, ourCaution},
		{DoubleUnder, true, month, 60, 80, 180, 48, ourCaution},
		{DoubleUnder, false, 0, 80, 100, 240, 48, nscaPower},
		{DoubleUnder, false, month, 100, 120, 300, 48, nscaPower},
		{DoubleUnder, false, year, 120, 140, 360, 48, nscaPower},
	}
}

// CeilingFor returns the row of ceilings that holds for one kind, age group and
// training age in days. ok is false if there is none; then nothing of that kind
// is to be planned.
func CeilingFor(ceilings []Ceiling, kind Kind, under16 bool, day int) (row Ceiling, ok bool) {
	for _, c := range ceilings {
		if c.Kind == kind && c.Under16 == under16 && c.FromDay <= day && (!ok || c.FromDay >= row.FromDay) {
			row, ok = c, true
		}
	}
	return row, ok
}

// Done is what an athlete did of one kind before the session in question.
type Done struct {
	Today      int // contacts earlier on the same day
	SixDays    int // contacts in the six days before
	HoursSince int // hours since the last session of this kind; below 0 if there was none
}

// Left returns the contacts that c leaves for a session after what was done, 0
// or more.
func (c Ceiling) Left(done Done) int {
	if done.HoursSince >= 0 && done.HoursSince < c.HoursBetween {
		return 0
	}
	return max(0, min(c.Plan-done.Today, c.Week-done.SixDays-done.Today))
}
