package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// SecondFactorOf returns a person's second factor; found is false if none was
// ever shown. It counts only once it is confirmed.
func (s *Store) SecondFactorOf(ctx context.Context, person uuid.UUID) (f gym.SecondFactor, found bool, err error) {
	rows, _ := s.pool.Query(ctx, `
		SELECT person_id, secret, confirmed_at, last_step
		FROM second_factor
		WHERE person_id = $1`, person) // the collector reports Query's error
	f, err = pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[gym.SecondFactor])
	if errors.Is(err, pgx.ErrNoRows) {
		return gym.SecondFactor{}, false, nil
	}
	if err != nil {
		return gym.SecondFactor{}, false, classify(fmt.Errorf("second factor of a person: %w", err))
	}
	return f, true, nil
}

// OfferSecondFactor keeps a secret that is shown and not yet proved; one that
// is confirmed already stays.
func (s *Store) OfferSecondFactor(ctx context.Context, person uuid.UUID, secret string, at time.Time) error {
	_, err := s.pool.Exec(ctx, `
		INSERT INTO second_factor (person_id, secret, made_at) VALUES ($1, $2, $3)
		ON CONFLICT (person_id) DO UPDATE SET secret = $2, made_at = $3, last_step = 0
		WHERE second_factor.confirmed_at IS NULL`, person, secret, at)
	if err != nil {
		return classify(fmt.Errorf("offering a second factor: %w", err))
	}
	return nil
}

// UseStep spends the code of a half minute; ok is false if that one or a newer
// one was used before. Of many at once exactly one gets it.
func (s *Store) UseStep(ctx context.Context, person uuid.UUID, step int64) (ok bool, err error) {
	tag, err := s.pool.Exec(ctx, `UPDATE second_factor SET last_step = $2 WHERE person_id = $1 AND last_step < $2`, person, step)
	if err != nil {
		return false, classify(fmt.Errorf("using a code of a second factor: %w", err))
	}
	return tag.RowsAffected() == 1, nil
}

// ConfirmSecondFactor makes the offered factor count and replaces the codes on
// paper.
func (tx *Tx) ConfirmSecondFactor(ctx context.Context, person uuid.UUID, at time.Time, codeHashes [][]byte) error {
	if _, err := tx.tx.Exec(ctx, `UPDATE second_factor SET confirmed_at = $2 WHERE person_id = $1 AND confirmed_at IS NULL`, person, at); err != nil {
		return fmt.Errorf("confirming a second factor: %w", err)
	}
	return tx.ReplaceRecoveryCodes(ctx, person, at, codeHashes)
}

// ReplaceRecoveryCodes keeps new codes on paper; the old ones stop working.
func (tx *Tx) ReplaceRecoveryCodes(ctx context.Context, person uuid.UUID, at time.Time, hashes [][]byte) error {
	if _, err := tx.tx.Exec(ctx, `DELETE FROM recovery_code WHERE person_id = $1`, person); err != nil {
		return fmt.Errorf("removing recovery codes: %w", err)
	}
	_, err := tx.tx.Exec(ctx, `
		INSERT INTO recovery_code (person_id, code_hash, made_at)
		SELECT $1, hash, $3 FROM unnest($2::bytea[]) AS u (hash)`, person, hashes, at)
	if err != nil {
		return fmt.Errorf("keeping recovery codes: %w", err)
	}
	return nil
}

// UseRecoveryCode spends one; ok is false if it is unknown or spent.
func (s *Store) UseRecoveryCode(ctx context.Context, person uuid.UUID, hash []byte, at time.Time) (ok bool, err error) {
	tag, err := s.pool.Exec(ctx, `
		UPDATE recovery_code SET used_at = $3
		WHERE person_id = $1 AND code_hash = $2 AND used_at IS NULL`, person, hash, at)
	if err != nil {
		return false, classify(fmt.Errorf("using a recovery code: %w", err))
	}
	return tag.RowsAffected() == 1, nil
}

// RecoveryCodesLeft counts the codes on paper that still work.
func (s *Store) RecoveryCodesLeft(ctx context.Context, person uuid.UUID) (int, error) {
	var left int
	err := s.pool.QueryRow(ctx, `SELECT count(*) FROM recovery_code WHERE person_id = $1 AND used_at IS NULL`, person).Scan(&left)
	if err != nil {
		return 0, classify(fmt.Errorf("counting recovery codes: %w", err))
	}
	return left, nil
}

// RemoveSecondFactor forgets a person's second factor and the codes on paper.
func (s *Store) RemoveSecondFactor(ctx context.Context, person uuid.UUID) error {
	batch := &pgx.Batch{}
	batch.Queue(`DELETE FROM recovery_code WHERE person_id = $1`, person)
	batch.Queue(`DELETE FROM second_factor WHERE person_id = $1`, person)
	if err := s.pool.SendBatch(ctx, batch).Close(); err != nil {
		return classify(fmt.Errorf("removing a second factor: %w", err))
	}
	return nil
}

// KnowBrowser remembers, by its token, a browser in which a person came in.
func (s *Store) KnowBrowser(ctx context.Context, person uuid.UUID, token string, expires time.Time) error {
	_, err := s.pool.Exec(ctx, `INSERT INTO known_browser (token_hash, person_id, expires_at) VALUES ($1, $2, $3)`, hashToken(token), person, expires)
	if err != nil {
		return classify(fmt.Errorf("remembering a browser: %w", err))
	}
	return nil
}

// BrowserKnows reports whether the person came in before in the browser with
// the token.
func (s *Store) BrowserKnows(ctx context.Context, person uuid.UUID, token string) (bool, error) {
	var known bool
	err := s.pool.QueryRow(ctx, `
		SELECT EXISTS (SELECT FROM known_browser WHERE token_hash = $1 AND person_id = $2 AND expires_at > now())`,
		hashToken(token), person).Scan(&known)
	if err != nil {
		return false, classify(fmt.Errorf("looking for a known browser: %w", err))
	}
	return known, nil
}

// ForgetBrowsers forgets every browser in which a person came in.
func (s *Store) ForgetBrowsers(ctx context.Context, person uuid.UUID) error {
	_, err := s.pool.Exec(ctx, `DELETE FROM known_browser WHERE person_id = $1`, person)
	if err != nil {
		return classify(fmt.Errorf("forgetting browsers: %w", err))
	}
	return nil
}

// AddWayBack keeps the hash of a code for somebody who is locked out; an older
// one of that person stops working.
func (tx *Tx) AddWayBack(ctx context.Context, w gym.WayBack, hash []byte) error {
	if _, err := tx.tx.Exec(ctx, `DELETE FROM way_back WHERE person_id = $1 AND used_at IS NULL`, w.PersonID); err != nil {
		return fmt.Errorf("removing older ways back: %w", err)
	}
	_, err := tx.exec(ctx, "adding a way back", `
		INSERT INTO way_back (code_hash, person_id, gym_id, made_by, made_at, expires_at)
		VALUES (@hash, @person, @gym, @by, @at, @expires)`,
		pgx.StrictNamedArgs{"hash": hash, "person": w.PersonID, "by": w.MadeBy, "at": w.MadeAt, "expires": w.ExpiresAt})
	return err
}

// UseWayBack spends a person's code and returns whose gym gave it; ok is false
// if it is unknown, spent or too old. Of many at once exactly one gets it.
func (s *Store) UseWayBack(ctx context.Context, person uuid.UUID, hash []byte, at time.Time) (gymID uuid.UUID, ok bool, err error) {
	err = s.pool.QueryRow(ctx, `
		UPDATE way_back SET used_at = $3
		WHERE code_hash = $2 AND person_id = $1 AND used_at IS NULL AND expires_at > $3
		RETURNING gym_id`, person, hash, at).Scan(&gymID)
	if errors.Is(err, pgx.ErrNoRows) {
		return uuid.Nil, false, nil
	}
	if err != nil {
		return uuid.Nil, false, classify(fmt.Errorf("using a way back: %w", err))
	}
	return gymID, true, nil
}

// SecondFactorPostponed reads whether the gym asks staff for a second factor
// later.
func SecondFactorPostponed(into *bool) Reading {
	return func(batch *pgx.Batch) {
		batch.Queue(`SELECT second_factor_postponed FROM gym`).QueryRow(func(row pgx.Row) error {
			if err := row.Scan(into); err != nil {
				return fmt.Errorf("the gym's rule for second factors: %w", err)
			}
			return nil
		})
	}
}

// PostponeSecondFactor sets whether staff are asked for a second factor later.
func (tx *Tx) PostponeSecondFactor(ctx context.Context, postponed bool) error {
	_, err := tx.exec(ctx, "setting when a second factor is asked for", `UPDATE gym SET second_factor_postponed = @postponed WHERE gym_id = @gym`,
		pgx.StrictNamedArgs{"postponed": postponed})
	return err
}
