package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// FloorOf reads the space of a class; none leaves *into empty.
func FloorOf(class uuid.UUID, into *[]gym.Floor) Reading {
	return many("floor", into, `
		SELECT class_id, length_m, width_m, spacing_m, surface, note, noted_at, noted_by
		FROM floor
		WHERE class_id = @class`, pgx.StrictNamedArgs{"class": class})
}

// SetFloor notes the space of a class.
func (tx *Tx) SetFloor(ctx context.Context, f gym.Floor) error {
	_, err := tx.exec(ctx, "noting a floor", `
		INSERT INTO floor (gym_id, class_id, length_m, width_m, spacing_m, surface, note, noted_at, noted_by)
		VALUES (@gym, @class, @length, @width, @spacing, @surface, @note, @at, @by)
		ON CONFLICT (gym_id, class_id) DO UPDATE SET length_m = @length, width_m = @width, spacing_m = @spacing,
			surface = @surface, note = @note, noted_at = @at, noted_by = @by`,
		pgx.StrictNamedArgs{"class": f.ClassID, "length": f.LengthM, "width": f.WidthM, "spacing": f.SpacingM,
			"surface": f.Surface, "note": f.Note, "at": f.NotedAt, "by": f.NotedBy})
	return err
}

// OutfitsOfClass reads height and shoes of everybody in a class, where noted.
func OutfitsOfClass(class uuid.UUID, into *[]gym.Outfit) Reading {
	return many("outfits", into, `
		SELECT o.athlete_id, o.height_cm, o.shoes, o.noted_at, o.noted_by
		FROM outfit o JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL
		ORDER BY e.place, o.athlete_id`, pgx.StrictNamedArgs{"class": class})
}

// SetOutfits notes height and shoes of several athletes.
func (tx *Tx) SetOutfits(ctx context.Context, outfits []gym.Outfit) error {
	for _, o := range outfits {
		_, err := tx.exec(ctx, "noting height and shoes", `
			INSERT INTO outfit (gym_id, athlete_id, height_cm, shoes, noted_at, noted_by)
			VALUES (@gym, @athlete, @height, @shoes, @at, @by)
			ON CONFLICT (gym_id, athlete_id) DO UPDATE SET height_cm = @height, shoes = @shoes, noted_at = @at, noted_by = @by`,
			pgx.StrictNamedArgs{"athlete": o.AthleteID, "height": o.HeightCM, "shoes": o.Shoes, "at": o.NotedAt, "by": o.NotedBy})
		if err != nil {
			return err
		}
	}
	return nil
}
