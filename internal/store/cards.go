package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectCard = `
	SELECT card_id, athlete_id, coalesce(guardian_id, '00000000-0000-0000-0000-000000000000') AS guardian_id,
	       made_at, made_by, expires_at, used_at, voided_at
	FROM card`

// Card reads one card.
func Card(id uuid.UUID, into *gym.Card) Reading {
	return one("card", "That card does not open this gym.", into, selectCard+`
		WHERE card_id = @card`, pgx.StrictNamedArgs{"card": id})
}

// NewCard is a card about to be kept, with the hash of its secret.
type NewCard struct {
	gym.Card
	SecretHash []byte
}

// AddCards keeps cards; older ones of the same people that are still open stop
// working.
func (tx *Tx) AddCards(ctx context.Context, cards []NewCard, at time.Time) error {
	n := len(cards)
	ids, athletes, by := make([]uuid.UUID, n), make([]uuid.UUID, n), make([]uuid.UUID, n)
	guardians, hashes, expires := make([]*uuid.UUID, n), make([][]byte, n), make([]time.Time, n)
	for i, c := range cards {
		ids[i], athletes[i], by[i], guardians[i] = c.CardID, c.AthleteID, c.MadeBy, orNull(c.GuardianID)
		hashes[i], expires[i] = c.SecretHash, c.ExpiresAt
	}
	_, err := tx.exec(ctx, "voiding older cards", `
		UPDATE card SET voided_at = @at
		FROM unnest(@athletes::uuid[], @guardians::uuid[]) AS u (athlete, guardian)
		WHERE gym_id = @gym AND athlete_id = u.athlete AND guardian_id IS NOT DISTINCT FROM u.guardian
		  AND used_at IS NULL AND voided_at IS NULL`,
		pgx.StrictNamedArgs{"athletes": athletes, "guardians": guardians, "at": at})
	if err != nil {
		return err
	}
	_, err = tx.exec(ctx, "adding cards", `
		INSERT INTO card (gym_id, card_id, athlete_id, guardian_id, made_at, made_by, expires_at)
		SELECT @gym, u.id, u.athlete, u.guardian, @at, u.by, u.expires
		FROM unnest(@ids::uuid[], @athletes::uuid[], @guardians::uuid[], @by::uuid[], @expires::timestamptz[])
		     AS u (id, athlete, guardian, by, expires)`,
		pgx.StrictNamedArgs{"ids": ids, "athletes": athletes, "guardians": guardians, "by": by, "expires": expires, "at": at})
	if broke(err, "card_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	if err != nil {
		return err
	}
	_, err = tx.exec(ctx, "keeping the cards' hashes", `
		INSERT INTO card_secret (secret_hash, gym_id, card_id)
		SELECT u.hash, @gym, u.id FROM unnest(@hashes::bytea[], @ids::uuid[]) AS u (hash, id)`,
		pgx.StrictNamedArgs{"hashes": hashes, "ids": ids})
	return err
}

// CardBySecret returns the gym and card behind the hash of a secret; found is
// false if there is none.
func (s *Store) CardBySecret(ctx context.Context, hash []byte) (gymID, card uuid.UUID, found bool, err error) {
	return s.behind(ctx, "card by its secret", `SELECT gym_id, card_id FROM card_secret WHERE secret_hash = $1`, hash)
}

// UseCard spends a card on a device; ok is false if it was spent, voided or is
// too old. Of many at once exactly one gets it.
func (tx *Tx) UseCard(ctx context.Context, card, device uuid.UUID, at time.Time) (ok bool, err error) {
	n, err := tx.exec(ctx, "using a card", `
		UPDATE card SET used_at = @at, device_id = @device
		WHERE gym_id = @gym AND card_id = @card AND used_at IS NULL AND voided_at IS NULL AND expires_at > @at`,
		pgx.StrictNamedArgs{"card": card, "device": device, "at": at})
	return n == 1, err
}
