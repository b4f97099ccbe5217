package store

import (
	"context"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

const planColumns = `
	p.plan_id, p.athlete_id, p.class_id, coalesce(p.session_id, '00000000-0000-0000-0000-000000000000') AS session_id,
	p.day, p.input, p.output, p.hour, p.parts, p.notes, p.made_at, p.made_by, p.sent_at`

// outlineColumns leave out what a plan was made from and its words, which are
// most of its bytes.
const outlineColumns = `
	p.plan_id, p.athlete_id, p.class_id, coalesce(p.session_id, '00000000-0000-0000-0000-000000000000') AS session_id,
	p.day, NULL::json AS input, p.output, NULL::json AS hour, NULL::json AS parts, p.notes, p.made_at, p.made_by, p.sent_at`

// PlansOfClass reads the newest plan of each athlete of a class for a day.
func PlansOfClass(class uuid.UUID, day time.Time, into *[]gym.Plan) Reading {
	return many("plans of a class", into, `
		SELECT DISTINCT ON (p.athlete_id) `+planColumns+`
		FROM plan p
		WHERE p.class_id = @class AND p.day = @day
		ORDER BY p.athlete_id, p.made_at DESC, p.plan_id DESC`,
		pgx.StrictNamedArgs{"class": class, "day": day})
}

// RecentPlansOfClass reads the plans made for everybody in a class since a
// day, the newest of each day, by athlete, newest day first, without what they
// were made from.
func RecentPlansOfClass(class uuid.UUID, since time.Time, into *[]gym.Plan) Reading {
	return many("recent plans of a class", into, `
		SELECT DISTINCT ON (p.athlete_id, p.day) `+outlineColumns+`
		FROM plan p JOIN enrolment e ON e.gym_id = p.gym_id AND e.athlete_id = p.athlete_id
		WHERE e.class_id = @class AND e.until IS NULL AND p.day >= @since
		ORDER BY p.athlete_id, p.day DESC, p.made_at DESC, p.plan_id DESC`,
		pgx.StrictNamedArgs{"class": class, "since": since})
}

// RecentPlansOf reads an athlete's plans since a day, the newest of each day,
// newest day first, without what they were made from.
func RecentPlansOf(athlete uuid.UUID, since time.Time, into *[]gym.Plan) Reading {
	return many("recent plans of an athlete", into, `
		SELECT DISTINCT ON (p.day) `+outlineColumns+`
		FROM plan p
		WHERE p.athlete_id = @athlete AND p.day >= @since
		ORDER BY p.day DESC, p.made_at DESC, p.plan_id DESC`, pgx.StrictNamedArgs{"athlete": athlete, "since": since})
}

// SentPlans reads the newest plan that was sent to an athlete for each day
// from one on, that day first.
func SentPlans(athlete uuid.UUID, from time.Time, into *[]gym.Plan) Reading {
	return many("sent plans", into, `
		SELECT DISTINCT ON (p.day) `+planColumns+`
		FROM plan p
		WHERE p.athlete_id = @athlete AND p.day >= @from AND p.sent_at IS NOT NULL
		ORDER BY p.day, p.made_at DESC, p.plan_id DESC`, pgx.StrictNamedArgs{"athlete": athlete, "from": from})
}

// Plan reads one plan.
func Plan(id uuid.UUID, into *gym.Plan) Reading {
	return one("plan", "There is no such plan in this gym.", into, `
		SELECT `+planColumns+`
		FROM plan p
		WHERE p.plan_id = @plan`, pgx.StrictNamedArgs{"plan": id})
}

// AthleteOfPlan reads the athlete whose plan it is.
func AthleteOfPlan(plan uuid.UUID, into *gym.Athlete) Reading {
	return one("athlete of a plan", "There is no such plan in this gym.", into, selectAthlete+`
		JOIN plan p USING (gym_id, athlete_id)
		WHERE p.plan_id = @plan`, pgx.StrictNamedArgs{"plan": plan})
}

// AllPlans reads every plan of the gym, oldest first.
func AllPlans(into *[]gym.Plan) Reading {
	return many("all plans", into, `
		SELECT `+planColumns+`
		FROM plan p
		ORDER BY p.made_at, p.plan_id`, pgx.StrictNamedArgs{})
}

// AddPlans keeps plans in one statement; an id that is there already changes
// nothing.
func (tx *Tx) AddPlans(ctx context.Context, plans []gym.Plan) error {
	n := len(plans)
	ids, athletes, classes, by := make([]uuid.UUID, n), make([]uuid.UUID, n), make([]uuid.UUID, n), make([]uuid.UUID, n)
	sessions, days, made, sent := make([]*uuid.UUID, n), make([]time.Time, n), make([]time.Time, n), make([]*time.Time, n)
	inputs, outputs, notes := make([]string, n), make([]string, n), make([]string, n)
	hours, parts := make([]*string, n), make([]*string, n)
	for i, p := range plans {
		ids[i], athletes[i], classes[i], sessions[i], by[i] = p.PlanID, p.AthleteID, p.ClassID, orNull(p.SessionID), p.MadeBy
		days[i], made[i], sent[i], inputs[i], outputs[i] = p.Day, p.MadeAt, p.SentAt, string(p.Input), string(p.Output)
		hours[i], parts[i], notes[i] = textOrNull(p.Hour), textOrNull(p.Parts), strings.Join(p.Notes, " ")
	}
	if n > 0 {
		if err := tx.mayKeep(ctx, days[0].Year(), athletes...); err != nil {
			return err
		}
	}
	_, err := tx.exec(ctx, "adding plans", `
		INSERT INTO plan (gym_id, plan_id, athlete_id, class_id, session_id, day, input, output, hour, parts, notes, made_at, made_by, sent_at)
		SELECT @gym, u.id, u.athlete, u.class, u.session, u.day, u.input::json, u.output::json, u.hour::json, u.parts::json,
		       string_to_array(u.notes, ' '), u.made, u.by, u.sent
		FROM unnest(@ids::uuid[], @athletes::uuid[], @classes::uuid[], @sessions::uuid[], @days::date[],
		            @inputs::text[], @outputs::text[], @hours::text[], @parts::text[], @notes::text[], @made::timestamptz[], @by::uuid[], @sent::timestamptz[])
		     AS u (id, athlete, class, session, day, input, output, hour, parts, notes, made, by, sent)
		ON CONFLICT (gym_id, plan_id) DO NOTHING`,
		pgx.StrictNamedArgs{"ids": ids, "athletes": athletes, "classes": classes, "sessions": sessions, "days": days,
			"inputs": inputs, "outputs": outputs, "hours": hours, "parts": parts, "notes": notes, "made": made, "by": by, "sent": sent})
	return err
}

// textOrNull returns nil for no bytes, which the database keeps as NULL.
func textOrNull(b []byte) *string {
	if b == nil {
		return nil
	}
	text := string(b)
	return &text
}

// SendPlans lets athletes see the newest plan that each has for a day.
func (tx *Tx) SendPlans(ctx context.Context, class uuid.UUID, day, at time.Time) (int, error) {
	n, err := tx.exec(ctx, "sending plans", `
		UPDATE plan SET sent_at = @at
		WHERE gym_id = @gym AND sent_at IS NULL AND plan_id IN (
			SELECT DISTINCT ON (athlete_id) plan_id
			FROM plan
			WHERE gym_id = @gym AND class_id = @class AND day = @day
			ORDER BY athlete_id, made_at DESC, plan_id DESC)`,
		pgx.StrictNamedArgs{"class": class, "day": day, "at": at})
	return int(n), err
}

// WithdrawPlans hides from athletes what was sent to them for days on which the
// class does not meet. The plans stay, and can be sent again.
func (tx *Tx) WithdrawPlans(ctx context.Context, class uuid.UUID, days []time.Time) error {
	_, err := tx.exec(ctx, "withdrawing plans", `
		UPDATE plan SET sent_at = NULL
		WHERE gym_id = @gym AND class_id = @class AND day = ANY(@days::date[]) AND sent_at IS NOT NULL`,
		pgx.StrictNamedArgs{"class": class, "days": days})
	return err
}
