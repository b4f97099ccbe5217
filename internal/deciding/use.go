package deciding

import (
	"context"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// UseOutlook returns who would stand elsewhere if a ladder were put into use, and
// the ladder in use now.
func (d *Deciding) UseOutlook(ctx context.Context, who gym.Who, draft Draft) (Outlook, ladder.Ladder, error) {
	g, err := d.whole(ctx, who)
	if err != nil {
		return Outlook{}, ladder.Ladder{}, err
	}
	outlook := Outlook{Athletes: g.byID()}
	for _, a := range g.Athletes {
		if to := placeOn(draft, g.Ladder, a); a.Place.Stage != "" && to != a.Place.Stage {
			outlook.Moves = append(outlook.Moves, ladder.Move{Athlete: a.AthleteID.String(), From: a.Place.Stage, To: to})
		}
	}
	return outlook, g.Ladder, nil
}

// placeOn returns where a stands when the gym changes from old to the draft's
// ladder: on the same stage if that has it, else on the last stage that a had on
// that ladder, else as near as [ladder.Place] finds.
func placeOn(draft Draft, old ladder.Ladder, a Athlete) string {
	if _, same := draft.Published.Stage(a.Place.Stage); same {
		return a.Place.Stage
	}
	holding := standing.Holding(a.Decisions)
	for i := len(holding) - 1; i >= 0; i-- {
		if _, has := draft.Published.Stage(holding[i].StageTo); has && holding[i].LadderID == draft.Kept.LadderID {
			return holding[i].StageTo
		}
	}
	key, _ := ladder.Place(old, draft.Published, a.Place.Stage)
	return key
}

// UseLadder puts a ladder into use. moves is how many athletes the coach saw move.
func (d *Deciding) UseLadder(ctx context.Context, who gym.Who, id uuid.UUID, moves int) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach chooses the ladder.")
	}
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var read draftRows
		var old rows
		if err := tx.Read(ctx, append(read.readings(id), store.LadderInUse(&old.ladders), store.Stages(&old.stages))...); err != nil {
			return err
		}
		draft, err := read.draft()
		if err != nil {
			return err
		}
		inUse, err := ladderOf(d.shelf(), old.ladders, old.stages)
		if err != nil {
			return err
		}
		place := func(a Athlete) string { return placeOn(draft, inUse, a) }
		if err := d.move(ctx, tx, who, place, draft.Kept, "The gym uses another ladder now.", moves); err != nil {
			return err
		}
		if err := tx.UseLadder(ctx, id); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), d.Now(), who.ID(), "put a ladder into use", "ladder", id)
	})
}

// UseShipped gives a gym without a ladder the one that comes with the program.
func (d *Deciding) UseShipped(ctx context.Context, who gym.Who) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach chooses the ladder.")
	}
	now := d.Now()
	kept, version, stages, err := standing.Shipped(newID(), now)
	if err != nil {
		return err
	}
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var inUse []gym.Ladder
		if err := tx.Read(ctx, store.LadderInUse(&inUse)); err != nil || len(inUse) > 0 {
			return err
		}
		if err := tx.AddLadder(ctx, kept); err != nil {
			return err
		}
		if err := tx.AddLadderVersion(ctx, version, stages); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "put a ladder into use", "ladder", kept.LadderID)
	})
}
