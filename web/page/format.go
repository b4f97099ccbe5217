package page

import (
	"fmt"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/web/part"
)

func classURL(id uuid.UUID, below string) templ.SafeURL {
	return templ.SafeURL("/classes/" + id.String() + below)
}

func athleteURL(id uuid.UUID, below string) templ.SafeURL {
	return templ.SafeURL("/athletes/" + id.String() + below)
}

// appendID adds an id as it is written in addresses.
func appendID(to []byte, id uuid.UUID) []byte {
	written, _ := id.MarshalText() // it cannot go wrong
	return append(to, written...)
}

func planURL(id uuid.UUID) templ.SafeURL { return templ.SafeURL("/plans/" + id.String()) }

// levelFigure writes a level as "128 ± 5", or "–" where there is none.
func levelFigure(l level.Level) string {
	if !l.Known() {
		return "–"
	}
	return fmt.Sprintf("%s ± %s", part.Whole(l.RPM), part.Whole((l.High-l.Low)/2))
}

// dayOrNone writes a day, or "none yet" for the zero time.
func dayOrNone(day time.Time) string {
	if day.IsZero() {
		return "none yet"
	}
	return part.Day(day)
}

var weekdays = [...]string{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"}

func weekdayOptions() []part.Option {
	options := []part.Option{{Value: "", Text: "Choose a day"}}
	for i, name := range weekdays {
		options = append(options, part.Option{Value: fmt.Sprint(i + 1), Text: name})
	}
	return options
}

// ClassTimes writes the weekly times of one class: "Tue 17:00, 45 min".
func ClassTimes(class uuid.UUID, times []gym.ClassTime) string {
	text := ""
	for _, t := range times {
		if t.ClassID != class {
			continue
		}
		if text != "" {
			text += " · "
		}
		text += fmt.Sprintf("%s %02d:%02d, %d min", weekdays[t.Weekday-1][:3], int(t.StartsAt.Hours()), int(t.StartsAt.Minutes())%60, t.Minutes)
	}
	return text
}

// stepWord, ropeWord and the like name the keys that the store keeps.
func stepWord(step string) string {
	switch step {
	case "alternate":
		return "alternate step"
	case "double":
		return "double unders"
	default:
		return "bounce step"
	}
}

func ropeWord(kind string) string {
	switch kind {
	case "":
		return "rope not noted"
	case "cord":
		return "PVC cord"
	case "steel":
		return "coated steel"
	default:
		return kind
	}
}

func surfaceWord(surface string) string {
	if surface == "" {
		return "floor not noted"
	}
	return surface
}

func counterWord(who string) string {
	switch who {
	case "coach":
		return "coach"
	case "self":
		return "athlete"
	default:
		return "partner"
	}
}
