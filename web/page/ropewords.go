package page

import (
	"strconv"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web/part"
)

// ropeText names a rope's kind and length: "beaded, 2.6 m".
func ropeText(r gym.Rope) string {
	text := ropeWord(r.Kind)
	if r.LengthM > 0 {
		text += ", " + lengthText(r.LengthM) + "\u00a0m"
	}
	if r.Handle != "" {
		text += ", " + r.Handle
	}
	return text
}

// RopeHint nudges towards one skill on one rope.
func RopeHint(began string) string {
	return "This stage was begun on: " + ropeWord(began) + ". Learn one skill on one rope."
}

func lengthText(metres float64) string {
	if metres == 0 {
		return "–"
	}
	return strconv.FormatFloat(metres, 'f', 1, 64)
}

func athleteOptions(athletes []gym.Athlete) []part.Option {
	options := []part.Option{{Text: "Choose"}}
	for _, a := range athletes {
		options = append(options, part.Option{Value: a.AthleteID.String(), Text: a.Name})
	}
	return options
}

// RopeKindsText lists the kinds of rope that a class uses.
func RopeKindsText(kinds []string) string {
	if len(kinds) == 0 {
		return "every kind"
	}
	text := ""
	for i, kind := range kinds {
		if i > 0 {
			text += ", "
		}
		text += ropeWord(kind)
	}
	return text
}
