package coaching

import (
	"context"
	"errors"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/store"
)

// PainPlaces are the words for where something hurts, by key.
func PainPlaces() []string {
	return []string{"foot", "heel", "ankle", "shin", "calf", "knee", "thigh", "hip", "back", "shoulder", "elbow", "wrist", "head", "chest", "other"}
}

// checkDebrief returns a message per field that needs mending.
func checkDebrief(d gym.Debrief) map[string]string {
	wrong := map[string]string{}
	within := func(field string, n *int, most int, message string) {
		if n != nil && (*n < 0 || *n > most) {
			wrong[field] = message
		}
	}
	within("sets", d.SetsDone, 99, "Sets must be a whole number from 0 to 99.")
	within("bursts", d.Bursts, 999, "Bursts must be a whole number from 0 to 999.")
	within("clean_bursts", d.CleanBursts, 999, "Clean bursts must be a whole number from 0 to 999.")
	within("catches", d.Catches, 999, "Catches must be a whole number from 0 to 999.")
	within("effort", d.Effort, 10, "Effort is a whole number from 0 to 10.")
	if d.Bursts != nil && d.CleanBursts != nil && *d.CleanBursts > *d.Bursts {
		wrong["clean_bursts"] = "There cannot be more clean bursts than bursts."
	}
	if d.Minutes != nil && !(*d.Minutes >= 0 && *d.Minutes <= 600) {
		wrong["minutes"] = "Minutes must be from 0 to 600."
	}
	if d.Pain < 0 || d.Pain > 10 {
		wrong["pain"] = "Pain is a whole number from 0 to 10."
	}
	hurts := d.Pain > 0 || len(d.PainSigns) > 0
	if hurts && !slices.Contains(PainPlaces(), d.PainPlace) {
		wrong["pain_place"] = "Say where it hurts."
	}
	for _, sign := range d.PainSigns {
		if _, known := Signs()[sign]; !known {
			wrong["pain_signs"] = "Choose from the list what the pain is like."
		}
	}
	return wrong
}

// Heard says what a debrief led to.
type Heard struct {
	Added   bool
	Reasons []progress.Reason // why impact work stops; none: it goes on
}

// Debrief keeps how a session went for one athlete and opens a hold where the
// pain asks for one. The same id again changes nothing.
func (c *Coaching) Debrief(ctx context.Context, who gym.Who, d gym.Debrief) (Heard, error) {
	if err := problem.Form(checkDebrief(d)); err != nil {
		return Heard{}, err
	}
	now := c.Now()
	d.RecordedAt, d.RecordedBy = now, who.ID()
	var heard Heard
	err := c.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		heard = Heard{}
		var debriefs []gym.Debrief
		var holds []gym.Hold
		var athlete gym.Athlete
		if err := tx.Read(ctx, store.Athlete(d.AthleteID, &athlete),
			store.DebriefsOf(d.AthleteID, d.Day.Add(-Lookback), &debriefs), store.HoldsOf(d.AthleteID, &holds)); err != nil {
			return err
		}
		d, err := withContacts(ctx, tx, d)
		if err != nil {
			return err
		}
		if heard.Added, err = tx.AddDebrief(ctx, d); err != nil {
			return err
		}
		if !heard.Added {
			heard.Reasons = reasonsOf(d.DebriefID, holds) // the first answer once more
			return nil
		}
		debriefs = slices.DeleteFunc(debriefs, func(old gym.Debrief) bool { return old.DebriefID == d.Corrects })
		_, heard.Reasons, err = CareOf(debriefs, holds).After(reportOf(d))
		if err != nil {
			return problem.Form(map[string]string{"pain_place": "Say where it hurts."})
		}
		if len(heard.Reasons) == 0 {
			return nil
		}
		hold := gym.Hold{HoldID: newID(), AthleteID: d.AthleteID, Opened: true, Code: string(heard.Reasons[0]), DebriefID: d.DebriefID, At: now, Day: d.Day, By: who.ID()}
		if err := tx.AddHold(ctx, hold); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "opened a pain hold", "athlete", d.AthleteID)
	})
	return heard, err
}

// withContacts fills in the jumps of a session that was told of by its sets.
func withContacts(ctx context.Context, tx *store.Tx, d gym.Debrief) (gym.Debrief, error) {
	if d.PlanID == uuid.Nil {
		return d, nil
	}
	var kept gym.Plan
	if err := tx.Read(ctx, store.Plan(d.PlanID, &kept)); err != nil {
		return d, err
	}
	if kept.AthleteID != d.AthleteID {
		return d, problem.New(problem.NotFound, "There is no such plan of this athlete.")
	}
	plans, err := finding.ReadPlans([]gym.Plan{kept})
	if err != nil {
		return d, err
	}
	d.Contacts = contactsOf(d, &plans[0].Plan)
	return d, nil
}

// contactsOf fills in the jumps of a session that was told of by its sets alone.
func contactsOf(d gym.Debrief, plan *planner.Plan) *int {
	if d.Contacts != nil || plan == nil || d.SetsDone == nil || plan.Sets == 0 {
		return d.Contacts
	}
	return new(*d.SetsDone * plan.Contacts / plan.Sets)
}

// reasonsOf returns why a debrief that is kept already stopped impact work.
func reasonsOf(debrief uuid.UUID, holds []gym.Hold) []progress.Reason {
	for _, hold := range holds {
		if hold.Opened && hold.DebriefID == debrief {
			return []progress.Reason{progress.Reason(hold.Code)}
		}
	}
	return nil
}

// Release is a coach's word that impact work may begin again.
type Release struct {
	Athlete  uuid.UUID
	Reason   string
	Advised  bool      // a licensed professional has advised on it
	LastPain time.Time // in daily life, as asked now; zero if none since the last report
	Day      time.Time
}

// Release ends a hold. It refuses with a sentence what progress refuses.
func (c *Coaching) Release(ctx context.Context, who gym.Who, r Release) error {
	now := c.Now()
	return c.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var debriefs []gym.Debrief
		var holds []gym.Hold
		var athlete gym.Athlete
		if err := tx.Read(ctx, store.Athlete(r.Athlete, &athlete),
			store.DebriefsOf(r.Athlete, r.Day.Add(-Lookback), &debriefs), store.HoldsOf(r.Athlete, &holds)); err != nil {
			return err
		}
		_, err := CareOf(debriefs, holds).Release(progress.Release{At: now, ByCoach: who.Role == gym.Coach || who.Role == gym.Owner,
			Reason: r.Reason, Advised: r.Advised, LastPain: r.LastPain})
		if err != nil {
			return releaseProblem(err)
		}
		if err := tx.AddHold(ctx, gym.Hold{HoldID: newID(), AthleteID: r.Athlete, Code: "released", Reason: r.Reason, At: now, Day: r.Day, By: who.ID()}); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "released a pain hold", "athlete", r.Athlete)
	})
}

func releaseProblem(err error) error {
	switch {
	case errors.Is(err, progress.ErrNotHeld):
		return problem.New(problem.Conflict, "There is no hold to release. Somebody may have released it already.")
	case errors.Is(err, progress.ErrCoachOnly):
		return problem.New(problem.Forbidden, "Only a coach lets an athlete go on after pain.")
	case errors.Is(err, progress.ErrNoReason):
		return problem.Form(map[string]string{"reason": "Write why the athlete may go on. It is kept."})
	case errors.Is(err, progress.ErrAdviceFirst):
		return problem.Form(map[string]string{"advised": "This pain came back or was of a kind that needs a licensed professional's advice first."})
	case errors.Is(err, progress.ErrPainTooRecent):
		return problem.Form(map[string]string{"last_pain": "Two days without pain in daily life come first. Wait until 48 hours have passed."})
	default:
		return err
	}
}
