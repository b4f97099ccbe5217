package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

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

// IncidentsOf reads an athlete's incidents that nothing corrected, newest first.
func IncidentsOf(athlete uuid.UUID, into *[]gym.Incident) Reading {
	return many("incidents of an athlete", into, `
		SELECT `+incidentColumns+`
		FROM incident i
		WHERE i.athlete_id = @athlete
		  AND NOT EXISTS (SELECT FROM incident later WHERE later.gym_id = i.gym_id AND later.corrects = i.incident_id)
		ORDER BY i.happened_at DESC, i.incident_id DESC`, pgx.StrictNamedArgs{"athlete": athlete})
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
