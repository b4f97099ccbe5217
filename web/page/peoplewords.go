package page

import (
	"fmt"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web/part"
)

func personURL(id uuid.UUID, below string) templ.SafeURL {
	return templ.SafeURL("/people/" + id.String() + below)
}

// roleWord says what somebody does in the gym.
func roleWord(role gym.Role) string {
	switch role {
	case gym.Owner:
		return "owner"
	case gym.Coach:
		return "coach"
	case gym.Assistant:
		return "assistant"
	case gym.Guardian:
		return "parent or guardian"
	case gym.Jumper:
		return "athlete"
	default:
		return "nobody yet"
	}
}

func roleOptions() []part.Option {
	return []part.Option{
		{Value: string(gym.Coach), Text: "Coach", Hint: "Makes classes and plans, decides stages, sees what hurts."},
		{Value: string(gym.Assistant), Text: "Assistant", Hint: "Enters results and who is here."},
		{Value: string(gym.Owner), Text: "Owner", Hint: "Everything, and the people, the data and the log."},
	}
}

// moment writes when something was, in the gym's zone: "Tue 3 Nov, 17:05".
func moment(at time.Time, zone *time.Location) string {
	if zone == nil {
		zone = time.UTC
	}
	at = at.In(zone)
	return part.Day(at) + ", " + part.Clock(at)
}

// untilWords says until when an invitation waits.
func untilWords(expires, now time.Time, zone *time.Location) string {
	if !now.Before(expires) {
		return "Too old now."
	}
	return "Until " + moment(expires, zone) + "."
}

func browserWord(label string) string {
	if label == "" {
		return "Browser"
	}
	return label
}

func partOf(n, all int) string { return fmt.Sprintf("%d of %d", n, all) }

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// inFours writes a key in groups that are easily typed.
func inFours(text string) string {
	var groups []string
	for len(text) > 4 {
		groups, text = append(groups, text[:4]), text[4:]
	}
	return strings.Join(append(groups, text), " ")
}

// changeLine says who changed what about how somebody comes in, and when.
func changeLine(l gym.AuditLine, zone *time.Location) string {
	by := l.ByName
	if by == "" {
		by = "somebody"
	}
	return moment(l.At, zone) + ": " + by + " " + l.Action
}

// ChangeTold says at a sign-in what was changed last about how the person comes in.
func ChangeTold(l gym.AuditLine) string {
	return "Lately on your account: " + l.Action + ". Was that not you? Look at your account, and tell the owner."
}
