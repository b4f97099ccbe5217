package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectGuardian = `
	SELECT guardian_id, athlete_id, name, added_at
	FROM guardian`

// GuardiansOf reads an athlete's guardians, in the order they were added.
func GuardiansOf(athlete uuid.UUID, into *[]gym.Guardianship) Reading {
	return many("guardians of an athlete", into, selectGuardian+`
		WHERE athlete_id = @athlete AND removed_at IS NULL
		ORDER BY added_at, guardian_id`, pgx.StrictNamedArgs{"athlete": athlete})
}

// Guardian reads one guardian.
func Guardian(id uuid.UUID, into *gym.Guardianship) Reading {
	return one("guardian", "There is no such guardian in this gym.", into, selectGuardian+`
		WHERE guardian_id = @guardian AND removed_at IS NULL`, pgx.StrictNamedArgs{"guardian": id})
}

// AddGuardian adds a guardian of an athlete.
func (tx *Tx) AddGuardian(ctx context.Context, g gym.Guardianship, by uuid.UUID) error {
	_, err := tx.exec(ctx, "adding a guardian", `
		INSERT INTO guardian (gym_id, guardian_id, athlete_id, name, added_at, added_by)
		VALUES (@gym, @id, @athlete, @name, @at, @by)`,
		pgx.StrictNamedArgs{"id": g.GuardianID, "athlete": g.AthleteID, "name": g.Name, "at": g.AddedAt, "by": by})
	if broke(err, "guardian_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return err
}

// RemoveGuardian ends what a guardian may see, on every phone at once.
func (tx *Tx) RemoveGuardian(ctx context.Context, guardian uuid.UUID, at time.Time) error {
	n, err := tx.exec(ctx, "removing a guardian", `
		UPDATE guardian SET removed_at = @at
		WHERE gym_id = @gym AND guardian_id = @guardian AND removed_at IS NULL`,
		pgx.StrictNamedArgs{"guardian": guardian, "at": at})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such guardian in this gym.")
	}
	if _, err := tx.exec(ctx, "voiding a guardian's links", `
		UPDATE card SET voided_at = @at
		WHERE gym_id = @gym AND guardian_id = @guardian AND used_at IS NULL AND voided_at IS NULL`,
		pgx.StrictNamedArgs{"guardian": guardian, "at": at}); err != nil {
		return err
	}
	_, err = tx.exec(ctx, "ending a guardian's sign-ins", endSignIns+`gym_id = @gym AND person_id = @guardian`,
		pgx.StrictNamedArgs{"guardian": guardian})
	return err
}

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

// EndAthleteSignIns ends the sign-ins of an athlete's own phones.
func (tx *Tx) EndAthleteSignIns(ctx context.Context, athlete uuid.UUID) error {
	_, err := tx.exec(ctx, "ending an athlete's sign-ins", endSignIns+`gym_id = @gym AND athlete_id = @athlete`,
		pgx.StrictNamedArgs{"athlete": athlete})
	return err
}
