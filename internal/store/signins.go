package store

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// SignIns keeps web sign-ins for scs. It stores a hash of each token, so that
// a copy of the table opens no door. Owner tells whose sign-in data holds.
type SignIns struct {
	store *Store
	owner func(data []byte) Owner
}

// Owner says whose a sign-in is: a person's or an athlete's, in which role, and
// by which phone it came, if by one that was let in. A person who has not
// chosen a gym yet has no role.
type Owner struct {
	Gym, Person, Athlete, Device uuid.UUID
	Role                         gym.Role
	Label                        string        // the kind of browser
	Idle                         time.Duration // unused for longer, it ends; 0: it does not
}

// SignIns returns the sign-in table; owner reads the ids out of the data.
func (s *Store) SignIns(owner func(data []byte) Owner) *SignIns {
	return &SignIns{store: s, owner: owner}
}

func hashToken(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}

// seenEveryMinutes is how finely it is kept when a sign-in was used: a page
// view alone shall not write.
const seenEveryMinutes = 5

// liveSignIn is a sign-in that still counts: neither over nor ended nor unused
// for too long, and its owner may still come in. Membership, athlete and phone
// are looked at each time, so that a change of rights works at once.
const liveSignIn = `
	s.expires_at > now() AND s.ended_at IS NULL
	AND (s.idle_seconds IS NULL OR s.seen_at > now() - make_interval(secs => s.idle_seconds))
	AND (s.role NOT IN ('owner', 'coach', 'assistant') OR EXISTS (
		SELECT FROM membership m WHERE m.gym_id = s.gym_id AND m.person_id = s.person_id AND m.role = s.role AND m.until IS NULL))
	AND (s.role <> 'guardian' OR EXISTS (
		SELECT FROM guardian g WHERE g.gym_id = s.gym_id AND s.person_id IN (g.guardian_id, g.person_id) AND g.removed_at IS NULL))
	AND (s.athlete_id IS NULL OR EXISTS (
		SELECT FROM athlete a WHERE a.gym_id = s.gym_id AND a.athlete_id = s.athlete_id AND a.archived_at IS NULL))
	AND (s.device_id IS NULL OR EXISTS (
		SELECT FROM device d WHERE d.gym_id = s.gym_id AND d.device_id = s.device_id AND d.cut_off_at IS NULL))`

// FindCtx returns the data of a live sign-in.
func (t *SignIns) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	hash := hashToken(token)
	var data []byte
	var stale bool
	err := t.store.again(ctx, func() error {
		batch := &pgx.Batch{}
		batch.Queue(`SELECT set_config('ropewalk.gym', coalesce((SELECT gym_id::text FROM sign_in WHERE token_hash = $1), ''), true)`, hash)
		batch.Queue(`SELECT s.data, s.seen_at < now() - make_interval(mins => $2) FROM sign_in s WHERE s.token_hash = $1 AND `+liveSignIn, hash, seenEveryMinutes).
			QueryRow(func(row pgx.Row) error {
				if err := row.Scan(&data, &stale); err != nil && !errors.Is(err, pgx.ErrNoRows) {
					return err
				}
				return nil
			})
		return t.store.pool.SendBatch(ctx, batch).Close()
	})
	if err != nil {
		return nil, false, classify(fmt.Errorf("finding a sign-in: %w", err))
	}
	if data == nil {
		return nil, false, nil
	}
	if stale {
		if _, err := t.store.pool.Exec(ctx, `UPDATE sign_in SET seen_at = now() WHERE token_hash = $1 AND ended_at IS NULL`, hash); err != nil {
			return nil, false, classify(fmt.Errorf("noting that a sign-in was used: %w", err))
		}
	}
	return data, true, nil
}

// unhasty lets the transaction be over before it is on the disk.
const unhasty = `SELECT set_config('synchronous_commit', 'off', true)`

// CommitCtx adds or changes a sign-in. One that ended meanwhile stays ended. It
// does not wait for the disk: whoever signs in within a fifth of a second of a
// power cut does so once more. What ends a sign-in does wait.
func (t *SignIns) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	owner := t.owner(data)
	var idle *int
	if owner.Idle > 0 {
		seconds := int(owner.Idle.Seconds())
		idle = &seconds
	}
	batch := &pgx.Batch{}
	batch.Queue(unhasty)
	batch.Queue(`
		INSERT INTO sign_in (token_hash, data, expires_at, gym_id, person_id, athlete_id, device_id, role, label, idle_seconds)
		VALUES (@hash, @data, @expiry, @gym, @person, @athlete, @device, @role, @label, @idle)
		ON CONFLICT (token_hash) DO UPDATE
		SET data = @data, expires_at = @expiry, gym_id = @gym, person_id = @person, athlete_id = @athlete, device_id = @device,
		    role = @role, label = @label, idle_seconds = @idle
		WHERE sign_in.ended_at IS NULL`,
		pgx.StrictNamedArgs{"hash": hashToken(token), "data": data, "expiry": expiry, "gym": orNull(owner.Gym),
			"person": orNull(owner.Person), "athlete": orNull(owner.Athlete), "device": orNull(owner.Device),
			"role": owner.Role, "label": owner.Label, "idle": idle})
	err := t.store.again(ctx, func() error { return t.store.pool.SendBatch(ctx, batch).Close() })
	if err != nil {
		return classify(fmt.Errorf("keeping a sign-in: %w", err))
	}
	return nil
}

// endSignIns is how sign-ins end, where the condition that follows holds. The
// bare row stays until its time is over, so that a request that began before
// cannot keep it again.
const endSignIns = `
	UPDATE sign_in
	SET ended_at = now(), data = ''::bytea, gym_id = NULL, person_id = NULL, athlete_id = NULL, device_id = NULL, role = '', label = ''
	WHERE ended_at IS NULL AND `

// DeleteCtx ends a sign-in.
func (t *SignIns) DeleteCtx(ctx context.Context, token string) error {
	err := t.store.repeat(ctx, endSignIns+`token_hash = $1`, hashToken(token))
	if err != nil {
		return classify(fmt.Errorf("ending a sign-in: %w", err))
	}
	return nil
}

// Find, Commit and Delete complete the interface of scs, which calls the
// methods with a context instead.
func (t *SignIns) Find(token string) ([]byte, bool, error) {
	return t.FindCtx(context.Background(), token)
}

// Commit is CommitCtx without a context.
func (t *SignIns) Commit(token string, data []byte, expiry time.Time) error {
	return t.CommitCtx(context.Background(), token, data, expiry)
}

// Delete is DeleteCtx without a context.
func (t *SignIns) Delete(token string) error { return t.DeleteCtx(context.Background(), token) }

// Sweep removes sign-ins and codes whose time is over, and tries that no longer
// count: a few after days, a siege after a year.
func (s *Store) Sweep(ctx context.Context) error {
	batch := &pgx.Batch{}
	batch.Queue(`DELETE FROM sign_in WHERE expires_at < now()`)
	batch.Queue(`DELETE FROM wrong_try WHERE last_at < now() - CASE WHEN tries < 10 OR subject LIKE 'address:%' THEN interval '2 days' ELSE interval '1 year' END`)
	batch.Queue(`DELETE FROM known_browser WHERE expires_at < now()`)
	batch.Queue(`DELETE FROM way_back WHERE expires_at < now() - interval '2 days'`)
	return classify(s.pool.SendBatch(ctx, batch).Close())
}

// EndSignIns ends every sign-in of a person or an athlete.
func (s *Store) EndSignIns(ctx context.Context, id uuid.UUID) error {
	_, err := s.pool.Exec(ctx, endSignIns+`(person_id = $1 OR athlete_id = $1)`, id)
	if err != nil {
		return classify(fmt.Errorf("ending sign-ins: %w", err))
	}
	return nil
}

// EndSignInsHere ends the sign-ins of a person in the transaction's gym.
func (tx *Tx) EndSignInsHere(ctx context.Context, person uuid.UUID) error {
	_, err := tx.exec(ctx, "ending sign-ins", endSignIns+`gym_id = @gym AND person_id = @person`, pgx.StrictNamedArgs{"person": person})
	return err
}

// SignInsOf reads a person's live sign-ins in every gym, newest use first. The
// one with the token is marked as this one.
func (s *Store) SignInsOf(ctx context.Context, person uuid.UUID, token string) ([]gym.SignIn, error) {
	rows, _ := s.pool.Query(ctx, `
		SELECT encode(token_hash, 'hex') AS sign_in_id, label, role, began_at, seen_at, token_hash = $2 AS this
		FROM sign_in
		WHERE person_id = $1 AND ended_at IS NULL AND expires_at > now()
		  AND (idle_seconds IS NULL OR seen_at > now() - make_interval(secs => idle_seconds))
		ORDER BY seen_at DESC, began_at DESC`, person, hashToken(token)) // the collector reports Query's error
	found, err := pgx.CollectRows(rows, pgx.RowToStructByName[gym.SignIn])
	if err != nil {
		return nil, classify(fmt.Errorf("sign-ins of a person: %w", err))
	}
	return found, nil
}

// EndSignIn ends one sign-in of a person, by its id as SignInsOf gives it.
func (s *Store) EndSignIn(ctx context.Context, person uuid.UUID, id string) error {
	_, err := s.pool.Exec(ctx, endSignIns+`person_id = $1 AND encode(token_hash, 'hex') = $2`, person, id)
	if err != nil {
		return classify(fmt.Errorf("ending a sign-in: %w", err))
	}
	return nil
}

// EndOtherSignIns ends every sign-in of a person but the one with the token.
func (s *Store) EndOtherSignIns(ctx context.Context, person uuid.UUID, token string) error {
	_, err := s.pool.Exec(ctx, endSignIns+`person_id = $1 AND token_hash <> $2`, person, hashToken(token))
	if err != nil {
		return classify(fmt.Errorf("ending other sign-ins: %w", err))
	}
	return nil
}

// Tries are the tries at one thing since the last right one.
type Tries struct {
	Count     int
	BlockedTo time.Time
	LastAt    time.Time // zero before the first
}

// Try lets decide see the tries at subject and say what they become; two at
// once take turns. An error of decide changes nothing and is returned.
func (s *Store) Try(ctx context.Context, subject string, at time.Time, decide func(Tries) (Tries, error)) error {
	return classify(pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		var tries Tries
		err := tx.QueryRow(ctx, `
			INSERT INTO wrong_try (subject, tries, blocked_to, last_at) VALUES ($1, 0, $2, $2)
			ON CONFLICT (subject) DO UPDATE SET subject = EXCLUDED.subject
			RETURNING tries, blocked_to, last_at`, subject, at).Scan(&tries.Count, &tries.BlockedTo, &tries.LastAt)
		if err != nil {
			return fmt.Errorf("reading tries: %w", err)
		}
		next, err := decide(tries)
		if err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `UPDATE wrong_try SET tries = $2, blocked_to = $3, last_at = $4 WHERE subject = $1`,
			subject, next.Count, next.BlockedTo, at)
		if err != nil {
			return fmt.Errorf("counting a try: %w", err)
		}
		return nil
	}))
}

// TryCount returns how often subject was tried.
func (s *Store) TryCount(ctx context.Context, subject string) (int, error) {
	var count int
	err := s.pool.QueryRow(ctx, `SELECT coalesce(max(tries), 0) FROM wrong_try WHERE subject = $1`, subject).Scan(&count)
	if err != nil {
		return 0, classify(fmt.Errorf("counting tries: %w", err))
	}
	return count, nil
}

// ForgetTries starts the count of subject anew after a right try.
func (s *Store) ForgetTries(ctx context.Context, subject string) error {
	_, err := s.pool.Exec(ctx, `DELETE FROM wrong_try WHERE subject = $1`, subject)
	if err != nil {
		return classify(fmt.Errorf("forgetting tries: %w", err))
	}
	return nil
}

// ReplaceFirstCode makes hash the one code that opens an empty install.
func (s *Store) ReplaceFirstCode(ctx context.Context, hash []byte, at, expires time.Time) error {
	batch := &pgx.Batch{}
	batch.Queue(`DELETE FROM first_code WHERE used_at IS NULL`)
	batch.Queue(`INSERT INTO first_code (code_hash, made_at, expires_at) VALUES ($1, $2, $3)`, hash, at, expires)
	return classify(s.pool.SendBatch(ctx, batch).Close())
}

// FirstCodeOpen reports whether a code would open the empty install at a moment.
func (s *Store) FirstCodeOpen(ctx context.Context, hash []byte, at time.Time) (open bool, err error) {
	err = s.pool.QueryRow(ctx, `SELECT EXISTS (SELECT FROM first_code WHERE code_hash = $1 AND used_at IS NULL AND expires_at > $2)`, hash, at).Scan(&open)
	if err != nil {
		return false, classify(fmt.Errorf("looking for the first code: %w", err))
	}
	return open, nil
}

// UseFirstCode spends the code; ok is false if it is unknown, spent or old.
func (tx *Tx) UseFirstCode(ctx context.Context, hash []byte, at time.Time) (ok bool, err error) {
	tag, err := tx.tx.Exec(ctx, `
		UPDATE first_code SET used_at = $2
		WHERE code_hash = $1 AND used_at IS NULL AND expires_at > $2`, hash, at)
	if err != nil {
		return false, fmt.Errorf("using the first code: %w", err)
	}
	return tag.RowsAffected() == 1, nil
}

// EndAthleteSignIns ends the sign-ins of an athlete's own phones.
func (tx *Tx) EndAthleteSignIns(ctx context.Context, athlete uuid.UUID) error {
	_, err := tx.exec(ctx, "ending an athlete's sign-ins", endSignIns+`gym_id = @gym AND athlete_id = @athlete`,
		pgx.StrictNamedArgs{"athlete": athlete})
	return err
}
