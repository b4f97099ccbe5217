package server

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/problem"
	"ropewalk.example/web/part"
)

// again shows a form once more with what was typed, if err is about the form;
// any other error is returned. show gets the messages by field, with "" for one
// that belongs to the whole form.
func again(w http.ResponseWriter, r *http.Request, err error, show func(messages map[string]string) templ.Component) error {
	kind := problem.KindOf(err)
	switch kind {
	case problem.Invalid, problem.Conflict, problem.TooMany, problem.TooLarge, problem.Evidence, problem.Unavailable:
	default:
		return err
	}
	messages := problem.FieldsOf(err)
	if messages == nil {
		messages = map[string]string{"": problem.MessageOf(err)}
	}
	if kind == problem.Unavailable {
		w.Header().Set("Retry-After", "5")
	}
	return render(w, r, statusOf(kind), show(messages))
}

// idFrom returns the id that a form carries, or a fresh one: a form that is
// sent twice carries the same id twice and is kept once.
func idFrom(r *http.Request, field string) uuid.UUID {
	id, err := uuid.Parse(r.PostFormValue(field))
	if err != nil {
		return newID()
	}
	return id
}

// number returns a whole number typed into a form; ok is false for anything
// else, the empty field included.
func number(typed string) (n int, ok bool) {
	n, err := strconv.Atoi(trimmed(typed))
	return n, err == nil
}

// parsed returns the id that text holds, uuid.Nil if it holds none.
func parsed(text string) uuid.UUID {
	id, err := uuid.Parse(text)
	if err != nil {
		return uuid.Nil
	}
	return id
}

func trimmed(s string) string { return strings.TrimSpace(s) }

// athleteFrom returns the athlete that a form is about.
func athleteFrom(r *http.Request) (uuid.UUID, error) {
	id, err := uuid.Parse(r.PostFormValue("athlete"))
	if err != nil {
		return uuid.Nil, problem.New(problem.Invalid, "Choose an athlete. Go back and try once more.")
	}
	return id, nil
}

// dayIn reads a calendar day as midnight UTC; what is none is the zero time.
func dayIn(text string) time.Time {
	day, err := time.Parse(time.DateOnly, trimmed(text))
	if err != nil {
		return time.Time{}
	}
	return day
}

// dayTyped reads a day as pages write it.
func dayTyped(text string) (time.Time, error) {
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return time.Time{}, problem.New(problem.Invalid, "That is no day. Choose one like 2026-11-05.")
	}
	return day, nil
}

// clockIn reads a time of day as the time since midnight; what is none is
// negative.
func clockIn(text string) time.Duration {
	at, err := time.Parse("15:04", trimmed(text))
	if err != nil {
		return -1
	}
	return time.Duration(60*at.Hour()+at.Minute()) * time.Minute
}

// metaAgain is the meta of a form that is shown again.
func (s *Server) metaAgain(r *http.Request, title string) part.Meta {
	meta := s.meta(r, title)
	meta.Error = true
	return meta
}
