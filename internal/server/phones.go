package server

import (
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// phones is how coaches let phones in and cut them off.
func (s *Server) phones(r chi.Router) {
	r.Post("/classes/{class}/cards/print", s.page(s.postPrintCards))
	r.Get("/athletes/{athlete}/phones", s.page(s.getPhones))
	r.Post("/athletes/{athlete}/card", s.page(s.postCard))
	r.Post("/athletes/{athlete}/guardians", s.page(s.postGuardians))
	r.Post("/devices/{device}/cut-off", s.page(s.postCutOff))
	r.Post("/guardians/{guardian}", s.page(s.postGuardian))
}

// postPrintCards makes a card for everybody in a class and shows them once.
func (s *Server) postPrintCards(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	v := page.CardSheet{Address: s.addressOf(r) + "/join"}
	var g gym.Gym
	var athletes []gym.Athlete
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Class(id, &v.Class), store.AthletesOf(id, &athletes))
	if err != nil {
		return err
	}
	return s.printCards(w, r, v, g, athletes)
}

// postCard makes a card for one athlete, in the class that comes first.
func (s *Server) postCard(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	v := page.CardSheet{Address: s.addressOf(r) + "/join"}
	var g gym.Gym
	var athlete gym.Athlete
	var classes []gym.Class
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Athlete(id, &athlete), store.ClassesOf(id, &classes))
	if err != nil {
		return err
	}
	if len(classes) == 0 {
		return problem.New(problem.Invalid, "This athlete is in no class. Put the athlete into one first.")
	}
	v.Class = classes[0]
	return s.printCards(w, r, v, g, []gym.Athlete{athlete})
}

func (s *Server) printCards(w http.ResponseWriter, r *http.Request, v page.CardSheet, g gym.Gym, athletes []gym.Athlete) error {
	ids := make([]uuid.UUID, len(athletes))
	for i, athlete := range athletes {
		ids[i] = athlete.AthleteID
	}
	secrets, err := s.Accounts.MakeCards(r.Context(), who(r.Context()), ids)
	if err != nil {
		return err
	}
	v.GymName, v.Until = g.Name, part.Day(s.Now().Add(account.CardLife).In(g.Zone()))
	for _, athlete := range athletes {
		code, err := part.QR(s.pairURL(r, secrets[athlete.AthleteID]))
		if err != nil {
			return err
		}
		v.Cards = append(v.Cards, page.PrintedCard{Athlete: athlete, Code: code})
	}
	return render(w, r, http.StatusOK, page.PrintCards(s.paper(r, "Cards to print"), v))
}

// pairURL is the address behind a card's code. The secret follows the #, which
// browsers keep to themselves.
func (s *Server) pairURL(r *http.Request, secret string) string {
	return s.addressOf(r) + "/pair#" + secret
}

func (s *Server) phonesView(r *http.Request, athlete uuid.UUID) (page.PhonesView, error) {
	var v page.PhonesView
	var g gym.Gym
	var devices []gym.Device
	err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Athlete(athlete, &v.Athlete),
		store.DevicesOf(athlete, &devices), store.GuardiansOf(athlete, &v.Guardians))
	if err != nil {
		return v, err
	}
	day := func(at time.Time) string { return part.Day(at.In(g.Zone())) }
	for _, d := range devices {
		line := page.DeviceLine{Device: d, Whose: "athlete", LetIn: day(d.LetInAt), LastSeen: day(d.LastSeenAt)}
		if d.GuardianID != uuid.Nil {
			line.Whose = "a guardian who was removed"
		}
		for _, guardian := range v.Guardians {
			if guardian.GuardianID == d.GuardianID {
				line.Whose = guardian.Name
			}
		}
		if d.CutOffAt != nil {
			line.CutOff = day(*d.CutOffAt)
		}
		v.Devices = append(v.Devices, line)
	}
	return v, nil
}

func (s *Server) getPhones(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	v, err := s.phonesView(r, id)
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.Phones(s.meta(r, "Phones and guardians"), v, nil))
}

// postCutOff shuts a phone out at once.
func (s *Server) postCutOff(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "device")
	if err != nil {
		return err
	}
	me := who(r.Context())
	var d gym.Device
	if err := s.Store.Read(r.Context(), me.GymID, store.Device(id, &d)); err != nil {
		return err
	}
	if err := s.Accounts.CutOff(r.Context(), me, id); err != nil {
		return err
	}
	s.say(r, "That phone is cut off. What waits on it stays there.")
	return seeOther(w, r, "/athletes/"+d.AthleteID.String()+"/phones")
}

// postGuardians adds a guardian and shows the link.
func (s *Server) postGuardians(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	name := r.PostFormValue("name")
	v, err := s.phonesView(r, id)
	if err != nil {
		return err
	}
	secret, err := s.Accounts.AddGuardian(r.Context(), who(r.Context()), id, name)
	if err != nil {
		v.Name = name
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.Phones(s.metaAgain(r, "Phones and guardians"), v, messages)
		})
	}
	return s.showLink(w, r, v.Athlete, trimmed(name), secret)
}

// postGuardian makes a new link for a guardian, or removes the guardian.
func (s *Server) postGuardian(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "guardian")
	if err != nil {
		return err
	}
	me := who(r.Context())
	var guardian gym.Guardianship
	if err := s.Store.Read(r.Context(), me.GymID, store.Guardian(id, &guardian)); err != nil {
		return err
	}
	if r.PostFormValue("do") == "remove" {
		if err := s.Accounts.RemoveGuardian(r.Context(), me, id); err != nil {
			return err
		}
		s.say(r, "Removed. The guardian's phones are signed out.")
		return seeOther(w, r, "/athletes/"+guardian.AthleteID.String()+"/phones")
	}
	var athlete gym.Athlete
	if err := s.Store.Read(r.Context(), me.GymID, store.Athlete(guardian.AthleteID, &athlete)); err != nil {
		return err
	}
	secret, err := s.Accounts.LinkGuardian(r.Context(), me, guardian)
	if err != nil {
		return err
	}
	return s.showLink(w, r, athlete, guardian.Name, secret)
}

func (s *Server) showLink(w http.ResponseWriter, r *http.Request, athlete gym.Athlete, name, secret string) error {
	v := page.GuardianLinkView{Athlete: athlete, Name: name, Link: s.pairURL(r, secret), Until: part.Day(s.Now().Add(account.CardLife))}
	var err error
	if v.Code, err = part.QR(v.Link); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.GuardianLink(s.meta(r, "Link for "+name), v))
}
