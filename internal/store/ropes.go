package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// Ropes reads the ropes in use, by label.
func Ropes(into *[]gym.Rope) Reading {
	return many("ropes", into, `
		SELECT rope_id, label, kind, coalesce(length_m, 0) AS length_m, handle, note,
		       coalesce(athlete_id, '00000000-0000-0000-0000-000000000000') AS athlete_id
		FROM rope
		WHERE retired_at IS NULL
		ORDER BY label, rope_id`, pgx.StrictNamedArgs{})
}

// Rope reads one rope, retired or not.
func Rope(id uuid.UUID, into *gym.Rope) Reading {
	return one("rope", "There is no such rope in this gym.", into, `
		SELECT rope_id, label, kind, coalesce(length_m, 0) AS length_m, handle, note,
		       coalesce(athlete_id, '00000000-0000-0000-0000-000000000000') AS athlete_id
		FROM rope
		WHERE rope_id = @rope`, pgx.StrictNamedArgs{"rope": id})
}

// AddRope adds a rope.
func (tx *Tx) AddRope(ctx context.Context, r gym.Rope, at time.Time) error {
	_, err := tx.exec(ctx, "adding a rope", `
		INSERT INTO rope (gym_id, rope_id, label, kind, length_m, handle, note, athlete_id, added_at)
		VALUES (@gym, @id, @label, @kind, NULLIF(@length, 0::double precision), @handle, @note, @athlete, @at)`,
		pgx.StrictNamedArgs{"id": r.RopeID, "label": r.Label, "kind": r.Kind, "length": r.LengthM, "handle": r.Handle,
			"note": r.Note, "athlete": orNull(r.AthleteID), "at": at})
	if broke(err, "rope_gym_id_label_key") {
		return problem.Wrap(err, problem.Conflict, "There is a rope with that label already. Choose another label.")
	}
	return err
}

// RopesInUse reads the ropes that athletes have, by athlete, then label.
func RopesInUse(whom Whom, into *[]gym.Rope) Reading {
	return many("ropes in use", into, `
		SELECT rope_id, label, kind, coalesce(length_m, 0) AS length_m, handle, note, athlete_id
		FROM rope
		WHERE athlete_id `+whom.among+` AND retired_at IS NULL
		ORDER BY athlete_id, label, rope_id`, whom.with(pgx.StrictNamedArgs{}))
}

// ChangeRope gives a rope another label, kind, length, handle or note.
func (tx *Tx) ChangeRope(ctx context.Context, r gym.Rope) error {
	_, err := tx.exec(ctx, "changing a rope", `
		UPDATE rope SET label = @label, kind = @kind, length_m = NULLIF(@length, 0::double precision), handle = @handle, note = @note
		WHERE gym_id = @gym AND rope_id = @id`,
		pgx.StrictNamedArgs{"id": r.RopeID, "label": r.Label, "kind": r.Kind, "length": r.LengthM, "handle": r.Handle, "note": r.Note})
	if broke(err, "rope_gym_id_label_key") {
		return problem.Wrap(err, problem.Conflict, "There is a rope with that label already. Choose another label.")
	}
	return err
}

// RetireRope takes a rope out of the rack for good. Its results stay.
func (tx *Tx) RetireRope(ctx context.Context, rope uuid.UUID, at time.Time) error {
	_, err := tx.exec(ctx, "retiring a rope", `UPDATE rope SET retired_at = @at, athlete_id = NULL WHERE gym_id = @gym AND rope_id = @id`,
		pgx.StrictNamedArgs{"id": rope, "at": at})
	return err
}

// NewestRopeChecks reads the newest check of each rope.
func NewestRopeChecks(into *[]gym.RopeCheck) Reading {
	return many("newest rope checks", into, `
		SELECT DISTINCT ON (rope_id) rope_check_id, rope_id, sound, note, day, checked_at, checked_by
		FROM rope_check
		ORDER BY rope_id, checked_at DESC, rope_check_id DESC`, pgx.StrictNamedArgs{})
}

// RopeChecksOf reads the checks of a rope, the hundred newest.
func RopeChecksOf(rope uuid.UUID, into *[]gym.RopeCheck) Reading {
	return many("checks of a rope", into, `
		SELECT rope_check_id, rope_id, sound, note, day, checked_at, checked_by
		FROM rope_check
		WHERE rope_id = @rope
		ORDER BY checked_at DESC, rope_check_id DESC
		LIMIT 100`, pgx.StrictNamedArgs{"rope": rope})
}

// AddRopeCheck logs a look at a rope; the same id again changes nothing.
func (tx *Tx) AddRopeCheck(ctx context.Context, c gym.RopeCheck) error {
	_, err := tx.exec(ctx, "logging a rope check", `
		INSERT INTO rope_check (gym_id, rope_check_id, rope_id, sound, note, day, checked_at, checked_by)
		VALUES (@gym, @id, @rope, @sound, @note, @day, @at, @by)
		ON CONFLICT (gym_id, rope_check_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": c.RopeCheckID, "rope": c.RopeID, "sound": c.Sound, "note": c.Note, "day": c.Day, "at": c.CheckedAt, "by": c.CheckedBy})
	return err
}

// RopeLoansOf reads who had a rope, newest first.
func RopeLoansOf(rope uuid.UUID, into *[]gym.RopeLoan) Reading {
	return many("loans of a rope", into, `
		SELECT rope_loan_id, rope_id, athlete_id, lent, decision, day, lent_at, lent_by
		FROM rope_loan
		WHERE rope_id = @rope
		ORDER BY lent_at DESC, rope_loan_id DESC
		LIMIT 100`, pgx.StrictNamedArgs{"rope": rope})
}

// AddRopeLoan keeps who got a rope or brought it back, and says so of the rope
// itself. The same id again changes nothing.
func (tx *Tx) AddRopeLoan(ctx context.Context, l gym.RopeLoan) error {
	decision := string(l.Decision)
	if decision == "" {
		decision = "{}"
	}
	n, err := tx.exec(ctx, "keeping a loan", `
		INSERT INTO rope_loan (gym_id, rope_loan_id, rope_id, athlete_id, lent, decision, day, lent_at, lent_by)
		VALUES (@gym, @id, @rope, @athlete, @lent, @decision::jsonb, @day, @at, @by)
		ON CONFLICT (gym_id, rope_loan_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": l.RopeLoanID, "rope": l.RopeID, "athlete": l.AthleteID, "lent": l.Lent, "decision": decision, "day": l.Day,
			"at": l.LentAt, "by": l.LentBy})
	if err != nil || n == 0 {
		return err
	}
	holder := orNull(l.AthleteID)
	if !l.Lent {
		holder = nil
	}
	_, err = tx.exec(ctx, "saying who has a rope", `UPDATE rope SET athlete_id = @athlete WHERE gym_id = @gym AND rope_id = @rope`,
		pgx.StrictNamedArgs{"rope": l.RopeID, "athlete": holder})
	return err
}

// SteelApprovals reads the newest word on steel about each athlete.
func SteelApprovals(whom Whom, into *[]gym.SteelApproval) Reading {
	return many("approvals of steel", into, `
		SELECT DISTINCT ON (athlete_id) steel_approval_id, athlete_id, approved, reason, day, approved_at, approved_by
		FROM steel_approval
		WHERE athlete_id `+whom.among+`
		ORDER BY athlete_id, approved_at DESC, steel_approval_id DESC`, whom.with(pgx.StrictNamedArgs{}))
}

// AddSteelApproval keeps a coach's word on steel.
func (tx *Tx) AddSteelApproval(ctx context.Context, a gym.SteelApproval) error {
	_, err := tx.exec(ctx, "approving steel", `
		INSERT INTO steel_approval (gym_id, steel_approval_id, athlete_id, approved, reason, day, approved_at, approved_by)
		VALUES (@gym, @id, @athlete, @approved, @reason, @day, @at, @by)
		ON CONFLICT (gym_id, steel_approval_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": a.SteelApprovalID, "athlete": a.AthleteID, "approved": a.Approved, "reason": a.Reason, "day": a.Day,
			"at": a.ApprovedAt, "by": a.ApprovedBy})
	return err
}

// ClassRopeKinds reads which kinds of rope classes use.
func ClassRopeKinds(into *[]gym.ClassRopeKind) Reading {
	return many("rope kinds of classes", into, `
		SELECT class_id, kind
		FROM class_rope_kind
		ORDER BY class_id, kind`, pgx.StrictNamedArgs{})
}

// SetClassRopeKinds says which kinds of rope a class uses; none is all.
func (tx *Tx) SetClassRopeKinds(ctx context.Context, class uuid.UUID, kinds []string) error {
	if _, err := tx.exec(ctx, "clearing the rope kinds of a class", `DELETE FROM class_rope_kind WHERE gym_id = @gym AND class_id = @class`,
		pgx.StrictNamedArgs{"class": class}); err != nil {
		return err
	}
	_, err := tx.exec(ctx, "setting the rope kinds of a class", `
		INSERT INTO class_rope_kind (gym_id, class_id, kind)
		SELECT @gym, @class, u.kind FROM unnest(@kinds::text[]) AS u (kind)
		ON CONFLICT DO NOTHING`, pgx.StrictNamedArgs{"class": class, "kinds": kinds})
	return err
}
