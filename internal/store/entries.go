package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// PhoneEntry reads the receipt of an entry; *into stays empty if none was kept.
func PhoneEntry(id uuid.UUID, into *[]gym.PhoneEntry) Reading {
	return many("phone entry", into, `
		SELECT entry_id, kind, sent_by, coalesce(device_id, '00000000-0000-0000-0000-000000000000') AS device_id,
		       body_hash, device_at, offset_ms, received_at
		FROM phone_entry
		WHERE entry_id = @entry`, pgx.StrictNamedArgs{"entry": id})
}

// AddPhoneEntry keeps the receipt of an entry; added is false if there is one
// under that id.
func (tx *Tx) AddPhoneEntry(ctx context.Context, e gym.PhoneEntry) (added bool, err error) {
	n, err := tx.exec(ctx, "keeping a phone's entry", `
		INSERT INTO phone_entry (gym_id, entry_id, kind, sent_by, device_id, body_hash, device_at, offset_ms, received_at)
		VALUES (@gym, @id, @kind, @by, @device, @hash, @device_at, @offset, @at)
		ON CONFLICT (gym_id, entry_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": e.EntryID, "kind": e.Kind, "by": e.SentBy, "device": orNull(e.DeviceID), "hash": e.BodyHash,
			"device_at": e.DeviceAt, "offset": e.OffsetMS, "at": e.ReceivedAt})
	return n == 1, err
}

// AddSetLog keeps a set as it was done; the same id again changes nothing.
func (tx *Tx) AddSetLog(ctx context.Context, l gym.SetLog) (added bool, err error) {
	if err := tx.mayKeep(ctx, l.DoneAt.Year(), l.AthleteID); err != nil {
		return false, err
	}
	n, err := tx.exec(ctx, "adding a set", `
		INSERT INTO set_log (gym_id, set_log_id, athlete_id, plan_id, set_number, bursts, clean_bursts, catches_steady, catches_burst,
			shortened, done_at, recorded_at, recorded_by)
		VALUES (@gym, @id, @athlete, @plan, @number, @bursts, @clean, @steady, @burst, @shortened, @done, @recorded, @by)
		ON CONFLICT (gym_id, set_log_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": l.SetLogID, "athlete": l.AthleteID, "plan": l.PlanID, "number": l.SetNumber, "bursts": l.Bursts,
			"clean": l.CleanBursts, "steady": l.CatchesSteady, "burst": l.CatchesBurst, "shortened": l.Shortened, "done": l.DoneAt,
			"recorded": l.RecordedAt, "by": l.RecordedBy})
	if broke(err, "set_log_gym_id_plan_id_fkey") {
		return false, problem.Wrap(err, problem.NotFound, "There is no such plan in this gym.")
	}
	tx.announce(l.AthleteID)
	return n == 1, err
}

// Debrief reads one debrief, corrected or not.
func Debrief(id uuid.UUID, into *gym.Debrief) Reading {
	return one("debrief", "There is no such entry in this gym.", into, `
		SELECT `+debriefColumns+`
		FROM debrief d
		WHERE d.debrief_id = @debrief`, pgx.StrictNamedArgs{"debrief": id})
}

// Classmates reads the athletes who share a class with an athlete, by the order
// they stand in, without the athlete.
func Classmates(athlete uuid.UUID, into *[]gym.Athlete) Reading {
	return many("class-mates", into, selectAthlete+`
		WHERE a.archived_at IS NULL AND a.athlete_id <> @athlete AND EXISTS (
			SELECT FROM enrolment own JOIN enrolment other USING (gym_id, class_id)
			WHERE own.athlete_id = @athlete AND own.until IS NULL AND other.athlete_id = a.athlete_id AND other.until IS NULL)
		ORDER BY CASE WHEN a.sort_name <> '' THEN lower(a.sort_name) ELSE a.name_key END, a.athlete_id`,
		pgx.StrictNamedArgs{"athlete": athlete})
}
