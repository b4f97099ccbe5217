package page

import (
	"fmt"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
)

// StageOf writes where an athlete stands: "4 · Steady minute", or "" where
// nobody has decided yet.
func StageOf(athlete uuid.UUID, places []gym.StageDecision, stages []gym.Stage) string {
	for _, place := range places {
		if place.AthleteID != athlete {
			continue
		}
		for _, stage := range stages {
			if stage.Key == place.StageTo {
				return fmt.Sprintf("%d · %s", stage.Number, stage.Title)
			}
		}
	}
	return ""
}
