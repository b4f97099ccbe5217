package server

import (
	"encoding/json"
	"mime"
	"net/http"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/receiving"
)

// outboxAnswer tells a phone what became of its entries and what time it is
// here.
type outboxAnswer struct {
	Now     time.Time          `json:"now"`
	Answers []receiving.Answer `json:"answers"`
}

// postOutbox takes in what a phone kept. It answers in JSON, faults too: the
// phone keeps every entry that it has no answer for.
func (s *Server) postOutbox(w http.ResponseWriter, r *http.Request) {
	answer, err := s.takeIn(r)
	if err != nil {
		s.answerPhone(w, r, err)
		return
	}
	for i := range answer.Answers {
		answer.Answers[i].Said = said(r.Context(), answer.Answers[i].Said)
	}
	writeJSON(w, http.StatusOK, answer)
}

func (s *Server) takeIn(r *http.Request) (outboxAnswer, error) {
	me := who(r.Context())
	if err := mustBeAthlete(me); err != nil {
		return outboxAnswer{}, err
	}
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		return outboxAnswer{}, problem.New(problem.Invalid, "Entries are sent as JSON.")
	}
	batch, err := receiving.ReadBatch(r.Body)
	if err != nil {
		return outboxAnswer{}, err
	}
	if batch.Athlete != uuid.Nil && batch.Athlete != me.AthleteID {
		return outboxAnswer{}, problem.New(problem.Forbidden, "Somebody else is signed in on this phone. These entries wait for whoever made them.")
	}
	answers, err := s.Receiving.Receive(r.Context(), me, batch)
	for i, a := range answers {
		kind := batch.Entries[i].Kind
		s.Metrics.OutboxEntry(string(kind), string(a.Word), kind.Known())
	}
	return outboxAnswer{Now: s.Now(), Answers: answers}, err
}

// mustBeAthlete refuses whoever has no own page on a phone.
func mustBeAthlete(me gym.Who) error {
	switch {
	case me.Role == "":
		return problem.New(problem.SignedOut, "You have been signed out. What is on this phone stays here. Sign in to send it.")
	case !may(me.Role, ownPage):
		return problem.New(problem.Forbidden, "This is for athletes. Sign in as the one whose phone this is.")
	default:
		return nil
	}
}

// answerPhone writes err as JSON with the status that it has on pages.
func (s *Server) answerPhone(w http.ResponseWriter, r *http.Request, err error) {
	kind := problem.KindOf(err)
	switch {
	case kind == problem.Unavailable:
		s.Log.WarnContext(r.Context(), "database away", "route", routeOf(r.Context()), "error", err)
		w.Header().Set("Retry-After", "5")
	case kind == problem.Internal && r.Context().Err() == nil:
		s.Log.ErrorContext(r.Context(), "request went wrong", "method", methodOf(r), "route", routeOf(r.Context()), "error", err)
	}
	writeJSON(w, statusOf(kind), map[string]string{"error": said(r.Context(), problem.MessageOf(err))})
}

func writeJSON(w http.ResponseWriter, status int, value any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false) // pieces of pages would be twice as long; no browser takes the answer for a page
	_ = out.Encode(value)    // the phone may have left
}
