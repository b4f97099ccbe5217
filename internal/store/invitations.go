package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

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
	return s.behind(ctx, "invitation by its code", `SELECT gym_id, invitation_id FROM invitation_code WHERE code_hash = $1`, hash)
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
