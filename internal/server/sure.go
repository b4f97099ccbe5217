package server

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/a-h/templ"

	"ropewalk.example/web/page"
)

// sureFor is how long after the password was typed it is not asked for again,
// even before what matters most (OWASP ASVS 5.0, 7.5.1, names no figure): long
// enough for what one signed in to do, too short for whoever finds the screen
// left alone.
const sureFor = 5 * time.Minute

// surePassword is the field of the password among those of the form itself.
const surePassword = "own_password"

// prove notes that the password was typed just now.
func (s *Server) prove(ctx context.Context) {
	s.SignIns.Put(ctx, keyProved, s.realNow().UTC().Format(time.RFC3339))
}

func (s *Server) provedLately(ctx context.Context) bool {
	at, err := time.Parse(time.RFC3339, s.SignIns.GetString(ctx, keyProved))
	return err == nil && s.realNow().Sub(at) < sureFor
}

// sure lets a form through from somebody who typed the password lately. Anybody
// else is asked for it on a page that keeps the form; then it is done.
func (s *Server) sure(next http.Handler) http.Handler {
	return s.page(func(w http.ResponseWriter, r *http.Request) error {
		if s.provedLately(r.Context()) {
			next.ServeHTTP(w, r)
			return nil
		}
		typed := r.PostFormValue(surePassword)
		if typed == "" {
			return render(w, r, http.StatusOK, s.askSure(r, nil))
		}
		if err := s.Accounts.Again(r.Context(), s.door(r), who(r.Context()).PersonID, typed); err != nil {
			return again(w, r, err, func(messages map[string]string) templ.Component { return s.askSure(r, messages) })
		}
		s.prove(r.Context())
		next.ServeHTTP(w, r)
		return nil
	})
}

// askSure asks for the password and carries the form along.
func (s *Server) askSure(r *http.Request, messages page.Messages) templ.Component {
	meta := s.meta(r, "Is it you?")
	meta.Error = len(messages) > 0
	view := page.SureView{Action: r.URL.Path, Field: surePassword, Message: messages["password"] + messages[""]}
	for name, values := range r.PostForm {
		for _, value := range values {
			if name != surePassword {
				view.Kept = append(view.Kept, page.KeptField{Name: name, Value: value})
			}
		}
	}
	slices.SortStableFunc(view.Kept, func(a, b page.KeptField) int { return strings.Compare(a.Name, b.Name) })
	return page.Sure(meta, view)
}
