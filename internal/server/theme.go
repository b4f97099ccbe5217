package server

import (
	"net/http"

	"ropewalk.example/web/part"
)

const themeCookie = "look"

func themeOf(r *http.Request) part.Theme {
	cookie, err := r.Cookie(themeCookie)
	if err != nil {
		return part.System
	}
	return part.ThemeOf(cookie.Value)
}

// postTheme keeps the look that somebody chose, in a cookie of its own.
func (s *Server) postTheme(w http.ResponseWriter, r *http.Request) error {
	http.SetCookie(w, &http.Cookie{
		Name: themeCookie, Value: string(part.ThemeOf(r.PostFormValue("theme"))), Path: "/",
		MaxAge: 365 * 24 * 3600, HttpOnly: true, Secure: s.Secure, SameSite: http.SameSiteLaxMode,
	})
	return seeOther(w, r, ownPath(r.PostFormValue("back")))
}
