package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const debriefColumns = `
	d.debrief_id, d.athlete_id, coalesce(d.plan_id, '00000000-0000-0000-0000-000000000000') AS plan_id,
	coalesce(d.session_id, '00000000-0000-0000-0000-000000000000') AS session_id, d.day, d.sets_done, d.bursts,
	d.clean_bursts, d.catches, d.contacts, d.minutes, d.effort, d.pain, d.pain_place, d.pain_signs, d.note,
	coalesce(d.corrects, '00000000-0000-0000-0000-000000000000') AS corrects, d.recorded_at, d.recorded_by`

const standingDebrief = `
	AND NOT EXISTS (SELECT FROM debrief later WHERE later.gym_id = d.gym_id AND later.corrects = d.debrief_id)`

// Debrief reads one debrief, corrected or not.
func Debrief(id uuid.UUID, into *gym.Debrief) Reading {
	return one("debrief", "There is no such entry in this gym.", into, `
		SELECT `+debriefColumns+`
		FROM debrief d
		WHERE d.debrief_id = @debrief`, pgx.StrictNamedArgs{"debrief": id})
}

// DebriefsOfClass reads how sessions went for everybody in a class since a
// day, by athlete, newest first.
func DebriefsOfClass(class uuid.UUID, since time.Time, into *[]gym.Debrief) Reading {
	return many("debriefs of a class", into, `
		SELECT `+debriefColumns+`
		FROM debrief d JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL AND d.day >= @since`+standingDebrief+`
		ORDER BY d.athlete_id, d.day DESC, d.recorded_at DESC, d.debrief_id DESC`,
		pgx.StrictNamedArgs{"class": class, "since": since})
}

// DebriefsOf reads how sessions went for one athlete since a day, newest first.
func DebriefsOf(athlete uuid.UUID, since time.Time, into *[]gym.Debrief) Reading {
	return many("debriefs of an athlete", into, `
		SELECT `+debriefColumns+`
		FROM debrief d
		WHERE d.athlete_id = @athlete AND d.day >= @since`+standingDebrief+`
		ORDER BY d.day DESC, d.recorded_at DESC, d.debrief_id DESC`,
		pgx.StrictNamedArgs{"athlete": athlete, "since": since})
}

// AddDebrief keeps how a session went; the same id again changes nothing.
func (tx *Tx) AddDebrief(ctx context.Context, d gym.Debrief) (added bool, err error) {
	if err := tx.mayKeep(ctx, d.Day.Year(), d.AthleteID); err != nil {
		return false, err
	}
	signs := d.PainSigns
	if signs == nil {
		signs = []string{}
	}
	n, err := tx.exec(ctx, "adding a debrief", `
		INSERT INTO debrief (gym_id, debrief_id, athlete_id, plan_id, session_id, day, sets_done, bursts, clean_bursts,
			catches, contacts, minutes, effort, pain, pain_place, pain_signs, note, corrects, recorded_at, recorded_by)
		VALUES (@gym, @id, @athlete, @plan, @session, @day, @sets, @bursts, @clean,
			@catches, @contacts, @minutes, @effort, @pain, @place, @signs, @note, @corrects, @recorded, @by)
		ON CONFLICT (gym_id, debrief_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": d.DebriefID, "athlete": d.AthleteID, "plan": orNull(d.PlanID), "session": orNull(d.SessionID),
			"day": d.Day, "sets": d.SetsDone, "bursts": d.Bursts, "clean": d.CleanBursts, "catches": d.Catches,
			"contacts": d.Contacts, "minutes": d.Minutes, "effort": d.Effort, "pain": d.Pain, "place": d.PainPlace,
			"signs": signs, "note": d.Note, "corrects": orNull(d.Corrects), "recorded": d.RecordedAt, "by": d.RecordedBy})
	if broke(err, "debrief_corrected_once") {
		return false, problem.Wrap(err, problem.Conflict, "Somebody corrected this entry before you. Open it again to see the newer one.")
	}
	tx.announce(d.AthleteID)
	return n == 1, err
}
