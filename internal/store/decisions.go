package store

import (
	"context"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

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

// Decisions reads every decision on somebody, newest first, without the
// evidence as it stood.
func Decisions(whom Whom, into *[]gym.StageDecision) Reading {
	return many("decisions", into, `
		SELECT `+strings.Replace(decisionColumns, "d.evidence", "'[]'::jsonb AS evidence", 1)+`
		FROM stage_decision d
		WHERE d.athlete_id `+whom.among+`
		ORDER BY d.athlete_id, d.decided_at DESC, d.decision_id DESC`, whom.with(pgx.StrictNamedArgs{}))
}

// Decision reads one decision.
func Decision(id uuid.UUID, into *gym.StageDecision) Reading {
	return one("decision", "There is no such decision in this gym.", into, `
		SELECT `+decisionColumns+`
		FROM stage_decision d
		WHERE d.decision_id = @decision`, pgx.StrictNamedArgs{"decision": id})
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
	switch {
	case broke(err, "stage_decision_taken_back_once"):
		return false, problem.Wrap(err, problem.Conflict, "Somebody took this decision back before you.")
	case broke(err, "stage_decision_gym_id_athlete_id_fkey"):
		return false, problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return n == 1, err
}
