package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// HealthAnswersOf reads the answers on an athlete's health, newest first.
func HealthAnswersOf(athlete uuid.UUID, into *[]gym.HealthAnswer) Reading {
	return many("answers on an athlete's health", into, `
		SELECT answer_id, athlete_id, yes, note, answered_at, answered_by
		FROM health_answer
		WHERE athlete_id = @athlete
		ORDER BY answered_at DESC, answer_id DESC`, pgx.StrictNamedArgs{"athlete": athlete})
}

// AddHealthAnswer keeps answers; the same id again changes nothing.
func (tx *Tx) AddHealthAnswer(ctx context.Context, a gym.HealthAnswer) error {
	if err := tx.mayKeep(ctx, a.AnsweredAt.Year(), a.AthleteID); err != nil {
		return err
	}
	yes := a.Yes
	if yes == nil {
		yes = []string{}
	}
	_, err := tx.exec(ctx, "adding answers on health", `
		INSERT INTO health_answer (gym_id, answer_id, athlete_id, yes, note, answered_at, answered_by)
		VALUES (@gym, @id, @athlete, @yes, @note, @at, @by)
		ON CONFLICT (gym_id, answer_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": a.AnswerID, "athlete": a.AthleteID, "yes": yes, "note": a.Note, "at": a.AnsweredAt, "by": a.AnsweredBy})
	if broke(err, "health_answer_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return err
}

// HealthTalksOf reads the talks about an athlete's health, newest first.
func HealthTalksOf(athlete uuid.UUID, into *[]gym.HealthTalk) Reading {
	return many("talks about an athlete's health", into, `
		SELECT talk_id, athlete_id, note, at, by
		FROM health_talk
		WHERE athlete_id = @athlete
		ORDER BY at DESC, talk_id DESC`, pgx.StrictNamedArgs{"athlete": athlete})
}

// AddHealthTalk keeps that a coach talked; the same id again changes nothing.
func (tx *Tx) AddHealthTalk(ctx context.Context, t gym.HealthTalk) error {
	_, err := tx.exec(ctx, "adding a talk", `
		INSERT INTO health_talk (gym_id, talk_id, athlete_id, note, at, by)
		VALUES (@gym, @id, @athlete, @note, @at, @by)
		ON CONFLICT (gym_id, talk_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": t.TalkID, "athlete": t.AthleteID, "note": t.Note, "at": t.At, "by": t.By})
	if broke(err, "health_talk_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return err
}

// Untalked reads the athletes whose newest answers on health hold a yes that
// nobody has talked about since. It says nothing of what was answered.
func Untalked(into *[]uuid.UUID) Reading {
	return ids("athletes to talk to about their health", into, `
		SELECT newest.athlete_id
		FROM (SELECT DISTINCT ON (athlete_id) athlete_id, yes, answered_at
		      FROM health_answer ORDER BY athlete_id, answered_at DESC, answer_id DESC) AS newest
		WHERE cardinality(newest.yes) > 0
		  AND NOT EXISTS (SELECT FROM health_talk t WHERE t.athlete_id = newest.athlete_id AND t.at >= newest.answered_at)`)
}

// ids reads a column of ids.
func ids(doing string, into *[]uuid.UUID, sql string) Reading {
	return func(batch *pgx.Batch) {
		batch.Queue(sql).Query(func(rows pgx.Rows) error {
			found, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
			*into = found
			return err
		})
	}
}

// ToldOf reads what guardians of an athlete learned of, newest first.
func ToldOf(athlete uuid.UUID, into *[]gym.Told) Reading {
	return many("what guardians were told", into, `
		SELECT told_id, athlete_id, about, about_id, coalesce(guardian_id, '00000000-0000-0000-0000-000000000000') AS guardian_id, how, at, by
		FROM guardian_told
		WHERE athlete_id = @athlete
		ORDER BY at DESC, told_id DESC`, pgx.StrictNamedArgs{"athlete": athlete})
}

// AddTold keeps that a guardian learned of something.
func (tx *Tx) AddTold(ctx context.Context, t gym.Told) error {
	_, err := tx.exec(ctx, "noting that a guardian was told", `
		INSERT INTO guardian_told (gym_id, told_id, athlete_id, about, about_id, guardian_id, how, at, by)
		VALUES (@gym, @id, @athlete, @about, @about_id, @guardian, @how, @at, @by)
		ON CONFLICT (gym_id, told_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": t.ToldID, "athlete": t.AthleteID, "about": t.About, "about_id": t.AboutID, "guardian": orNull(t.GuardianID),
			"how": t.How, "at": t.At, "by": t.By})
	if broke(err, "guardian_told_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return err
}

// An Untold is something that no guardian of a minor has learned of yet.
type Untold struct {
	AthleteID uuid.UUID
	Name      string
	About     string // hold or incident
	AboutID   uuid.UUID
	Phones    int // of guardians that are let in and could show it
}
