package page

import (
	"fmt"
	"net/url"
	"slices"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web/part"
)

func ageSentence(age int) string {
	return fmt.Sprintf("This gym asks a parent or guardian of everybody under %d, and of those whose birth year is not known.", age)
}

// purposeWord says in two words what is agreed to.
func purposeWord(p gym.Purpose) string {
	if p == gym.ToUsePhone {
		return "An own phone"
	}
	return "Keeping records"
}

func purposeOptions() []part.Option {
	var options []part.Option
	for _, purpose := range gym.Purposes() {
		options = append(options, part.Option{Value: string(purpose), Text: purposeWord(purpose)})
	}
	return options
}

func howOptions() []part.Option {
	return []part.Option{{Value: "paper", Text: "On paper"}, {Value: "spoken", Text: "In person"}, {Value: "phone", Text: "By phone"}}
}

func howWord(how string) string {
	for _, option := range howOptions() {
		if option.Value == how {
			return option.Text
		}
	}
	return how
}

func agreedWord(b gym.Basis) string {
	if b.Phone {
		return "records and phone"
	}
	return "records, no phone"
}

// notedBy names who noted a consent: the guardian on an own phone, or staff.
func notedBy(names map[uuid.UUID]string, c gym.Consent) string {
	if c.GuardianID != uuid.Nil {
		return "the guardian, on an own phone"
	}
	if name := names[c.NotedBy]; name != "" {
		return name
	}
	return "somebody who has left"
}

// NotedWords says that consents were noted.
func NotedWords(n int) string {
	if n == 0 {
		return "Nothing was ticked, so nothing is noted."
	}
	return part.Count(n, "guardian's word is", "guardians' words are") + " noted."
}

func ticked(typed url.Values, field, value string) bool { return slices.Contains(typed[field], value) }

func guardianList(guardians []gym.Guardianship) templ.Attributes {
	if len(guardians) == 0 {
		return nil
	}
	return templ.Attributes{"list": "guardians"}
}

// consentAgeOptions are the ages under which a guardian is asked.
func consentAgeOptions() []part.Option {
	options := []part.Option{}
	for age := 13; age <= 18; age++ {
		options = append(options, part.Option{Value: fmt.Sprint(age), Text: fmt.Sprintf("Athletes under %d", age)})
	}
	return append(options, part.Option{Value: "0", Text: "Nobody: we keep consents elsewhere"})
}

func consentAgeOr(age, usual string) string {
	if age == "" {
		return usual
	}
	return age
}

// lastSaid says when the last word on a purpose was.
func lastSaid(consents []gym.Consent, purpose gym.Purpose, zone *time.Location) string {
	for _, c := range consents {
		if c.Purpose == purpose {
			return moment(c.NotedAt, zone)
		}
	}
	return ""
}

func guardianSignIn() templ.Attributes {
	return templ.Attributes{"spellcheck": "false", "autocapitalize": "none"}
}
