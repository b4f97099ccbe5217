package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// SessionStarting reads the meeting that a class has at a moment; none leaves
// *into empty.
func SessionStarting(class uuid.UUID, at time.Time, into *[]gym.Session) Reading {
	return many("session that starts", into, selectSession+`
		WHERE class_id = @class AND starts_at = @at`, pgx.StrictNamedArgs{"class": class, "at": at})
}

// OpenSessions reads the meetings that were checked in and are not logged yet,
// newest first, opened since a moment.
func OpenSessions(since time.Time, into *[]gym.Session) Reading {
	return many("open sessions", into, selectSession+`
		WHERE opened_at >= @since AND closed_at IS NULL
		ORDER BY opened_at DESC, session_id`, pgx.StrictNamedArgs{"since": since})
}

// LastSessionOf reads the newest meeting of a class that was checked in before
// a moment; none leaves *into empty.
func LastSessionOf(class uuid.UUID, before time.Time, into *[]gym.Session) Reading {
	return many("last session", into, selectSession+`
		WHERE class_id = @class AND opened_at IS NOT NULL AND starts_at < @before
		ORDER BY starts_at DESC
		LIMIT 1`, pgx.StrictNamedArgs{"class": class, "before": before})
}

// AttendanceAt reads who was noted at one session.
func AttendanceAt(session uuid.UUID, into *[]Attendance) Reading {
	return many("attendance of a session", into, `
		SELECT session_id, athlete_id, here
		FROM attendance
		WHERE session_id = @session
		ORDER BY athlete_id`, pgx.StrictNamedArgs{"session": session})
}

// LastAttendanceOf reads who was noted at the newest meeting of a class that was
// checked in before a moment.
func LastAttendanceOf(class uuid.UUID, before time.Time, into *[]Attendance) Reading {
	return many("attendance of the last session", into, `
		SELECT a.session_id, a.athlete_id, a.here
		FROM attendance a
		WHERE a.session_id = (
			SELECT session_id FROM session
			WHERE class_id = @class AND opened_at IS NOT NULL AND starts_at < @before
			ORDER BY starts_at DESC
			LIMIT 1)
		ORDER BY a.athlete_id`, pgx.StrictNamedArgs{"class": class, "before": before})
}

// OpenSession notes that check-in began; the first time counts.
func (tx *Tx) OpenSession(ctx context.Context, session uuid.UUID, at time.Time) error {
	_, err := tx.exec(ctx, "opening a session", `
		UPDATE session SET opened_at = @at
		WHERE gym_id = @gym AND session_id = @session AND opened_at IS NULL`,
		pgx.StrictNamedArgs{"session": session, "at": at})
	tx.announce(session)
	return err
}

// CloseSession notes that the class was logged, with the coach's note; closed
// again, the newer note stays.
func (tx *Tx) CloseSession(ctx context.Context, session uuid.UUID, note string, at time.Time) error {
	_, err := tx.exec(ctx, "closing a session", `
		UPDATE session SET closed_at = coalesce(closed_at, @at), note = @note
		WHERE gym_id = @gym AND session_id = @session`,
		pgx.StrictNamedArgs{"session": session, "note": note, "at": at})
	tx.announce(session)
	return err
}

// FloorOf reads the space of a class; none leaves *into empty.
func FloorOf(class uuid.UUID, into *[]gym.Floor) Reading {
	return many("floor", into, `
		SELECT class_id, length_m, width_m, spacing_m, surface, note, noted_at, noted_by
		FROM floor
		WHERE class_id = @class`, pgx.StrictNamedArgs{"class": class})
}

// SetFloor notes the space of a class.
func (tx *Tx) SetFloor(ctx context.Context, f gym.Floor) error {
	_, err := tx.exec(ctx, "noting a floor", `
		INSERT INTO floor (gym_id, class_id, length_m, width_m, spacing_m, surface, note, noted_at, noted_by)
		VALUES (@gym, @class, @length, @width, @spacing, @surface, @note, @at, @by)
		ON CONFLICT (gym_id, class_id) DO UPDATE SET length_m = @length, width_m = @width, spacing_m = @spacing,
			surface = @surface, note = @note, noted_at = @at, noted_by = @by`,
		pgx.StrictNamedArgs{"class": f.ClassID, "length": f.LengthM, "width": f.WidthM, "spacing": f.SpacingM,
			"surface": f.Surface, "note": f.Note, "at": f.NotedAt, "by": f.NotedBy})
	return err
}

// OutfitsOfClass reads height and shoes of everybody in a class, where noted.
func OutfitsOfClass(class uuid.UUID, into *[]gym.Outfit) Reading {
	return many("outfits", into, `
		SELECT o.athlete_id, o.height_cm, o.shoes, o.noted_at, o.noted_by
		FROM outfit o JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL
		ORDER BY e.place, o.athlete_id`, pgx.StrictNamedArgs{"class": class})
}

// SetOutfits notes height and shoes of several athletes.
func (tx *Tx) SetOutfits(ctx context.Context, outfits []gym.Outfit) error {
	for _, o := range outfits {
		_, err := tx.exec(ctx, "noting height and shoes", `
			INSERT INTO outfit (gym_id, athlete_id, height_cm, shoes, noted_at, noted_by)
			VALUES (@gym, @athlete, @height, @shoes, @at, @by)
			ON CONFLICT (gym_id, athlete_id) DO UPDATE SET height_cm = @height, shoes = @shoes, noted_at = @at, noted_by = @by`,
			pgx.StrictNamedArgs{"athlete": o.AthleteID, "height": o.HeightCM, "shoes": o.Shoes, "at": o.NotedAt, "by": o.NotedBy})
		if err != nil {
			return err
		}
	}
	return nil
}

// ClassTests reads the tests that a class did together on a day, oldest first.
func ClassTests(class uuid.UUID, day time.Time, into *[]gym.ClassTest) Reading {
	return many("class tests", into, `
		SELECT class_test_id, class_id, coalesce(session_id, '00000000-0000-0000-0000-000000000000') AS session_id, day,
		       protocol, seconds, step, rope_kind, surface, counted_by, one_foot, opened_at, opened_by,
		       lead(opened_at) OVER (PARTITION BY protocol, seconds, step ORDER BY opened_at, class_test_id) AS until
		FROM class_test
		WHERE class_id = @class AND day = @day
		ORDER BY opened_at, class_test_id`, pgx.StrictNamedArgs{"class": class, "day": day})
}

// AddClassTest keeps a class's test; the same id again changes nothing.
func (tx *Tx) AddClassTest(ctx context.Context, t gym.ClassTest) error {
	_, err := tx.exec(ctx, "adding a class test", `
		INSERT INTO class_test (gym_id, class_test_id, class_id, session_id, day, protocol, seconds, step, rope_kind, surface,
			counted_by, one_foot, opened_at, opened_by)
		VALUES (@gym, @id, @class, @session, @day, @protocol, @seconds, @step, @rope, @surface, @counted_by, @one_foot, @at, @by)
		ON CONFLICT (gym_id, class_test_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": t.ClassTestID, "class": t.ClassID, "session": orNull(t.SessionID), "day": t.Day, "protocol": t.Protocol,
			"seconds": t.Seconds, "step": t.Step, "rope": t.RopeKind, "surface": t.Surface, "counted_by": t.CountedBy, "one_foot": t.OneFoot,
			"at": t.OpenedAt, "by": t.OpenedBy})
	return err
}

// LockCount makes whoever wants to count the same athlete's go at the same test
// wait until this transaction ends.
func (tx *Tx) LockCount(ctx context.Context, test, athlete uuid.UUID) error {
	_, err := tx.tx.Exec(ctx, `SELECT pg_advisory_xact_lock(hashtextextended($1, 0))`, test.String()+athlete.String())
	return err
}

// RunEvents reads what was pressed on a session's clock, in order.
func RunEvents(session uuid.UUID, into *[]gym.RunEvent) Reading {
	return many("run events", into, `
		SELECT session_id, number, kind, at, elapsed, course, by
		FROM run_event
		WHERE session_id = @session
		ORDER BY number`, pgx.StrictNamedArgs{"session": session})
}

// AddRunEvent keeps a press on the clock. Somebody else's press with the same
// number makes it a Conflict.
func (tx *Tx) AddRunEvent(ctx context.Context, e gym.RunEvent) error {
	var course *string
	if e.Course != nil {
		text := string(e.Course)
		course = &text
	}
	_, err := tx.exec(ctx, "pressing the clock", `
		INSERT INTO run_event (gym_id, session_id, number, kind, at, elapsed, course, by)
		VALUES (@gym, @session, @number, @kind, @at, @elapsed, @course::json, @by)`,
		pgx.StrictNamedArgs{"session": e.SessionID, "number": e.Number, "kind": e.Kind, "at": e.At, "elapsed": e.Elapsed,
			"course": course, "by": e.By})
	if broke(err, "run_event_pkey") {
		return problem.Wrap(err, problem.Conflict, "Somebody pressed the clock at the same moment. Look where it stands, then press again if you need to.")
	}
	tx.announce(e.SessionID)
	return err
}

// Hands reads the calls for the coach in a session, the newest of each athlete.
func Hands(session uuid.UUID, into *[]gym.Hand) Reading {
	return many("hands", into, `
		SELECT DISTINCT ON (athlete_id) hand_id, session_id, athlete_id, up, at, by
		FROM hand
		WHERE session_id = @session
		ORDER BY athlete_id, at DESC, hand_id DESC`, pgx.StrictNamedArgs{"session": session})
}

// AddHand keeps a call for the coach; the same id again changes nothing.
func (tx *Tx) AddHand(ctx context.Context, h gym.Hand) error {
	_, err := tx.exec(ctx, "keeping a hand up", `
		INSERT INTO hand (gym_id, hand_id, session_id, athlete_id, up, at, by)
		VALUES (@gym, @id, @session, @athlete, @up, @at, @by)
		ON CONFLICT (gym_id, hand_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": h.HandID, "session": h.SessionID, "athlete": h.AthleteID, "up": h.Up, "at": h.At, "by": h.By})
	if broke(err, "hand_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	tx.announce(h.SessionID)
	return err
}

const incidentColumns = `
	i.incident_id, coalesce(i.class_id, '00000000-0000-0000-0000-000000000000') AS class_id,
	coalesce(i.session_id, '00000000-0000-0000-0000-000000000000') AS session_id,
	coalesce(i.athlete_id, '00000000-0000-0000-0000-000000000000') AS athlete_id,
	i.happened_at, i.place, i.what, i.seen_by, i.done, i.guardian_told,
	coalesce(i.corrects, '00000000-0000-0000-0000-000000000000') AS corrects, i.recorded_at, i.recorded_by`

// Incidents reads the incidents that nothing corrected, newest first.
func Incidents(p Page, into *[]gym.Incident) Reading {
	return many("incidents", into, `
		SELECT `+incidentColumns+`
		FROM incident i
		WHERE NOT EXISTS (SELECT FROM incident later WHERE later.gym_id = i.gym_id AND later.corrects = i.incident_id)`+
		p.older("incident", "i", "happened_at", "incident_id")+`
		ORDER BY i.happened_at DESC, i.incident_id DESC
		LIMIT @most`, p.with(pgx.StrictNamedArgs{}))
}

// IncidentsOfClass reads the incidents of a class that stand and happened since a
// moment, newest first.
func IncidentsOfClass(class uuid.UUID, since time.Time, into *[]gym.Incident) Reading {
	return many("incidents of a class", into, `
		SELECT `+incidentColumns+`
		FROM incident i
		WHERE i.class_id = @class AND i.happened_at > @since
		  AND NOT EXISTS (SELECT FROM incident later WHERE later.gym_id = i.gym_id AND later.corrects = i.incident_id)
		ORDER BY i.happened_at DESC, i.incident_id DESC`, pgx.StrictNamedArgs{"class": class, "since": since})
}

// Incident reads one incident, corrected or not.
func Incident(id uuid.UUID, into *gym.Incident) Reading {
	return one("incident", "There is no such incident in this gym.", into, `
		SELECT `+incidentColumns+`
		FROM incident i
		WHERE i.incident_id = @incident`, pgx.StrictNamedArgs{"incident": id})
}

// AddIncident keeps an incident; the same id again changes nothing.
func (tx *Tx) AddIncident(ctx context.Context, i gym.Incident) (added bool, err error) {
	n, err := tx.exec(ctx, "adding an incident", `
		INSERT INTO incident (gym_id, incident_id, class_id, session_id, athlete_id, happened_at, place, what, seen_by, done,
			guardian_told, corrects, recorded_at, recorded_by)
		VALUES (@gym, @id, @class, @session, @athlete, @happened, @place, @what, @seen_by, @done, @told, @corrects, @at, @by)
		ON CONFLICT (gym_id, incident_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": i.IncidentID, "class": orNull(i.ClassID), "session": orNull(i.SessionID), "athlete": orNull(i.AthleteID),
			"happened": i.HappenedAt, "place": i.Place, "what": i.What, "seen_by": i.SeenBy, "done": i.Done, "told": i.GuardianTold,
			"corrects": orNull(i.Corrects), "at": i.RecordedAt, "by": i.RecordedBy})
	switch {
	case broke(err, "incident_corrected_once"):
		return false, problem.Wrap(err, problem.Conflict, "Somebody corrected this entry before you. Open it again to see the newer one.")
	case broke(err, "incident_gym_id_athlete_id_fkey"):
		return false, problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return n == 1, err
}
