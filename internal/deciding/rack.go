package deciding

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Bounds of what a rope's form takes.
const (
	maxLabel  = 20
	maxHandle = 60
	maxNote   = 200
)

// AddRope hangs a new rope into the rack.
func (d *Deciding) AddRope(ctx context.Context, who gym.Who, rope gym.Rope) error {
	rope, err := checkRope(rope)
	if err != nil {
		return err
	}
	rope.AthleteID = uuid.Nil
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error { return tx.AddRope(ctx, rope, d.Now()) })
}

// ChangeRope gives a rope another label, kind, length, handle or note.
func (d *Deciding) ChangeRope(ctx context.Context, who gym.Who, rope gym.Rope) error {
	rope, err := checkRope(rope)
	if err != nil {
		return err
	}
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Rope
		if err := tx.Read(ctx, store.Rope(rope.RopeID, &there)); err != nil {
			return err
		}
		return tx.ChangeRope(ctx, rope)
	})
}

func checkRope(rope gym.Rope) (gym.Rope, error) {
	rope.RopeID = orNew(rope.RopeID)
	rope.Label, rope.Handle, rope.Note = strings.TrimSpace(rope.Label), strings.TrimSpace(rope.Handle), strings.TrimSpace(rope.Note)
	wrong := map[string]string{}
	if n := len([]rune(rope.Label)); n == 0 || n > maxLabel {
		wrong["label"] = fmt.Sprintf("Type what is written on the rope, 1 to %d letters, like B4.", maxLabel)
	}
	if !slices.Contains(gym.RopeKinds(), rope.Kind) {
		wrong["kind"] = "Choose a kind from the list."
	}
	if rope.LengthM != 0 && !(rope.LengthM >= 1 && rope.LengthM <= 5) {
		wrong["length"] = "The length must be from 1 to 5 metres, like 2.6."
	}
	if len([]rune(rope.Handle)) > maxHandle {
		wrong["handle"] = fmt.Sprintf("Write the handle in %d letters or fewer.", maxHandle)
	}
	if len([]rune(rope.Note)) > maxNote {
		wrong["note"] = fmt.Sprintf("Write the note in %d letters or fewer.", maxNote)
	}
	return rope, problem.Form(wrong)
}

// RetireRope takes a rope out of the rack for good. Its results stay.
func (d *Deciding) RetireRope(ctx context.Context, who gym.Who, id uuid.UUID) error {
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Rope
		if err := tx.Read(ctx, store.Rope(id, &there)); err != nil {
			return err
		}
		if err := tx.RetireRope(ctx, id, now); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "retired a rope", "rope", id)
	})
}

// CheckRope logs a look at coating, ends and handles. A rope that is not sound
// goes to nobody until a later look says otherwise.
func (d *Deciding) CheckRope(ctx context.Context, who gym.Who, id, rope uuid.UUID, sound bool, note string) error {
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var there gym.Rope
		if err := tx.Read(ctx, store.TheGym(&g), store.Rope(rope, &there)); err != nil {
			return err
		}
		return tx.AddRopeCheck(ctx, gym.RopeCheck{RopeCheckID: orNew(id), RopeID: rope, Sound: sound, Note: strings.TrimSpace(note), Day: g.DayOf(now),
			CheckedAt: now, CheckedBy: who.ID()})
	})
}

// ApproveSteel keeps a coach's word that an athlete may use steel, or no longer.
func (d *Deciding) ApproveSteel(ctx context.Context, who gym.Who, athlete uuid.UUID, approved bool, reason string) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach approves steel.")
	}
	reason = strings.TrimSpace(reason)
	if n := len([]rune(reason)); n == 0 || n > maxReason {
		return problem.Form(map[string]string{"reason": "Write why, for whoever asks later."})
	}
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var a gym.Athlete
		if err := tx.Read(ctx, store.TheGym(&g), store.Athlete(athlete, &a)); err != nil {
			return err
		}
		if err := tx.AddSteelApproval(ctx, gym.SteelApproval{SteelApprovalID: newID(), AthleteID: athlete, Approved: approved, Reason: reason,
			Day: g.DayOf(now), ApprovedAt: now, ApprovedBy: who.ID()}); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "approved steel", "athlete", athlete)
	})
}

// SetClassKinds says which kinds of rope a class uses; none is all.
func (d *Deciding) SetClassKinds(ctx context.Context, who gym.Who, class uuid.UUID, kinds []string) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach sets the ropes of a class.")
	}
	for _, kind := range kinds {
		if !slices.Contains(gym.RopeKinds(), kind) {
			return problem.Form(map[string]string{"kinds": "Choose kinds from the list."})
		}
	}
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Class
		if err := tx.Read(ctx, store.Class(class, &there)); err != nil {
			return err
		}
		if err := tx.SetClassRopeKinds(ctx, class, kinds); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), d.Now(), who.ID(), "set the ropes of a class", "class", class)
	})
}
