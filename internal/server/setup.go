package server

import (
	"net/http"
	"strings"

	"github.com/a-h/templ"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
)

// zones are offered first; any IANA name is taken.
func zones() []string {
	return []string{"Europe/London", "Europe/Berlin", "Europe/Paris", "Europe/Madrid", "Europe/Warsaw", "Europe/Athens", "Africa/Lagos",
		"Africa/Nairobi", "Africa/Johannesburg", "Asia/Dubai", "Asia/Kolkata", "Asia/Bangkok", "Asia/Shanghai", "Asia/Tokyo", "Asia/Seoul",
		"Australia/Sydney", "Pacific/Auckland", "Pacific/Honolulu", "America/New_York", "America/Chicago", "America/Denver",
		"America/Los_Angeles", "America/Mexico_City", "America/Bogota", "America/Sao_Paulo", "UTC"}
}

// zoneNamed finds the zone that somebody means who types a city, or other
// capitals; what is none of ours stays as it is.
func zoneNamed(typed string) string {
	typed = trimmed(typed)
	as := strings.ReplaceAll(typed, " ", "_")
	for _, zone := range zones() {
		if _, city, _ := strings.Cut(zone, "/"); strings.EqualFold(zone, as) || strings.EqualFold(city, as) && city != "" {
			return zone
		}
	}
	return typed
}

// getSetup shows the first page of an empty install; later it is not there.
func (s *Server) getSetup(w http.ResponseWriter, r *http.Request) error {
	if err := s.onlyWhenEmpty(r); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Setup(s.bare(r, "Make your gym"), page.SetupForm{Zones: zones()}, nil))
}

// postSetup makes the first owner and the gym, and signs the owner in.
func (s *Server) postSetup(w http.ResponseWriter, r *http.Request) error {
	if err := s.onlyWhenEmpty(r); err != nil {
		return err
	}
	form := page.SetupForm{ConsentAge: r.PostFormValue("consent_age"), Code: r.PostFormValue("code"), GymName: r.PostFormValue("gym"), Zone: zoneNamed(r.PostFormValue("zone")),
		Name: r.PostFormValue("name"), SignInName: r.PostFormValue("sign_in"), Zones: zones()}
	owner, err := s.Accounts.MakeFirstOwner(r.Context(), s.door(r), account.FirstOwner{Code: form.Code, GymName: form.GymName, TimeZone: form.Zone,
		Name: form.Name, SignInName: form.SignInName, Password: r.PostFormValue("password"), ConsentAge: consentAge(form.ConsentAge)})
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "Make your gym")
			meta.Error = true
			return page.Setup(meta, form, messages)
		})
	}
	person, err := s.Store.Person(r.Context(), owner.PersonID)
	if err != nil {
		return err
	}
	return s.admit(w, r, person, "/classes/new")
}

// usualConsentAge is offered first: the age of the GDPR, article 8, which
// countries may lower to 13.
const usualConsentAge = 16

// consentAge reads an age; where nothing was chosen, it is the usual one.
func consentAge(typed string) int {
	if trimmed(typed) == "" {
		return usualConsentAge
	}
	age, ok := number(typed)
	if !ok {
		return -1
	}
	return age
}

func (s *Server) onlyWhenEmpty(r *http.Request) error {
	empty, err := s.Store.Empty(r.Context())
	if err != nil {
		return err
	}
	if !empty {
		return problem.New(problem.NotFound, "This gym is set up already. Sign in instead.")
	}
	return nil
}
