package server

import (
	"bytes"
	"context"
	"io"
	"maps"
	"net/http"
	"slices"

	"github.com/a-h/templ"
	"golang.org/x/text/language"

	"ropewalk.example/internal/report"
	"ropewalk.example/web/part"
	"ropewalk.example/web/tongue"
)

const languageCookie = "language"

// spokenIn is under which a request's context carries its language.
type spokenIn struct{}

// inLanguage finds the language that somebody chose or, failing that, that the
// browser asks for. English is no language of its own: it is what pages are
// written in.
func (s *Server) inLanguage(next http.Handler) http.Handler {
	tags := []language.Tag{language.English} // the first is what nothing else fits
	names := []string{tongue.English}
	for _, tag := range slices.Sorted(maps.Keys(s.Languages)) {
		tags = append(tags, language.Make(tag))
		names = append(names, tag)
	}
	matcher := language.NewMatcher(tags)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		chosen := r.Header.Get("Accept-Language")
		if cookie, err := r.Cookie(languageCookie); err == nil {
			chosen = cookie.Value
		}
		if chosen != "" {
			_, at := language.MatchStrings(matcher, chosen)
			if l := s.Languages[names[at]]; l != nil {
				r = r.WithContext(context.WithValue(r.Context(), spokenIn{}, l))
			}
		}
		next.ServeHTTP(w, r)
	})
}

// languageOf returns the language of a request, nil for English.
func languageOf(ctx context.Context) *tongue.Language {
	l, _ := ctx.Value(spokenIn{}).(*tongue.Language)
	return l
}

// Voices are the languages that PDF files are written in beside English, by tag.
func (s *Server) Voices() map[string]report.Voice {
	voices := map[string]report.Voice{}
	for tag, l := range s.Languages {
		voices[tag] = report.Voice{Lang: tag, Say: l.Text}
	}
	return voices
}

// voiceOf is the language that a request's files are written in.
func voiceOf(ctx context.Context) report.Voice {
	if l := languageOf(ctx); l != nil {
		return report.Voice{Lang: l.Tag, Say: l.Text}
	}
	return report.Voice{}
}

// said is a sentence in the language of a request.
func said(ctx context.Context, english string) string {
	if l := languageOf(ctx); l != nil {
		return l.Text(english)
	}
	return english
}

// write renders a page or a piece of one in the language of a request.
func write(ctx context.Context, w io.Writer, c templ.Component) error {
	l := languageOf(ctx)
	if l == nil {
		return c.Render(ctx, w)
	}
	var english bytes.Buffer
	if err := c.Render(ctx, &english); err != nil {
		return err
	}
	return l.Page(w, english.Bytes())
}

// tongues are the languages to choose from, each called as it calls itself;
// none where there is only English.
func (s *Server) tongues(r *http.Request) []part.Tongue {
	if len(s.Languages) == 0 {
		return nil
	}
	now := languageOf(r.Context())
	list := []part.Tongue{{Tag: tongue.English, Name: "English", Chosen: now == nil}}
	for _, tag := range slices.Sorted(maps.Keys(s.Languages)) {
		l := s.Languages[tag]
		list = append(list, part.Tongue{Tag: tag, Name: l.Name, Chosen: now == l, Unread: l.Review != ""})
	}
	return list
}

// postLanguage keeps the language that somebody chose, in a cookie of its own.
func (s *Server) postLanguage(w http.ResponseWriter, r *http.Request) error {
	chosen := r.PostFormValue("language")
	if s.Languages[chosen] == nil {
		chosen = tongue.English
	}
	http.SetCookie(w, &http.Cookie{
		Name: languageCookie, Value: chosen, Path: "/",
		MaxAge: 365 * 24 * 3600, HttpOnly: true, Secure: s.Secure, SameSite: http.SameSiteLaxMode,
	})
	return seeOther(w, r, ownPath(r.PostFormValue("back")))
}
