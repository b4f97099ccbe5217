package store

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// SignIns keeps web sign-ins for scs. It stores a hash of each token, so that
// a copy of the table opens no door. Owner tells whose sign-in data holds.
type SignIns struct {
	store *Store
	owner func(data []byte) Owner
}

// Owner says whose a sign-in is: a person's or an athlete's, and by which phone
// it came, if by one that was let in.
type Owner struct{ Gym, Person, Athlete, Device uuid.UUID }

// SignIns returns the sign-in table; owner reads the ids out of the data.
func (s *Store) SignIns(owner func(data []byte) Owner) *SignIns {
	return &SignIns{store: s, owner: owner}
}

func hashToken(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}

// FindCtx returns the data of a live sign-in.
func (t *SignIns) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	var data []byte
	err := t.store.pool.QueryRow(ctx, `
		SELECT data FROM sign_in WHERE token_hash = $1 AND expires_at > now()`, hashToken(token)).Scan(&data)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, classify(fmt.Errorf("finding a sign-in: %w", err))
	}
	return data, true, nil
}

// CommitCtx adds or changes a sign-in.
func (t *SignIns) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	owner := t.owner(data)
	_, err := t.store.pool.Exec(ctx, `
		INSERT INTO sign_in (token_hash, data, expires_at, gym_id, person_id, athlete_id, device_id)
		VALUES (@hash, @data, @expiry, @gym, @person, @athlete, @device)
		ON CONFLICT (token_hash) DO UPDATE
		SET data = @data, expires_at = @expiry, gym_id = @gym, person_id = @person, athlete_id = @athlete, device_id = @device`,
		pgx.StrictNamedArgs{"hash": hashToken(token), "data": data, "expiry": expiry, "gym": orNull(owner.Gym),
			"person": orNull(owner.Person), "athlete": orNull(owner.Athlete), "device": orNull(owner.Device)})
	if err != nil {
		return classify(fmt.Errorf("keeping a sign-in: %w", err))
	}
	return nil
}

// DeleteCtx ends a sign-in.
func (t *SignIns) DeleteCtx(ctx context.Context, token string) error {
	_, err := t.store.pool.Exec(ctx, `DELETE FROM sign_in WHERE token_hash = $1`, hashToken(token))
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

// Sweep removes sign-ins that ended and tries that no longer count.
func (s *Store) Sweep(ctx context.Context) error {
	batch := &pgx.Batch{}
	batch.Queue(`DELETE FROM sign_in WHERE expires_at < now()`)
	batch.Queue(`DELETE FROM wrong_try WHERE last_at < now() - interval '2 days'`)
	return classify(s.pool.SendBatch(ctx, batch).Close())
}

// EndSignIns ends every sign-in of a person or an athlete.
func (s *Store) EndSignIns(ctx context.Context, id uuid.UUID) error {
	_, err := s.pool.Exec(ctx, `DELETE FROM sign_in WHERE person_id = $1 OR athlete_id = $1`, id)
	if err != nil {
		return classify(fmt.Errorf("ending sign-ins: %w", err))
	}
	return nil
}

// WrongTries returns how often subject was tried wrongly and until when it is
// blocked (the zero time if it is not known).
func (s *Store) WrongTries(ctx context.Context, subject string) (tries int, blockedTo time.Time, err error) {
	err = s.pool.QueryRow(ctx, `SELECT tries, blocked_to FROM wrong_try WHERE subject = $1`, subject).Scan(&tries, &blockedTo)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, time.Time{}, nil
	}
	if err != nil {
		return 0, time.Time{}, classify(fmt.Errorf("counting wrong tries: %w", err))
	}
	return tries, blockedTo, nil
}

// AddWrongTry counts one more wrong try and returns the new count. Tries older
// than forgetAfter start again at one.
func (s *Store) AddWrongTry(ctx context.Context, subject string, at time.Time, forgetAfter time.Duration) (int, error) {
	var tries int
	err := s.pool.QueryRow(ctx, `
		INSERT INTO wrong_try (subject, tries, blocked_to, last_at)
		VALUES (@subject, 1, @at, @at)
		ON CONFLICT (subject) DO UPDATE
		SET tries = CASE WHEN wrong_try.last_at < @old THEN 1 ELSE wrong_try.tries + 1 END, last_at = @at
		RETURNING tries`,
		pgx.StrictNamedArgs{"subject": subject, "at": at, "old": at.Add(-forgetAfter)}).Scan(&tries)
	if err != nil {
		return 0, classify(fmt.Errorf("counting a wrong try: %w", err))
	}
	return tries, nil
}

// BlockTries refuses further tries of subject until to.
func (s *Store) BlockTries(ctx context.Context, subject string, to time.Time) error {
	_, err := s.pool.Exec(ctx, `UPDATE wrong_try SET blocked_to = $2 WHERE subject = $1`, subject, to)
	if err != nil {
		return classify(fmt.Errorf("blocking tries: %w", err))
	}
	return nil
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
