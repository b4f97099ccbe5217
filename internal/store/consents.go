package store

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectConsent = `
	SELECT consent_id, athlete_id, purpose, given, by_name, coalesce(guardian_id, '00000000-0000-0000-0000-000000000000') AS guardian_id,
	       how, wording, noted_at, noted_by
	FROM consent`

// ConsentsOf reads what was agreed to for an athlete and taken back, newest
// first.
func ConsentsOf(athlete uuid.UUID, into *[]gym.Consent) Reading {
	return many("consents of an athlete", into, selectConsent+`
		WHERE athlete_id = @athlete
		ORDER BY noted_at DESC, consent_id DESC`, pgx.StrictNamedArgs{"athlete": athlete})
}

// ConsentsOfClass reads the newest consent to each purpose for each athlete of a
// class.
func ConsentsOfClass(class uuid.UUID, into *[]gym.Consent) Reading {
	return many("consents of a class", into, `
		SELECT DISTINCT ON (c.athlete_id, c.purpose) c.consent_id, c.athlete_id, c.purpose, c.given, c.by_name,
		       coalesce(c.guardian_id, '00000000-0000-0000-0000-000000000000') AS guardian_id, c.how, c.wording, c.noted_at, c.noted_by
		FROM consent c JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL
		ORDER BY c.athlete_id, c.purpose, c.noted_at DESC, c.consent_id DESC`, pgx.StrictNamedArgs{"class": class})
}

// AddConsent keeps a consent or its end; the same id again changes nothing.
func (tx *Tx) AddConsent(ctx context.Context, c gym.Consent) error {
	delete(tx.bases, c.AthleteID) // what is known rests on the consent before
	_, err := tx.exec(ctx, "adding a consent", `
		INSERT INTO consent (gym_id, consent_id, athlete_id, purpose, given, by_name, guardian_id, how, wording, noted_at, noted_by)
		VALUES (@gym, @id, @athlete, @purpose, @given, @name, @guardian, @how, @wording, @at, @by)
		ON CONFLICT (gym_id, consent_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": c.ConsentID, "athlete": c.AthleteID, "purpose": c.Purpose, "given": c.Given, "name": c.ByName, "guardian": orNull(c.GuardianID),
			"how": c.How, "wording": c.Wording, "at": c.NotedAt, "by": c.NotedBy})
	if broke(err, "consent_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return err
}

// SetConsentAge sets under which age a guardian agrees first; 0 asks nobody.
func (tx *Tx) SetConsentAge(ctx context.Context, years int) error {
	_, err := tx.exec(ctx, "setting the age of consent", `UPDATE gym SET consent_age = @years WHERE gym_id = @gym`,
		pgx.StrictNamedArgs{"years": years})
	return err
}

// selectBasis reads what keeping data of athletes rests on; the newest word on
// each purpose counts.
const selectBasis = `
	SELECT a.athlete_id, a.name, a.lang, coalesce(a.birth_year, 0) AS birth_year, g.consent_age,
	       coalesce((SELECT c.given FROM consent c
	                 WHERE c.gym_id = a.gym_id AND c.athlete_id = a.athlete_id AND c.purpose = 'records'
	                 ORDER BY c.noted_at DESC, c.consent_id DESC LIMIT 1), false) AS records,
	       coalesce((SELECT c.given FROM consent c
	                 WHERE c.gym_id = a.gym_id AND c.athlete_id = a.athlete_id AND c.purpose = 'phone'
	                 ORDER BY c.noted_at DESC, c.consent_id DESC LIMIT 1), false) AS phone
	FROM athlete a JOIN gym g USING (gym_id)`

// BasesOf reads what keeping data of athletes rests on, in w's order.
func BasesOf(w Whom, into *[]gym.Basis) Reading {
	return many("what may be kept of athletes", into, selectBasis+` `+w.from, w.with(pgx.StrictNamedArgs{}))
}

// mayKeep refuses to keep anything more of athletes whose guardian has not
// agreed, in year. What stands in a register for everybody's safety, such as
// who is in the hall, asks no consent.
func (tx *Tx) mayKeep(ctx context.Context, year int, athletes ...uuid.UUID) error {
	var ask []uuid.UUID
	for _, athlete := range athletes {
		if _, known := tx.bases[athlete]; !known {
			ask = append(ask, athlete)
		}
	}
	if len(ask) > 0 {
		if err := tx.Read(ctx, tx.Bases(ask...)); err != nil {
			return err
		}
	}
	for _, athlete := range athletes {
		if basis, known := tx.bases[athlete]; known && !basis.Allows(gym.ToRecord, year) {
			return NotAgreed(basis.Name)
		}
	}
	return nil
}

// Bases reads what keeping data of athletes rests on, for what the transaction
// is about to keep of them.
func (tx *Tx) Bases(athletes ...uuid.UUID) Reading {
	const sql = selectBasis + ` WHERE a.athlete_id = ANY ($1)`
	return func(batch *pgx.Batch) {
		batch.Queue(sql, athletes).Query(func(rows pgx.Rows) error {
			found, err := collect[gym.Basis](rows, sql)
			if err != nil {
				return fmt.Errorf("what may be kept of athletes: %w", err)
			}
			if tx.bases == nil {
				tx.bases = make(map[uuid.UUID]gym.Basis, len(found))
			}
			for _, basis := range found {
				tx.bases[basis.AthleteID] = basis
			}
			return nil
		})
	}
}

// NotAgreed is what to tell whoever wants to keep something of a minor whose
// guardian has not agreed.
func NotAgreed(name string) error {
	return problem.New(problem.Forbidden, "Nothing more is kept of %s: a parent or guardian has not agreed, or took it back. Note the consent first.", name)
}
