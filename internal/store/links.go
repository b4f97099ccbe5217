package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectLink = `
	SELECT link_id, kind, coalesce(class_id, '00000000-0000-0000-0000-000000000000') AS class_id,
	       coalesce(athlete_id, '00000000-0000-0000-0000-000000000000') AS athlete_id,
	       coalesce(session_id, '00000000-0000-0000-0000-000000000000') AS session_id,
	       names, made_at, made_by, expires_at, ended_at
	FROM link`

// Links reads the gym's links of a kind that are not ended, newest first.
func Links(kind gym.LinkKind, into *[]gym.Link) Reading {
	return many("links", into, selectLink+`
		WHERE kind = @kind AND ended_at IS NULL
		ORDER BY made_at DESC, link_id DESC`, pgx.StrictNamedArgs{"kind": kind})
}

// Link reads one link, ended or not.
func Link(id uuid.UUID, into *gym.Link) Reading {
	return one("link", "This link is not in use any more.", into, selectLink+`
		WHERE link_id = @link`, pgx.StrictNamedArgs{"link": id})
}

// AddLink keeps a link and what its secret hashes to.
func (tx *Tx) AddLink(ctx context.Context, l gym.Link, secretHash []byte) error {
	_, err := tx.exec(ctx, "adding a link", `
		INSERT INTO link (gym_id, link_id, kind, class_id, athlete_id, session_id, names, made_at, made_by, expires_at)
		VALUES (@gym, @id, @kind, @class, @athlete, @session, @names, @at, @by, @expires)`,
		pgx.StrictNamedArgs{"id": l.LinkID, "kind": l.Kind, "class": orNull(l.ClassID), "athlete": orNull(l.AthleteID),
			"session": orNull(l.SessionID), "names": l.Names, "at": l.MadeAt, "by": l.MadeBy, "expires": l.ExpiresAt})
	if err != nil {
		return err
	}
	_, err = tx.exec(ctx, "keeping a link's secret", `
		INSERT INTO link_secret (secret_hash, gym_id, link_id) VALUES (@hash, @gym, @id)`,
		pgx.StrictNamedArgs{"hash": secretHash, "id": l.LinkID})
	return err
}

// EndLink makes a link lead nowhere, and tells whoever watches by it.
func (tx *Tx) EndLink(ctx context.Context, id uuid.UUID, at time.Time) error {
	var watched uuid.UUID
	err := tx.tx.QueryRow(ctx, `
		UPDATE link SET ended_at = @at WHERE gym_id = @gym AND link_id = @id AND ended_at IS NULL
		RETURNING coalesce(session_id, link_id)`, pgx.StrictNamedArgs{"gym": tx.gym, "id": id, "at": at}).Scan(&watched)
	if errors.Is(err, pgx.ErrNoRows) {
		return problem.New(problem.NotFound, "There is no such link in this gym, or it has ended.")
	}
	if err != nil {
		return fmt.Errorf("ending a link: %w", err)
	}
	_, err = tx.exec(ctx, "forgetting a link's secret", `DELETE FROM link_secret WHERE gym_id = @gym AND link_id = @id`, pgx.StrictNamedArgs{"id": id})
	tx.announce(watched)
	return err
}

// LinkBySecret returns the gym and link behind a secret; found is false if
// there is none.
func (s *Store) LinkBySecret(ctx context.Context, secretHash []byte) (gymID, link uuid.UUID, found bool, err error) {
	return s.behind(ctx, "link by secret", `SELECT gym_id, link_id FROM link_secret WHERE secret_hash = $1`, secretHash)
}
