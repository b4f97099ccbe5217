package deciding

import (
	"context"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// DiaryDays is how far back the diary is shown: a term.
const DiaryDays = 84

// NoteCatch keeps an entry of an athlete's catch diary: at least one thing must
// have been noticed. The same id again changes nothing.
func (d *Deciding) NoteCatch(ctx context.Context, who gym.Who, note gym.CatchNote) error {
	if err := problem.Form(checkCatch(note)); err != nil {
		return err
	}
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var decisions []gym.StageDecision
		if err := tx.Read(ctx, store.TheGym(&g), store.Decisions(store.Only(note.AthleteID), &decisions)); err != nil {
			return err
		}
		note.CatchNoteID, note.Stage = orNew(note.CatchNoteID), standing.PlaceOf(decisions).Stage
		note.Day, note.NotedAt, note.NotedBy = g.DayOf(now), now, who.ID()
		_, err := tx.AddCatchNote(ctx, note)
		return err
	})
}

func checkCatch(note gym.CatchNote) map[string]string {
	wrong := map[string]string{}
	c := standing.OfCatch(note)
	if c.Spot != "" && !slices.Contains(ladder.Spots(), c.Spot) {
		wrong["spot"] = "Choose from the list where the rope stopped."
	}
	if c.Timing != "" && !slices.Contains(ladder.Timings(), c.Timing) {
		wrong["timing"] = "Choose from the list when the wrists turned."
	}
	if c.Hands != "" && !slices.Contains(ladder.HandPlaces(), c.Hands) {
		wrong["hands"] = "Choose from the list where the hands were."
	}
	if c.Height != "" && !slices.Contains(ladder.Heights(), c.Height) {
		wrong["height"] = "Choose from the list how high the jump was."
	}
	if c.Spot == "" && c.Timing == "" && c.Hands == "" && c.Height == "" {
		wrong["spot"] = "Choose at least one thing that was noticed."
	}
	return wrong
}

// TakeBackCatch takes an entry out of the diary that is seen; it stays kept.
func (d *Deciding) TakeBackCatch(ctx context.Context, who gym.Who, athlete, id uuid.UUID) error {
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var notes []gym.CatchNote
		if err := tx.Read(ctx, store.TheGym(&g), store.CatchNotes(store.Only(athlete), time.Time{}, &notes)); err != nil {
			return err
		}
		if !slices.ContainsFunc(notes, func(n gym.CatchNote) bool { return n.CatchNoteID == id }) {
			return problem.New(problem.NotFound, "There is no such note in this diary.")
		}
		_, err := tx.AddCatchNote(ctx, gym.CatchNote{CatchNoteID: newID(), AthleteID: athlete, Day: g.DayOf(now), TakesBack: id, NotedAt: now, NotedBy: who.ID()})
		return err
	})
}

// Suggest returns the one cue that an athlete's notes speak for today.
func Suggest(notes []gym.CatchNote, today time.Time) ladder.Suggestion {
	catches := make([]ladder.Catch, len(notes))
	for i, n := range notes {
		catches[i] = standing.OfCatch(n)
	}
	return ladder.SuggestCue(catches, dayOf(today))
}
