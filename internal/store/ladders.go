package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// Stages reads the newest version of the ladder in use, first stage first.
func Stages(into *[]gym.Stage) Reading {
	return many("stages", into, `
		SELECT s.ladder_id, s.version, s.number, s.key, s.title, s.body
		FROM stage s JOIN ladder l USING (gym_id, ladder_id)
		WHERE l.in_use AND s.version = (
			SELECT max(v.version) FROM ladder_version v WHERE v.gym_id = l.gym_id AND v.ladder_id = l.ladder_id)
		ORDER BY s.number`, pgx.StrictNamedArgs{})
}

// AddLadder adds a ladder, in use or not.
func (tx *Tx) AddLadder(ctx context.Context, id uuid.UUID, name string, inUse bool, at time.Time) error {
	_, err := tx.exec(ctx, "adding a ladder", `
		INSERT INTO ladder (gym_id, ladder_id, name, in_use, created_at)
		VALUES (@gym, @id, @name, @in_use, @at)`,
		pgx.StrictNamedArgs{"id": id, "name": name, "in_use": inUse, "at": at})
	return err
}

// AddLadderVersion publishes a version with its stages; by is uuid.Nil for the
// ladder that ships.
func (tx *Tx) AddLadderVersion(ctx context.Context, ladder uuid.UUID, version int, stages []gym.Stage, at time.Time, by uuid.UUID) error {
	if _, err := tx.exec(ctx, "adding a ladder version", `
		INSERT INTO ladder_version (gym_id, ladder_id, version, published_at, published_by)
		VALUES (@gym, @ladder, @version, @at, @by)`,
		pgx.StrictNamedArgs{"ladder": ladder, "version": version, "at": at, "by": orNull(by)}); err != nil {
		return err
	}
	numbers, keys, titles, bodies := make([]int, len(stages)), make([]string, len(stages)), make([]string, len(stages)), make([]string, len(stages))
	for i, s := range stages {
		numbers[i], keys[i], titles[i], bodies[i] = s.Number, s.Key, s.Title, string(s.Body)
	}
	_, err := tx.exec(ctx, "adding stages", `
		INSERT INTO stage (gym_id, ladder_id, version, number, key, title, body)
		SELECT @gym, @ladder, @version, u.number, u.key, u.title, u.body::jsonb
		FROM unnest(@numbers::int[], @keys::text[], @titles::text[], @bodies::text[]) AS u (number, key, title, body)`,
		pgx.StrictNamedArgs{"ladder": ladder, "version": version, "numbers": numbers, "keys": keys, "titles": titles, "bodies": bodies})
	return err
}

const decisionColumns = `
	d.decision_id, d.athlete_id, d.verdict, d.stage_from, d.stage_to, d.ladder_id, d.version, d.reason, d.evidence,
	coalesce(d.takes_back, '00000000-0000-0000-0000-000000000000') AS takes_back, d.decided_on, d.decided_at, d.decided_by`

// PlacesOfClass reads the newest decision on everybody in a class: where each
// stands now.
func PlacesOfClass(class uuid.UUID, into *[]gym.StageDecision) Reading {
	return many("places of a class", into, `
		SELECT DISTINCT ON (d.athlete_id) `+decisionColumns+`
		FROM stage_decision d JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL
		ORDER BY d.athlete_id, d.decided_at DESC, d.decision_id DESC`, pgx.StrictNamedArgs{"class": class})
}

// DecisionsOf reads every decision on an athlete, newest first.
func DecisionsOf(athlete uuid.UUID, into *[]gym.StageDecision) Reading {
	return many("decisions on an athlete", into, `
		SELECT `+decisionColumns+`
		FROM stage_decision d
		WHERE d.athlete_id = @athlete
		ORDER BY d.decided_at DESC, d.decision_id DESC`, pgx.StrictNamedArgs{"athlete": athlete})
}

// AddDecision keeps a decision; the same id again changes nothing.
func (tx *Tx) AddDecision(ctx context.Context, d gym.StageDecision) (added bool, err error) {
	evidence := string(d.Evidence)
	if evidence == "" {
		evidence = "[]"
	}
	n, err := tx.exec(ctx, "adding a stage decision", `
		INSERT INTO stage_decision (gym_id, decision_id, athlete_id, verdict, stage_from, stage_to, ladder_id, version,
			reason, evidence, takes_back, decided_on, decided_at, decided_by)
		VALUES (@gym, @id, @athlete, @verdict, @from, @to, @ladder, @version,
			@reason, @evidence::jsonb, @takes_back, @on, @at, @by)
		ON CONFLICT (gym_id, decision_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": d.DecisionID, "athlete": d.AthleteID, "verdict": d.Verdict, "from": d.StageFrom, "to": d.StageTo,
			"ladder": d.LadderID, "version": d.Version, "reason": d.Reason, "evidence": evidence, "takes_back": orNull(d.TakesBack),
			"on": d.DecidedOn, "at": d.DecidedAt, "by": d.DecidedBy})
	return n == 1, err
}

// Note adds a line to the audit log.
func (tx *Tx) Note(ctx context.Context, id uuid.UUID, at time.Time, by uuid.UUID, action, subject string, subjectID uuid.UUID) error {
	_, err := tx.exec(ctx, "noting in the audit log", `
		INSERT INTO audit (gym_id, audit_id, at, by, action, subject, subject_id)
		VALUES (@gym, @id, @at, @by, @action, @subject, @subject_id)`,
		pgx.StrictNamedArgs{"id": id, "at": at, "by": by, "action": action, "subject": subject, "subject_id": orNull(subjectID)})
	return err
}
