package server

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
)

// cardDoor is how a phone comes in by a card. Opening the page changes nothing:
// a tap does.
func (s *Server) cardDoor(r chi.Router) {
	r.Get("/pair", s.page(s.getPair))
	r.Post("/pair/look", s.page(s.postPairLook))
	r.Post("/pair", s.page(s.postPair))
}

func (s *Server) getPair(w http.ResponseWriter, r *http.Request) error {
	meta := s.bare(r, "Your card")
	meta.Plain, meta.Scripts = true, []string{"js/pair.js"}
	return render(w, r, http.StatusOK, page.Pair(meta))
}

// postPairLook says whose card it is. It changes nothing either.
func (s *Server) postPairLook(w http.ResponseWriter, r *http.Request) error {
	secret := r.PostFormValue("secret")
	holder, err := s.Accounts.WhoseCard(r.Context(), secret)
	if err != nil {
		return gone(err)
	}
	v := page.PairView{Secret: secret, GymName: holder.GymName, Initials: holder.Initials, Guardian: holder.Guardian}
	return render(w, r, http.StatusOK, page.PairAsk(s.bare(r, "Is this your card?"), v))
}

// postPair lets the phone in.
func (s *Server) postPair(w http.ResponseWriter, r *http.Request) error {
	me, err := s.Accounts.UseCard(r.Context(), r.PostFormValue("secret"), browserOf(r))
	if err != nil {
		s.Log.WarnContext(r.Context(), "a card let nobody in", "address", s.addressBehind(r))
		return gone(err)
	}
	if err := s.enter(r.Context(), me); err != nil {
		return err
	}
	if me.Role == gym.Guardian {
		return seeOther(w, r, "/")
	}
	s.rememberPhone(w, me)
	return seeOther(w, r, "/me")
}

// gone says of a card that opens nothing that there is nothing to try again.
func gone(err error) error {
	if problem.KindOf(err) == problem.NotFound {
		return problem.Wrap(err, problem.Gone, "%s", problem.MessageOf(err))
	}
	return err
}
