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

// StaffList reads the people who work in the gym, as its owner sees them.
func StaffList(into *[]gym.Staff) Reading {
	return many("people of the gym", into, `
		SELECT p.person_id, p.sign_in_name, p.name, p.lang, m.role, m.since,
		       EXISTS (SELECT FROM second_factor f WHERE f.person_id = p.person_id AND f.confirmed_at IS NOT NULL) AS factor,
		       (SELECT max(s.seen_at) FROM sign_in s WHERE s.gym_id = m.gym_id AND s.person_id = p.person_id) AS seen_at
		FROM membership m JOIN person p USING (person_id)
		WHERE m.until IS NULL AND m.role <> 'guardian' AND m.gym_id = current_setting('ropewalk.gym')::uuid
		ORDER BY array_position(ARRAY['owner', 'coach', 'assistant'], m.role), p.name, p.person_id`, pgx.StrictNamedArgs{})
}

// Person reads a person of the gym, whatever the role, by id.
func (s *Store) Person(ctx context.Context, person uuid.UUID) (gym.Person, error) {
	rows, _ := s.pool.Query(ctx, `
		SELECT person_id, sign_in_name, name, lang, password_hash, created_at
		FROM person
		WHERE person_id = $1`, person) // the collector reports Query's error
	p, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[gym.Person])
	if errors.Is(err, pgx.ErrNoRows) {
		return gym.Person{}, problem.New(problem.NotFound, "There is no such person in this gym.")
	}
	if err != nil {
		return gym.Person{}, classify(fmt.Errorf("person by id: %w", err))
	}
	return p, nil
}

// LockStaff reads the people who work in the gym, so that two who change roles
// at once take turns.
func (tx *Tx) LockStaff(ctx context.Context) ([]gym.Membership, error) {
	rows, _ := tx.tx.Query(ctx, `
		SELECT gym_id, person_id, role, since
		FROM membership
		WHERE gym_id = $1 AND until IS NULL AND role <> 'guardian'
		ORDER BY since, person_id
		FOR UPDATE`, tx.gym) // the collector reports Query's error
	found, err := pgx.CollectRows(rows, pgx.RowToStructByName[gym.Membership])
	if err != nil {
		return nil, fmt.Errorf("memberships of the gym: %w", err)
	}
	return found, nil
}

// EndMembership ends a person's role in the gym.
func (tx *Tx) EndMembership(ctx context.Context, m gym.Membership, at time.Time) error {
	_, err := tx.exec(ctx, "ending a membership", `
		UPDATE membership SET until = @at
		WHERE gym_id = @gym AND person_id = @person AND role = @role AND until IS NULL`,
		pgx.StrictNamedArgs{"person": m.PersonID, "role": m.Role, "at": at})
	return err
}

const selectInvitation = `
	SELECT invitation_id, name, role, made_at, made_by, expires_at, used_at, taken_back_at
	FROM invitation`

// Invitations reads the invitations that nobody has accepted, newest first.
func Invitations(into *[]gym.Invitation) Reading {
	return many("invitations", into, selectInvitation+`
		WHERE used_at IS NULL AND taken_back_at IS NULL
		ORDER BY made_at DESC, invitation_id DESC`, pgx.StrictNamedArgs{})
}

// Invitation reads one invitation.
func Invitation(id uuid.UUID, into *gym.Invitation) Reading {
	return one("invitation", "There is no such invitation in this gym.", into, selectInvitation+`
		WHERE invitation_id = @invitation`, pgx.StrictNamedArgs{"invitation": id})
}

// AddInvitation keeps an invitation with the hash of its code.
func (tx *Tx) AddInvitation(ctx context.Context, i gym.Invitation, hash []byte) error {
	_, err := tx.exec(ctx, "adding an invitation", `
		INSERT INTO invitation (gym_id, invitation_id, name, role, made_at, made_by, expires_at)
		VALUES (@gym, @id, @name, @role, @at, @by, @expires)`,
		pgx.StrictNamedArgs{"id": i.InvitationID, "name": i.Name, "role": i.Role, "at": i.MadeAt, "by": i.MadeBy, "expires": i.ExpiresAt})
	if err != nil {
		return err
	}
	_, err = tx.exec(ctx, "keeping an invitation's hash", `
		INSERT INTO invitation_code (code_hash, gym_id, invitation_id) VALUES (@hash, @gym, @id)`,
		pgx.StrictNamedArgs{"hash": hash, "id": i.InvitationID})
	return err
}

// InvitationByCode returns the gym and invitation behind the hash of a code;
// found is false if there is none.
func (s *Store) InvitationByCode(ctx context.Context, hash []byte) (gymID, invitation uuid.UUID, found bool, err error) {
	err = s.pool.QueryRow(ctx, `SELECT gym_id, invitation_id FROM invitation_code WHERE code_hash = $1`, hash).Scan(&gymID, &invitation)
	if errors.Is(err, pgx.ErrNoRows) {
		return uuid.Nil, uuid.Nil, false, nil
	}
	if err != nil {
		return uuid.Nil, uuid.Nil, false, classify(fmt.Errorf("invitation by its code: %w", err))
	}
	return gymID, invitation, true, nil
}

// UseInvitation spends an invitation on a person; ok is false if it was spent,
// taken back or is too old. Of many at once exactly one gets it.
func (tx *Tx) UseInvitation(ctx context.Context, id, person uuid.UUID, at time.Time) (ok bool, err error) {
	n, err := tx.exec(ctx, "using an invitation", `
		UPDATE invitation SET used_at = @at, used_by = @person
		WHERE gym_id = @gym AND invitation_id = @id AND used_at IS NULL AND taken_back_at IS NULL AND expires_at > @at`,
		pgx.StrictNamedArgs{"id": id, "person": person, "at": at})
	return n == 1, err
}

// TakeBackInvitation ends an invitation that nobody has accepted.
func (tx *Tx) TakeBackInvitation(ctx context.Context, id uuid.UUID, at time.Time) error {
	n, err := tx.exec(ctx, "taking an invitation back", `
		UPDATE invitation SET taken_back_at = @at
		WHERE gym_id = @gym AND invitation_id = @id AND used_at IS NULL AND taken_back_at IS NULL`,
		pgx.StrictNamedArgs{"id": id, "at": at})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such invitation, or somebody accepted it already.")
	}
	return nil
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

// ChildOf is a guardianship with the athlete's name.
type ChildOf struct {
	gym.Guardianship
	Child string
}

// ChildrenOf reads the athletes of the gym of whom a person with an account is
// a guardian.
func ChildrenOf(person uuid.UUID, into *[]ChildOf) Reading {
	return many("children of a guardian", into, `
		SELECT g.guardian_id, g.athlete_id, g.name, g.added_at, a.name AS child
		FROM guardian g JOIN athlete a USING (gym_id, athlete_id)
		WHERE g.person_id = @person AND g.removed_at IS NULL AND a.archived_at IS NULL
		ORDER BY a.name, g.guardian_id`, pgx.StrictNamedArgs{"person": person})
}

// JoinGuardian says which account is a guardian's.
func (tx *Tx) JoinGuardian(ctx context.Context, guardian, person uuid.UUID) error {
	n, err := tx.exec(ctx, "joining a guardian to an account", `
		UPDATE guardian SET person_id = @person
		WHERE gym_id = @gym AND guardian_id = @guardian AND removed_at IS NULL`,
		pgx.StrictNamedArgs{"guardian": guardian, "person": person})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such guardian in this gym.")
	}
	return nil
}
