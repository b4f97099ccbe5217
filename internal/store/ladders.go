package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// newestVersion is the newest version of ladder l.
const newestVersion = `(SELECT max(v.version) FROM ladder_version v WHERE v.gym_id = l.gym_id AND v.ladder_id = l.ladder_id)`

const selectStage = `
	SELECT s.ladder_id, s.version, s.number, s.key, s.title, s.body
	FROM stage s JOIN ladder l USING (gym_id, ladder_id)`

// Stages reads the newest version of the ladder in use, first stage first.
func Stages(into *[]gym.Stage) Reading {
	return many("stages", into, selectStage+`
		WHERE l.in_use AND s.version = `+newestVersion+`
		ORDER BY s.number`, pgx.StrictNamedArgs{})
}

// StageTitles reads the same stages without their bodies, which are most of
// their bytes.
func StageTitles(into *[]gym.Stage) Reading {
	return many("stage titles", into, `
		SELECT s.ladder_id, s.version, s.number, s.key, s.title, '{}'::jsonb AS body
		FROM stage s JOIN ladder l USING (gym_id, ladder_id)
		WHERE l.in_use AND s.version = `+newestVersion+`
		ORDER BY s.number`, pgx.StrictNamedArgs{})
}

// StagesOf reads a version of a ladder, the newest where version is 0, first
// stage first.
func StagesOf(ladder uuid.UUID, version int, into *[]gym.Stage) Reading {
	return many("stages of a ladder", into, selectStage+`
		WHERE l.ladder_id = @ladder AND s.version = CASE WHEN @version = 0 THEN `+newestVersion+` ELSE @version END
		ORDER BY s.number`, pgx.StrictNamedArgs{"ladder": ladder, "version": version})
}

// StageKeys reads the keys of the stages of every version of every ladder, in
// their order, without their bodies: enough to tell where somebody stands whose
// stage was retired.
func StageKeys(into *[]gym.Stage) Reading {
	return many("stage keys", into, `
		SELECT s.ladder_id, s.version, s.number, s.key, s.title, '{}'::jsonb AS body
		FROM stage s
		ORDER BY s.ladder_id, s.version, s.number`, pgx.StrictNamedArgs{})
}

const selectLadder = `
	SELECT l.ladder_id, l.key, l.name, l.lang, l.in_use, coalesce(` + newestVersion + `, 0) AS version, l.created_at
	FROM ladder l`

// Ladders reads the gym's ladders, the one in use first, then by name.
func Ladders(into *[]gym.Ladder) Reading {
	return many("ladders", into, selectLadder+`
		ORDER BY l.in_use DESC, lower(l.name), l.ladder_id`, pgx.StrictNamedArgs{})
}

// LadderInUse reads the ladder in use, if there is one.
func LadderInUse(into *[]gym.Ladder) Reading {
	return many("ladder in use", into, selectLadder+`
		WHERE l.in_use`, pgx.StrictNamedArgs{})
}

// Ladder reads one ladder.
func Ladder(id uuid.UUID, into *gym.Ladder) Reading {
	return one("ladder", "There is no such ladder in this gym.", into, selectLadder+`
		WHERE l.ladder_id = @ladder`, pgx.StrictNamedArgs{"ladder": id})
}

// LadderVersions reads the published states of a ladder, newest first.
func LadderVersions(ladder uuid.UUID, into *[]gym.LadderVersion) Reading {
	return many("versions of a ladder", into, `
		SELECT ladder_id, version, note, published_at,
		       coalesce(published_by, '00000000-0000-0000-0000-000000000000') AS published_by
		FROM ladder_version
		WHERE ladder_id = @ladder
		ORDER BY version DESC`, pgx.StrictNamedArgs{"ladder": ladder})
}

// AddLadder adds a ladder, in use or not.
func (tx *Tx) AddLadder(ctx context.Context, l gym.Ladder) error {
	_, err := tx.exec(ctx, "adding a ladder", `
		INSERT INTO ladder (gym_id, ladder_id, key, name, lang, in_use, created_at)
		VALUES (@gym, @id, @key, @name, @lang, @in_use, @at)`,
		pgx.StrictNamedArgs{"id": l.LadderID, "key": l.Key, "name": l.Name, "lang": l.Lang, "in_use": l.InUse, "at": l.CreatedAt})
	return err
}

// NameLadder gives a ladder another name, and the language of its texts.
func (tx *Tx) NameLadder(ctx context.Context, ladder uuid.UUID, name, lang string) error {
	_, err := tx.exec(ctx, "naming a ladder", `UPDATE ladder SET name = @name, lang = @lang WHERE gym_id = @gym AND ladder_id = @ladder`,
		pgx.StrictNamedArgs{"ladder": ladder, "name": name, "lang": lang})
	return err
}

// UseLadder puts a ladder into use instead of the one that was.
func (tx *Tx) UseLadder(ctx context.Context, ladder uuid.UUID) error {
	if _, err := tx.exec(ctx, "taking a ladder out of use", `UPDATE ladder SET in_use = false WHERE gym_id = @gym AND in_use`, pgx.StrictNamedArgs{}); err != nil {
		return err
	}
	_, err := tx.exec(ctx, "putting a ladder into use", `UPDATE ladder SET in_use = true WHERE gym_id = @gym AND ladder_id = @ladder`,
		pgx.StrictNamedArgs{"ladder": ladder})
	return err
}

// AddLadderVersion publishes a version with its stages. A version that is there
// already is a Conflict.
func (tx *Tx) AddLadderVersion(ctx context.Context, v gym.LadderVersion, stages []gym.Stage) error {
	_, err := tx.exec(ctx, "adding a ladder version", `
		INSERT INTO ladder_version (gym_id, ladder_id, version, note, published_at, published_by)
		VALUES (@gym, @ladder, @version, @note, @at, @by)`,
		pgx.StrictNamedArgs{"ladder": v.LadderID, "version": v.Version, "note": v.Note, "at": v.PublishedAt, "by": orNull(v.PublishedBy)})
	if broke(err, "ladder_version_pkey") {
		return problem.Wrap(err, problem.Conflict, "Somebody published this ladder before you. Look at their version first.")
	}
	if err != nil {
		return err
	}
	numbers, keys, titles, bodies := make([]int, len(stages)), make([]string, len(stages)), make([]string, len(stages)), make([]string, len(stages))
	for i, s := range stages {
		numbers[i], keys[i], titles[i], bodies[i] = s.Number, s.Key, s.Title, string(s.Body)
	}
	_, err = tx.exec(ctx, "adding stages", `
		INSERT INTO stage (gym_id, ladder_id, version, number, key, title, body)
		SELECT @gym, @ladder, @version, u.number, u.key, u.title, u.body::jsonb
		FROM unnest(@numbers::int[], @keys::text[], @titles::text[], @bodies::text[]) AS u (number, key, title, body)`,
		pgx.StrictNamedArgs{"ladder": v.LadderID, "version": v.Version, "numbers": numbers, "keys": keys, "titles": titles, "bodies": bodies})
	return err
}

// LadderDraft reads the draft of a ladder, if there is one.
func LadderDraft(ladder uuid.UUID, into *[]gym.LadderDraft) Reading {
	return many("draft of a ladder", into, `
		SELECT ladder_id, based_on, revision, body, changed_at, changed_by
		FROM ladder_draft
		WHERE ladder_id = @ladder`, pgx.StrictNamedArgs{"ladder": ladder})
}

// LadderDrafts reads the drafts of all ladders.
func LadderDrafts(into *[]gym.LadderDraft) Reading {
	return many("drafts of ladders", into, `
		SELECT ladder_id, based_on, revision, body, changed_at, changed_by
		FROM ladder_draft
		ORDER BY ladder_id`, pgx.StrictNamedArgs{})
}

// SaveLadderDraft keeps a draft if it is the first, at revision 1, or follows
// the one kept; anything else is a Conflict.
func (tx *Tx) SaveLadderDraft(ctx context.Context, d gym.LadderDraft) error {
	n, err := tx.exec(ctx, "saving a ladder draft", `
		INSERT INTO ladder_draft (gym_id, ladder_id, based_on, revision, body, changed_at, changed_by)
		SELECT @gym, @ladder, @based_on, @revision::int, @body::json, @at, @by
		WHERE @revision = 1 OR EXISTS (SELECT FROM ladder_draft WHERE gym_id = @gym AND ladder_id = @ladder)
		ON CONFLICT (gym_id, ladder_id) DO UPDATE
		SET based_on = EXCLUDED.based_on, revision = EXCLUDED.revision, body = EXCLUDED.body, changed_at = EXCLUDED.changed_at, changed_by = EXCLUDED.changed_by
		WHERE ladder_draft.revision = EXCLUDED.revision - 1`,
		pgx.StrictNamedArgs{"ladder": d.LadderID, "based_on": d.BasedOn, "revision": d.Revision, "body": string(d.Body), "at": d.ChangedAt, "by": d.ChangedBy})
	if err == nil && n == 0 {
		return problem.New(problem.Conflict, "Somebody else changed this ladder meanwhile. Open it again, then make your change.")
	}
	return err
}

// DropLadderDraft throws a draft away.
func (tx *Tx) DropLadderDraft(ctx context.Context, ladder uuid.UUID) error {
	_, err := tx.exec(ctx, "throwing a ladder draft away", `DELETE FROM ladder_draft WHERE gym_id = @gym AND ladder_id = @ladder`,
		pgx.StrictNamedArgs{"ladder": ladder})
	return err
}
