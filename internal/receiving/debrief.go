package receiving

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// DebriefBody says how a session went, as a phone kept it.
type DebriefBody struct {
	Plan        uuid.UUID `json:"plan"`
	Sets        *int      `json:"sets"`
	Bursts      *int      `json:"bursts"`
	CleanBursts *int      `json:"clean_bursts"`
	Catches     *int      `json:"catches"`
	Minutes     *float64  `json:"minutes"`
	Effort      *int      `json:"effort"`
	Pain        int       `json:"pain"`
	PainPlace   string    `json:"pain_place"`
	PainSigns   []string  `json:"pain_signs"`
	Note        string    `json:"note"`
	Corrects    uuid.UUID `json:"corrects"`
}

func (d *desk) debrief(ctx context.Context, e Entry, b DebriefBody) (added bool, said string, err error) {
	if len(b.Note) > mostNoteBytes || len(b.PainSigns) > 20 {
		return false, "", problem.New(problem.TooLarge, "This entry is longer than it may be. Shorten the note.")
	}
	if b.Corrects != uuid.Nil {
		if err := d.mayCorrect(ctx, b); err != nil {
			return false, "", err
		}
	}
	contacts, err := d.contacts(ctx, b.Plan, b.Sets)
	if err != nil {
		return false, "", err
	}
	debrief := gym.Debrief{DebriefID: e.ID, AthleteID: d.who.AthleteID, PlanID: b.Plan, Day: d.gym.DayOf(e.taken), SetsDone: b.Sets, Bursts: b.Bursts,
		CleanBursts: b.CleanBursts, Catches: b.Catches, Contacts: contacts, Minutes: b.Minutes, Effort: b.Effort, Pain: b.Pain,
		PainPlace: b.PainPlace, PainSigns: b.PainSigns, Note: b.Note, Corrects: b.Corrects}
	if debrief.Pain == 0 && len(debrief.PainSigns) == 0 {
		debrief.PainPlace = ""
	}
	heard, err := d.Coaching.Debrief(ctx, d.who, debrief)
	if err != nil {
		return false, "", err
	}
	if len(heard.Reasons) > 0 {
		said = "Stop jumping for now and tell your coach. If it lasts or is bad, see a licensed professional."
	}
	return heard.Added, said, nil
}

// mayCorrect lets athletes correct what they said, but not take pain back: what
// stops the work is taken back by a coach.
func (d *desk) mayCorrect(ctx context.Context, b DebriefBody) error {
	var old gym.Debrief
	if err := d.Store.Read(ctx, d.who.GymID, store.Debrief(b.Corrects, &old)); err != nil {
		return err
	}
	if old.AthleteID != d.who.AthleteID {
		return problem.New(problem.Forbidden, "That is somebody else's entry. Ask your coach to change it.")
	}
	if b.Pain < old.Pain || len(b.PainSigns) < len(old.PainSigns) || old.PainPlace != "" && b.PainPlace != old.PainPlace {
		return problem.New(problem.Forbidden, "Pain that you told us about stays until your coach has talked with you. Ask your coach to change it.")
	}
	return nil
}

// contacts works out how many jumps the sets done of a plan come to; nil where
// that is not known.
func (d *desk) contacts(ctx context.Context, planID uuid.UUID, sets *int) (*int, error) {
	if planID == uuid.Nil {
		return nil, nil
	}
	kept, err := d.plan(ctx, planID)
	if err != nil || sets == nil {
		return nil, err
	}
	var plan planner.Plan
	if err := json.Unmarshal(kept.Output, &plan); err != nil {
		return nil, fmt.Errorf("reading plan %s: %w", planID, err)
	}
	return ContactsDone(plan, *sets), nil
}

// ContactsDone returns the jumps of so many sets of a plan, nil where the plan
// has none.
func ContactsDone(plan planner.Plan, sets int) *int {
	if plan.Sets == 0 || sets < 0 {
		return nil
	}
	contacts := int(math.Round(float64(plan.Contacts) * float64(sets) / float64(plan.Sets)))
	return &contacts
}

func (d *desk) plan(ctx context.Context, id uuid.UUID) (gym.Plan, error) {
	var kept gym.Plan
	if err := d.Store.Read(ctx, d.who.GymID, store.Plan(id, &kept)); err != nil {
		return gym.Plan{}, err
	}
	if kept.AthleteID != d.who.AthleteID {
		return gym.Plan{}, problem.New(problem.NotFound, "There is no such plan of yours.")
	}
	return kept, nil
}

// SetBody is one set of a plan as it was done.
type SetBody struct {
	Plan          uuid.UUID `json:"plan"`
	Number        int       `json:"number"` // from 1
	Bursts        int       `json:"bursts"`
	CleanBursts   int       `json:"clean_bursts"`
	CatchesSteady int       `json:"catches_steady"`
	CatchesBurst  int       `json:"catches_burst"`
	Shortened     bool      `json:"shortened"`
}

func (d *desk) set(ctx context.Context, e Entry, b SetBody) (added bool, said string, err error) {
	outside := func(n, least, most int) bool { return n < least || n > most }
	if outside(b.Number, 1, 99) || outside(b.Bursts, 0, 999) || outside(b.CleanBursts, 0, b.Bursts) ||
		outside(b.CatchesSteady, 0, 99) || outside(b.CatchesBurst, 0, 99) {
		return false, "", problem.New(problem.Invalid, "The numbers of this set cannot be right. Say how it went on the page after the session.")
	}
	if _, err := d.plan(ctx, b.Plan); err != nil {
		return false, "", err
	}
	log := gym.SetLog{SetLogID: e.ID, AthleteID: d.who.AthleteID, PlanID: b.Plan, SetNumber: b.Number, Bursts: b.Bursts, CleanBursts: b.CleanBursts,
		CatchesSteady: b.CatchesSteady, CatchesBurst: b.CatchesBurst, Shortened: b.Shortened, DoneAt: e.taken.UTC().Truncate(time.Microsecond),
		RecordedAt: d.now, RecordedBy: d.who.AthleteID}
	err = d.Store.Write(ctx, d.who.GymID, func(tx *store.Tx) error {
		added, err = tx.AddSetLog(ctx, log)
		return err
	})
	return added, "", err
}

// CatchNoteBody says where the rope stopped and what else was noticed; what was
// not noticed is "".
type CatchNoteBody struct {
	Stage  string           `json:"stage"`
	Spot   ladder.Spot      `json:"spot"`
	Timing ladder.Timing    `json:"timing"`
	Hands  ladder.HandPlace `json:"hands"`
	Height ladder.Height    `json:"height"`
}

func (d *desk) catchNote(ctx context.Context, e Entry, b CatchNoteBody) (added bool, said string, err error) {
	if !among(ladder.Spots(), b.Spot) || !among(ladder.Timings(), b.Timing) || !among(ladder.HandPlaces(), b.Hands) ||
		!among(ladder.Heights(), b.Height) || len(b.Stage) > 60 {
		return false, "", problem.New(problem.Invalid, "This gym's computer does not know that place. Choose it from the list once more.")
	}
	note := gym.CatchNote{CatchNoteID: e.ID, AthleteID: d.who.AthleteID, Stage: b.Stage, Day: d.gym.DayOf(e.taken), Spot: string(b.Spot),
		Timing: string(b.Timing), Hands: string(b.Hands), Height: string(b.Height), NotedAt: e.taken, NotedBy: d.who.AthleteID}
	err = d.Store.Write(ctx, d.who.GymID, func(tx *store.Tx) error {
		added, err = tx.AddCatchNote(ctx, note)
		return err
	})
	return added, "", err
}

// among reports whether word is one of words or "".
func among[W ~string](words []W, word W) bool { return word == "" || slices.Contains(words, word) }
