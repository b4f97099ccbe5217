package receiving

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
)

// ResultBody is a test as a phone kept it: counted, or tapped.
type ResultBody struct {
	For       uuid.UUID `json:"for"` // the class-mate who jumped; none: the sender
	Protocol  string    `json:"protocol"`
	Seconds   *float64  `json:"seconds"`
	Rotations *int      `json:"rotations"` // as typed; none: as tapped
	Catches   int       `json:"catches"`
	Lost      *float64  `json:"lost_seconds"`
	Taps      []float64 `json:"taps"`     // seconds from the start
	CatchAt   []float64 `json:"catch_at"` // seconds from the start at which a catch was pressed
	PerTap    int       `json:"per_tap"`  // rotations that one tap stands for
	Step      string    `json:"step"`
	RopeKind  string    `json:"rope"`
	Surface   string    `json:"surface"`
	CountedBy string    `json:"counted_by"`
	Timing    string    `json:"timing"`
	Note      string    `json:"note"`
	Adult     bool      `json:"adult"` // an adult in charge was there
}

// Bounds of what a phone may send.
const (
	mostTaps      = 3000 // ten a second for five minutes
	mostNoteBytes = 2000
)

func (d *desk) result(ctx context.Context, e Entry, b ResultBody) (added bool, said string, err error) {
	if len(b.Taps) > mostTaps || len(b.CatchAt) > mostTaps || len(b.Note) > mostNoteBytes {
		return false, "", problem.New(problem.TooLarge, "This entry holds more than a test can have. Type it anew.")
	}
	jumper, err := d.whoJumped(ctx, b.For)
	if err != nil {
		return false, "", err
	}
	deviceAt := e.At
	r := gym.Result{ResultID: e.ID, AthleteID: jumper.AthleteID, Protocol: b.Protocol, Day: d.gym.DayOf(e.taken), TakenAt: e.taken,
		Rotations: b.Rotations, Seconds: b.Seconds, Catches: b.Catches, LostSeconds: b.Lost, Step: b.Step, RopeKind: b.RopeKind,
		Surface: b.Surface, CountedBy: b.CountedBy, Timing: b.Timing, Note: b.Note, DeviceAt: &deviceAt,
		Unattended: jumper.Under(d.gym.AdultAge, d.gym.DayOf(e.taken).Year()) && !b.Adult}
	if r.Timing != string(rate.ByApp) {
		r.Timing = string(rate.ByHand)
	}
	if r.CountedBy == "coach" { // a coach says so on an own page
		r.CountedBy = "partner"
	}
	if len(b.Taps) > 0 {
		if err := AddTaps(&r, b); err != nil {
			return false, "", err
		}
	}
	answer, err := d.Measuring.Record(ctx, d.who, r)
	if err != nil {
		return false, "", err
	}
	return answer.Added, odd(answer.Odd), nil
}

// whoJumped is the sender, or a class-mate that the sender counted for.
func (d *desk) whoJumped(ctx context.Context, mate uuid.UUID) (gym.Athlete, error) {
	if mate == uuid.Nil || mate == d.who.AthleteID {
		return d.athlete, nil
	}
	if d.mates == nil {
		if err := d.Store.Read(ctx, d.who.GymID, store.Classmates(d.who.AthleteID, &d.mates)); err != nil {
			return gym.Athlete{}, err
		}
	}
	for _, a := range d.mates {
		if a.AthleteID == mate {
			return a, nil
		}
	}
	return gym.Athlete{}, problem.New(problem.Forbidden, "You counted for somebody who is in none of your classes. Tell your coach the count.")
}

// AddTaps puts what the taps show into r: the rate while the rope turned with
// its uncertainty, and the count where none was typed. Too few taps for a rate
// are still a count.
func AddTaps(r *gym.Result, b ResultBody) error {
	if b.PerTap != 1 && b.PerTap != 2 {
		return problem.New(problem.Invalid, "A tap stands for one rotation or for two. Count this test again.")
	}
	for _, t := range slices.Concat(b.Taps, b.CatchAt) {
		if math.IsNaN(t) || t < 0 || b.Seconds != nil && t > *b.Seconds {
			return problem.New(problem.Invalid, "Some taps lie outside the test's time. Type the count instead.")
		}
	}
	perTap := b.PerTap
	r.Taps, r.RotationsPerTap = b.Taps, &perTap
	tapped, err := rate.Taps(b.Taps, float64(b.PerTap), b.CatchAt)
	rotations := b.PerTap * len(b.Taps)
	switch {
	case errors.Is(err, rate.ErrFewTaps) || errors.Is(err, rate.ErrNoTempo):
	case errors.Is(err, rate.ErrTooFast):
		return problem.New(problem.Invalid, "The taps come faster than any rope turns. Type the count instead.")
	case err != nil:
		return problem.Wrap(err, problem.Invalid, "The taps are not in the order of time. Type the count instead.")
	default:
		rotations = int(math.Round(tapped.Rotations))
		if !math.IsNaN(tapped.U) {
			r.RPMFromTaps, r.StandardErrorRPM = &tapped.RPM, &tapped.U
		}
		if r.Catches > 0 && tapped.LongestRest > 0 {
			r.LongestRestartSeconds = &tapped.LongestRest
		}
	}
	if r.Rotations == nil {
		r.Rotations = &rotations
	}
	return nil
}

// CorrectionBody puts another count in the place of a result, or takes it out.
type CorrectionBody struct {
	Corrects  uuid.UUID `json:"corrects"`
	Rotations *int      `json:"rotations"`
	Catches   *int      `json:"catches"`
	Void      bool      `json:"void"`
}

// correction lets athletes correct their own results and those they counted.
// Another count throws the taps away: they no longer speak for it.
func (d *desk) correction(ctx context.Context, e Entry, b CorrectionBody) (added bool, said string, err error) {
	var old gym.Result
	if err := d.Store.Read(ctx, d.who.GymID, store.Result(b.Corrects, &old)); err != nil {
		return false, "", err
	}
	if old.AthleteID != d.who.AthleteID && old.RecordedBy != d.who.AthleteID {
		return false, "", problem.New(problem.Forbidden, "That is somebody else's result. Ask your coach to change it.")
	}
	if old.SeenByCoach {
		return false, "", problem.New(problem.Forbidden, "Your coach saw that test. Ask your coach to change it.")
	}
	deviceAt := e.At
	fixed := old
	fixed.ResultID, fixed.Corrects, fixed.Void, fixed.DeviceAt = e.ID, old.ResultID, b.Void, &deviceAt
	if b.Catches != nil {
		fixed.Catches = *b.Catches
	}
	if b.Rotations != nil && (old.Rotations == nil || *b.Rotations != *old.Rotations) {
		fixed.Rotations = b.Rotations
		fixed.Taps, fixed.RotationsPerTap, fixed.RPMFromTaps, fixed.StandardErrorRPM = nil, nil, nil, nil
	}
	answer, err := d.Measuring.Correct(ctx, d.who, fixed)
	if err != nil {
		return false, "", err
	}
	return answer.Added, odd(answer.Odd), nil
}

// odd words the first question about a result that was kept all the same.
func odd(questions []rate.Question) string {
	if len(questions) == 0 {
		return ""
	}
	q := questions[0]
	if q.Code == rate.AboveBest {
		return fmt.Sprintf("Check: %.0f rpm? The best known is about %.0f.", q.RPM, q.Against)
	}
	return fmt.Sprintf("Check: %.0f rpm? Lately about %.0f.", q.RPM, q.Against)
}
