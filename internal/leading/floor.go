package leading

import (
	"context"
	"slices"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Bounds of a floor, in metres, and of a height, in centimetres.
const (
	ShortestFloorM = 2
	LongestFloorM  = 200
	ClosestM       = 2
	WidestM        = 10
	ShortestCM     = 80
	TallestCM      = 230
)

// SetFloor notes the space of a class, and height and shoes of its athletes.
func (lead *Leading) SetFloor(ctx context.Context, who gym.Who, f gym.Floor, outfits []gym.Outfit) error {
	wrong := map[string]string{}
	within := func(field string, value, low, high float64, message string) {
		if !(value >= low && value <= high) {
			wrong[field] = message
		}
	}
	within("length", f.LengthM, ShortestFloorM, LongestFloorM, "The length must be from 2 to 200 m.")
	within("width", f.WidthM, ShortestFloorM, LongestFloorM, "The width must be from 2 to 200 m.")
	within("spacing", f.SpacingM, ClosestM, WidestM, "The space between jumpers must be from 2 to 10 m.")
	if !slices.Contains(gym.Surfaces(), f.Surface) {
		wrong["surface"] = "Choose a floor from the list."
	}
	for _, o := range outfits {
		if o.HeightCM != nil && (*o.HeightCM < ShortestCM || *o.HeightCM > TallestCM) {
			wrong["height-"+o.AthleteID.String()] = "A height is a whole number from 80 to 230 cm."
		}
		if !slices.Contains(gym.Shoes(), o.Shoes) {
			wrong["shoes-"+o.AthleteID.String()] = "Choose from the list."
		}
	}
	if err := problem.Form(wrong); err != nil {
		return err
	}
	now := lead.Now()
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var class gym.Class
		var inClass []gym.Athlete
		if err := tx.Read(ctx, store.Class(f.ClassID, &class), store.AthletesOf(f.ClassID, &inClass)); err != nil {
			return err
		}
		known := func(id uuid.UUID) bool {
			return slices.ContainsFunc(inClass, func(a gym.Athlete) bool { return a.AthleteID == id })
		}
		outfits = slices.DeleteFunc(slices.Clone(outfits), func(o gym.Outfit) bool { return !known(o.AthleteID) })
		f.NotedAt, f.NotedBy = now, who.ID()
		for i := range outfits {
			outfits[i].NotedAt, outfits[i].NotedBy = now, who.ID()
		}
		if err := tx.SetFloor(ctx, f); err != nil {
			return err
		}
		if err := tx.SetOutfits(ctx, outfits); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "noted a floor", "class", f.ClassID)
	})
}

// RopeForCM returns the length of rope that suits a height to begin with, both
// in centimetres: handles to the armpits when one stands on the rope with one
// foot, about 90 cm more than one is tall (common practice, no source).
func RopeForCM(height int) int { return height + 90 }
