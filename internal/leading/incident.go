package leading

import (
	"context"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// RecordIncident keeps what happened, where, who saw it and what was done. With
// Corrects it stands in the place of an earlier entry, which stays. The same id
// again changes nothing.
func (lead *Leading) RecordIncident(ctx context.Context, who gym.Who, i gym.Incident) error {
	now := lead.Now()
	wrong := map[string]string{}
	for field, row := range map[string]struct{ text, ask string }{
		"what":    {i.What, "Write what happened, in a few plain words."},
		"place":   {i.Place, "Write where it happened, such as “hall, by the door”."},
		"seen_by": {i.SeenBy, "Write who saw it. Write “nobody” if nobody did."},
		"done":    {i.Done, "Write what was done, such as “cooled it, sat out, mother told”."},
	} {
		switch {
		case row.text == "":
			wrong[field] = row.ask
		case utf8.RuneCountInString(row.text) > longestNote:
			wrong[field] = "This is too long. Shorten it to 2,000 characters."
		}
	}
	if i.HappenedAt.IsZero() || i.HappenedAt.After(now.Add(time.Minute)) {
		wrong["happened"] = "Choose a day and time that are not in the future."
	}
	if err := problem.Form(wrong); err != nil {
		return err
	}
	i.RecordedAt, i.RecordedBy = now, who.ID()
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if i.Corrects != uuid.Nil {
			var old gym.Incident
			if err := tx.Read(ctx, store.Incident(i.Corrects, &old)); err != nil {
				return err
			}
		}
		added, err := tx.AddIncident(ctx, i)
		if err != nil || !added {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "recorded an incident", "incident", i.IncidentID)
	})
}

// Incidents returns a page of the incidents that stand, newest first, and notes
// that somebody looked.
func (lead *Leading) Incidents(ctx context.Context, who gym.Who, p store.Page) (incidents []gym.Incident, athletes []gym.Athlete, err error) {
	err = lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.Read(ctx, store.Incidents(p, &incidents), store.Athletes(&athletes)); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "looked at incidents", "gym", who.GymID)
	})
	return incidents, athletes, err
}
