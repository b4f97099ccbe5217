package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectDevice = `
	SELECT device_id, athlete_id, coalesce(guardian_id, '00000000-0000-0000-0000-000000000000') AS guardian_id,
	       label, shared, let_in_at, last_seen_at, cut_off_at
	FROM device`

// DevicesOf reads the phones of an athlete and of the athlete's guardians,
// newest first, those cut off too.
func DevicesOf(athlete uuid.UUID, into *[]gym.Device) Reading {
	return many("devices of an athlete", into, selectDevice+`
		WHERE athlete_id = @athlete
		ORDER BY let_in_at DESC, device_id DESC`, pgx.StrictNamedArgs{"athlete": athlete})
}

// DevicesOfClass reads the phones of a class's athletes that are still let in,
// by athlete, newest first. Guardians' phones are left out.
func DevicesOfClass(class uuid.UUID, into *[]gym.Device) Reading {
	return many("devices of a class", into, selectDevice+`
		JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL AND guardian_id IS NULL AND cut_off_at IS NULL
		ORDER BY athlete_id, let_in_at DESC, device_id DESC`, pgx.StrictNamedArgs{"class": class})
}

// AddDevice lets a phone in.
func (tx *Tx) AddDevice(ctx context.Context, d gym.Device) error {
	_, err := tx.exec(ctx, "adding a device", `
		INSERT INTO device (gym_id, device_id, athlete_id, guardian_id, label, shared, let_in_at, last_seen_at)
		VALUES (@gym, @id, @athlete, @guardian, @label, @shared, @at, @at)`,
		pgx.StrictNamedArgs{"id": d.DeviceID, "athlete": d.AthleteID, "guardian": orNull(d.GuardianID), "label": d.Label, "shared": d.Shared, "at": d.LetInAt})
	return err
}

// seenEvery is how finely it is kept when a phone was last seen: a page view
// alone shall not write.
const seenEvery = time.Hour

// SeeDevice notes that a phone was here.
func (tx *Tx) SeeDevice(ctx context.Context, device uuid.UUID, at time.Time) error {
	_, err := tx.exec(ctx, "noting a device", `
		UPDATE device SET last_seen_at = @at
		WHERE gym_id = @gym AND device_id = @device AND last_seen_at < @before`,
		pgx.StrictNamedArgs{"device": device, "at": at, "before": at.Add(-seenEvery)})
	return err
}

// CutOff shuts a phone out and ends its sign-ins, so that its next request is
// refused.
func (tx *Tx) CutOff(ctx context.Context, device uuid.UUID, at time.Time, by uuid.UUID) error {
	n, err := tx.exec(ctx, "cutting a device off", `
		UPDATE device SET cut_off_at = coalesce(cut_off_at, @at), cut_off_by = coalesce(cut_off_by, @by)
		WHERE gym_id = @gym AND device_id = @device`,
		pgx.StrictNamedArgs{"device": device, "at": at, "by": by})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such phone in this gym.")
	}
	_, err = tx.exec(ctx, "ending a device's sign-ins", endSignIns+`gym_id = @gym AND device_id = @device`,
		pgx.StrictNamedArgs{"device": device})
	return err
}

// Device reads one phone.
func Device(id uuid.UUID, into *gym.Device) Reading {
	return one("device", "There is no such phone in this gym.", into, selectDevice+`
		WHERE device_id = @device`, pgx.StrictNamedArgs{"device": id})
}
