package store

import (
	"context"
	"strings"
	"time"

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

// PeopleEver reads whoever works or worked in the gym, by name, without guardians:
// decisions outlive those who made them.
func PeopleEver(into *[]gym.Person) Reading {
	return many("people ever", into, `
		SELECT DISTINCT p.person_id, '' AS sign_in_name, p.name, p.lang, '' AS password_hash, p.created_at
		FROM membership m JOIN person p USING (person_id)
		WHERE m.role <> 'guardian' AND m.gym_id = current_setting('ropewalk.gym')::uuid
		ORDER BY p.name, p.person_id`, pgx.StrictNamedArgs{})
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
	if d.TakesBack == uuid.Nil {
		if err := tx.mayKeep(ctx, d.DecidedOn.Year(), d.AthleteID); err != nil {
			return false, err
		}
	}
	n, err := tx.addDecisions(ctx, []gym.StageDecision{d})
	return n == 1, err
}

// AddDecisions keeps decisions in one statement; an id that is there already
// changes nothing.
func (tx *Tx) AddDecisions(ctx context.Context, decisions []gym.StageDecision) error {
	_, err := tx.addDecisions(ctx, decisions)
	return err
}

func (tx *Tx) addDecisions(ctx context.Context, decisions []gym.StageDecision) (int64, error) {
	n := len(decisions)
	ids, athletes, ladders, by, back := make([]uuid.UUID, n), make([]uuid.UUID, n), make([]uuid.UUID, n), make([]uuid.UUID, n), make([]*uuid.UUID, n)
	verdicts, from, to, reasons, evidence := make([]string, n), make([]string, n), make([]string, n), make([]string, n), make([]string, n)
	versions, on, at := make([]int, n), make([]time.Time, n), make([]time.Time, n)
	for i, d := range decisions {
		ids[i], athletes[i], ladders[i], by[i], back[i] = d.DecisionID, d.AthleteID, d.LadderID, d.DecidedBy, orNull(d.TakesBack)
		verdicts[i], from[i], to[i], reasons[i], evidence[i] = d.Verdict, d.StageFrom, d.StageTo, d.Reason, string(d.Evidence)
		versions[i], on[i], at[i] = d.Version, d.DecidedOn, d.DecidedAt
		if len(d.Evidence) == 0 {
			evidence[i] = "[]"
		}
	}
	added, err := tx.exec(ctx, "adding stage decisions", `
		INSERT INTO stage_decision (gym_id, decision_id, athlete_id, verdict, stage_from, stage_to, ladder_id, version,
			reason, evidence, takes_back, decided_on, decided_at, decided_by)
		SELECT @gym, u.id, u.athlete, u.verdict, u.came, u.goes, u.ladder, u.version, u.reason, u.evidence::jsonb, u.back, u.day, u.at, u.by
		FROM unnest(@ids::uuid[], @athletes::uuid[], @verdicts::text[], @from::text[], @to::text[], @ladders::uuid[], @versions::int[],
		            @reasons::text[], @evidence::text[], @back::uuid[], @on::date[], @at::timestamptz[], @by::uuid[])
		     AS u (id, athlete, verdict, came, goes, ladder, version, reason, evidence, back, day, at, by)
		ON CONFLICT (gym_id, decision_id) DO NOTHING`,
		pgx.StrictNamedArgs{"ids": ids, "athletes": athletes, "verdicts": verdicts, "from": from, "to": to, "ladders": ladders,
			"versions": versions, "reasons": reasons, "evidence": evidence, "back": back, "on": on, "at": at, "by": by})
	switch {
	case broke(err, "stage_decision_taken_back_once"):
		return 0, problem.Wrap(err, problem.Conflict, "Somebody took this decision back before you.")
	case broke(err, "stage_decision_gym_id_athlete_id_fkey"):
		return 0, problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return added, err
}
