package progress

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// A Flag marks pain that stops impact work at any score.
type Flag uint8

// The flags. All but Unwell are signs to see a professional about; Unwell
// (chest pain, fainting, trouble to breathe) is an emergency.
const (
	Sharp Flag = 1 << iota
	Limping
	Worsening
	AtNight
	OnBone
	Unwell
)

// A Pain is one answer to "does anything hurt?".
type Pain struct {
	Score int    // 0 (none) to 10 (the worst there is)
	Place string // one of the gym's words for a part of the body
	Flags Flag
}

func (p Pain) felt() bool { return p.Score > 0 || p.Flags != 0 }

// A Report is what an athlete said of pain at one time. No pains means that
// nothing hurt.
type Report struct {
	At      time.Time
	Session bool // said of a session; otherwise of daily life
	Pains   []Pain
}

// Reason says why a report stops impact work. The pages word it.
type Reason string

// The reasons.
const (
	HighScore Reason = "score"     // [HoldScore] or more
	SamePlace Reason = "repeated"  // any pain at one place in two sessions running
	RedFlag   Reason = "red flag"  // sharp, limping, worsening, at night or on a bone point
	Emergency Reason = "emergency" // unwell: call for help first
)

// Rules of the hold. Our caution, no source; the gym's own rules, the law and
// licensed professionals come first.
const (
	HoldScore       = 3              // a score from which impact work stops
	PainFree        = 48 * time.Hour // without pain in daily life before a release
	RestartShare    = 0.5            // of the contacts, after a release
	RestartSessions = 2              // sessions without pain until the full contacts; assumed
)

// State says what pain leaves of the plan.
type State string

// The states.
const (
	Clear      State = ""           // nothing is held back
	Held       State = "held"       // no impact work
	Restarting State = "restarting" // half the contacts, no doubles
)

// Care is what is remembered of an athlete's pain from one report to the next.
// The zero value is an athlete who has reported none.
type Care struct {
	State        State
	HeldSince    time.Time
	AdviceFirst  bool      // a professional's advice is needed before release
	LastPain     time.Time // last time any pain was reported
	Sore         []string  // places that hurt in the last session, or that the hold is about
	SessionsLeft int       // sessions without pain until the full contacts
}

// Errors about reports and releases.
var (
	// ErrScore reports a pain score outside 0–10.
	ErrScore = errors.New("a pain score must be 0 to 10")
	// ErrPlace reports pain without a place.
	ErrPlace = errors.New("say where it hurts")
	// ErrNotHeld reports a release without a hold.
	ErrNotHeld = errors.New("there is no hold to release")
	// ErrCoachOnly reports a release by someone who is not a coach.
	ErrCoachOnly = errors.New("only a coach may release a hold")
	// ErrNoReason reports a release without a reason.
	ErrNoReason = errors.New("a release needs a reason")
	// ErrAdviceFirst reports repeated or red-flag pain without professional advice.
	ErrAdviceFirst = errors.New("ask a licensed professional first")
	// ErrPainTooRecent reports pain in daily life less than 48 hours ago.
	ErrPainTooRecent = errors.New("48 hours without pain come first")
)

// After returns the care after report and the reasons, if any, for which the
// report stops impact work. With any reason the coach is to refer the athlete to
// a licensed professional, and the guardian of a minor is told the same day.
//
// It returns [ErrScore] and [ErrPlace], and then the care as it was.
func (c Care) After(report Report) (Care, []Reason, error) {
	for i, p := range report.Pains {
		switch {
		case p.Score < 0 || p.Score > 10:
			return c, nil, fmt.Errorf("pain %d: %w", i+1, ErrScore)
		case p.Score > 0 && p.Place == "":
			return c, nil, fmt.Errorf("pain %d: %w", i+1, ErrPlace)
		}
	}
	sore := soreIn(report.Pains)
	reasons := c.reasons(report)
	next := c
	if slices.ContainsFunc(report.Pains, Pain.felt) && report.At.After(c.LastPain) {
		next.LastPain = report.At
	}
	switch {
	case len(reasons) > 0:
		next.hold(report.At, sore, reasons)
	case c.State == Held:
		next.Sore = union(c.Sore, sore)
	case report.Session:
		next.Sore = sore
		next.stepOn(len(sore) > 0)
	}
	return next, reasons, nil
}

// reasons lists why report stops impact work, each reason once.
func (c Care) reasons(report Report) []Reason {
	var found []Reason
	add := func(r Reason, holds bool) {
		if holds && !slices.Contains(found, r) {
			found = append(found, r)
		}
	}
	for _, p := range report.Pains {
		add(Emergency, p.Flags&Unwell != 0)
		add(RedFlag, p.Flags&^Unwell != 0)
		add(SamePlace, report.Session && p.felt() && slices.Contains(c.Sore, p.Place))
		add(HighScore, p.Score >= HoldScore)
	}
	return found
}

func (c *Care) hold(at time.Time, sore []string, reasons []Reason) {
	if c.State != Held {
		c.State, c.HeldSince, c.AdviceFirst = Held, at, false
	}
	if slices.ContainsFunc(reasons, func(r Reason) bool { return r != HighScore }) {
		c.AdviceFirst = true
	}
	c.Sore, c.SessionsLeft = union(c.Sore, sore), 0
}

// stepOn counts a session while restarting; one with pain starts the count anew.
func (c *Care) stepOn(hurt bool) {
	switch {
	case c.State != Restarting:
	case hurt:
		c.SessionsLeft = RestartSessions
	case c.SessionsLeft > 1:
		c.SessionsLeft--
	default:
		c.State, c.SessionsLeft = Clear, 0
	}
}

// A Release is a coach's decision to let impact work begin again.
type Release struct {
	At       time.Time
	ByCoach  bool
	Reason   string
	Advised  bool      // a licensed professional has advised on it
	LastPain time.Time // last pain in daily life as asked now; zero if none since the last report
}

// Release returns the care of an athlete who starts again at half the contacts
// and without doubles. The sore places are kept: pain there in the next session
// counts as repeated.
//
// It returns [ErrNotHeld], [ErrCoachOnly], [ErrNoReason], [ErrAdviceFirst] and
// [ErrPainTooRecent], and then the care as it was.
func (c Care) Release(r Release) (Care, error) {
	lastPain := c.LastPain
	if r.LastPain.After(lastPain) {
		lastPain = r.LastPain
	}
	switch {
	case c.State != Held:
		return c, ErrNotHeld
	case !r.ByCoach:
		return c, ErrCoachOnly
	case r.Reason == "":
		return c, ErrNoReason
	case c.AdviceFirst && !r.Advised:
		return c, ErrAdviceFirst
	case r.At.Sub(lastPain) < PainFree:
		return c, ErrPainTooRecent
	}
	return Care{State: Restarting, LastPain: lastPain, Sore: c.Sore, SessionsLeft: RestartSessions}, nil
}

// Share returns the part of the contacts that pain leaves, 0–1.
func (c Care) Share() float64 {
	switch c.State {
	case Held:
		return 0
	case Restarting:
		return RestartShare
	}
	return 1
}

func soreIn(pains []Pain) []string {
	var places []string
	for _, p := range pains {
		if p.felt() {
			places = union(places, []string{p.Place})
		}
	}
	return places
}

// union returns a with the places of b that it lacks, as a new slice.
func union(a, b []string) []string {
	places := slices.Clone(a)
	for _, place := range b {
		if !slices.Contains(places, place) {
			places = append(places, place)
		}
	}
	return places
}
