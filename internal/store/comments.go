package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// Comments reads the coaches' words on some athletes' term.
func Comments(term uuid.UUID, whom Whom, into *[]gym.Comment) Reading {
	return many("comments", into, `
		SELECT c.term_id, c.athlete_id, c.draft, c.draft_aim, c.comment, c.aim, c.revision, c.changed_at, c.changed_by,
		       coalesce(p.name, '') AS by_name, coalesce(p.lang, '') AS by_lang, c.shown_at
		FROM report_comment c LEFT JOIN person p ON p.person_id = c.changed_by
		WHERE c.term_id = @term AND c.athlete_id `+whom.among+`
		ORDER BY c.athlete_id`, whom.with(pgx.StrictNamedArgs{"term": term}))
}

// SaveComment keeps what a coach typed, as the revision after the one that the
// coach saw (0: none yet). It is a Conflict if somebody else saved in between.
func (tx *Tx) SaveComment(ctx context.Context, c gym.Comment) error {
	if err := tx.mayKeep(ctx, c.ChangedAt.Year(), c.AthleteID); err != nil {
		return err
	}
	n, err := tx.exec(ctx, "saving a comment", `
		INSERT INTO report_comment AS c (gym_id, term_id, athlete_id, draft, draft_aim, comment, aim, revision, changed_at, changed_by, shown_at)
		SELECT @gym, @term, @athlete, @draft, @draft_aim, @comment, @aim, @revision, @at, @by, @shown
		WHERE @revision = 1 OR EXISTS (SELECT FROM report_comment WHERE gym_id = @gym AND term_id = @term AND athlete_id = @athlete)
		ON CONFLICT (gym_id, term_id, athlete_id) DO UPDATE
		SET draft = @draft, draft_aim = @draft_aim, comment = @comment, aim = @aim, revision = @revision, changed_at = @at, changed_by = @by, shown_at = @shown
		WHERE c.revision = @revision - 1`,
		pgx.StrictNamedArgs{"term": c.TermID, "athlete": c.AthleteID, "draft": c.Draft, "draft_aim": c.DraftAim, "comment": c.Comment, "aim": c.Aim,
			"revision": c.Revision, "at": c.ChangedAt, "by": c.ChangedBy, "shown": c.ShownAt})
	switch {
	case broke(err, "report_comment_gym_id_term_id_fkey"), broke(err, "report_comment_gym_id_athlete_id_fkey"):
		return problem.Wrap(err, problem.NotFound, "There is no such athlete or term in this gym.")
	case err != nil:
		return err
	case n == 0:
		return problem.New(problem.Conflict, "Somebody else wrote here since you opened this page. Open it again to see those words.")
	}
	return nil
}
