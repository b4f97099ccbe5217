package page

import (
	"fmt"
	"strconv"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/progress"
	"ropewalk.example/web/part"
)

func zoneOr(zone *time.Location) *time.Location {
	if zone == nil {
		return time.UTC
	}
	return zone
}

// longDay writes a day with its year, for what may be long ago: "Tue 3 Nov 2026".
func longDay(at time.Time, zone *time.Location) string {
	at = at.In(zoneOr(zone))
	return part.Day(at) + at.Format(" 2006")
}

func longMoment(at time.Time, zone *time.Location) string {
	return longDay(at, zone) + ", " + part.Clock(at.In(zoneOr(zone)))
}

func ageValue(age int) string { return strconv.Itoa(age) }

// askedWord says who asked to forget somebody.
func askedWord(for_ string) string {
	switch for_ {
	case "athlete":
		return "the athlete asked"
	case "guardian":
		return "a guardian asked"
	case "time":
		return "nothing was heard for long"
	default:
		return "the gym asked"
	}
}

func (v PrivacyView) anyDone() bool {
	for _, x := range v.Erasures {
		if x.DoneAt != nil {
			return true
		}
	}
	return false
}

func erasedWords(x gym.Erasure) string {
	what := "an athlete, with all that was kept"
	if x.About == "person" {
		what = "the name of a person who worked here"
	}
	if x.KeepIncidents {
		what += "; incident records were kept, as law or insurer asks"
	}
	return what
}

func rowsIn(report map[string]int) int {
	rows := 0
	for _, n := range report {
		rows += n
	}
	return rows
}

func purgedWord(what string) string {
	switch what {
	case "athletes":
		return "athletes put on the list to be forgotten"
	case "health":
		return "old notes of what hurt"
	case "incidents":
		return "old incidents"
	default:
		return "old lines of the log"
	}
}

func incidentHint(n, months int) string {
	return fmt.Sprintf("%s with the name would stay for %s after it happened. Leave this if nothing obliges you.",
		part.Count(n, "incident", "incidents"), part.Count(months, "month", "months"))
}

// questionWord is one question before the first session, as a statement.
func questionWord(key string) string {
	for _, option := range questionOptions() {
		if option.Value == key {
			return option.Text
		}
	}
	return key
}

// questionOptions are the questions before the first session. They are to be
// checked by a qualified person and against local rules.
func questionOptions() []part.Option {
	return []part.Option{
		{Value: "limited", Text: "A doctor or other health professional said to limit running or jumping."},
		{Value: "pain", Text: "There is pain in a foot, shin, knee, hip or the back now."},
		{Value: "injury", Text: "There was a broken bone, an operation or a bad sprain in the last 3 months."},
		{Value: "breath", Text: "Being active brings chest pain, fainting, or much more trouble breathing than others have."},
		{Value: "other", Text: "There is something else a coach should know first."},
	}
}

// AnsweredWords says what answers lead to.
func AnsweredWords(yes []string) string {
	if len(yes) == 0 {
		return "The answers are kept."
	}
	return "The answers are kept. Talk before the next jump. Advice from a health professional may be needed first."
}

func nameOr(names map[uuid.UUID]string, id uuid.UUID) string {
	if name := names[id]; name != "" {
		return name
	}
	return "the athlete or a guardian"
}

func orNothing(text string) string {
	if text == "" {
		return "not written down"
	}
	return text
}

// placeWord says where it hurts.
func placeWord(place string) string {
	for _, option := range placeOptions() {
		if option.Value == place && place != "" {
			return option.Text
		}
	}
	return "–"
}

func toldWords(t gym.Told, names map[uuid.UUID]string, guardians []gym.Guardianship, zone *time.Location) string {
	what := "a hold"
	if t.About == "incident" {
		what = "an incident"
	}
	if t.How == "spoken" {
		return longMoment(t.At, zone) + ": " + nameOr(names, t.By) + " told a guardian of " + what + "."
	}
	who := "A guardian"
	for _, g := range guardians {
		if g.GuardianID == t.GuardianID {
			who = g.Name
		}
	}
	return longMoment(t.At, zone) + ": " + who + " read of " + what + " on the own page."
}

func staffOptions(staff []NamedPerson) []part.Option {
	options := []part.Option{{Value: "", Text: "Anybody"}}
	for _, person := range staff {
		options = append(options, part.Option{Value: person.ID.String(), Text: person.Name})
	}
	return options
}

// doerWord says who did something.
func doerWord(line gym.AuditLine) string {
	switch {
	case line.ByName != "":
		return line.ByName
	case line.By == uuid.Nil:
		return "the gym's own rules"
	default:
		return "somebody who is gone"
	}
}

// careAnswer says what pain leaves of the plan, to those who may know.
func careAnswer(v AthleteView) string {
	if !v.MayPlan && v.Care.State != progress.Held {
		return ""
	}
	return " " + CareSentence(v.Care)
}
