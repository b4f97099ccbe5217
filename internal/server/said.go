package server

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"
)

// What one page says on the next one, such as "Saved.", goes by way of the
// browser, in a cookie that the next page takes off: to keep it with the sign-in
// would cost each form two writes more. It is sealed with the sign-in's token,
// so that nobody else, and no other site, can put words into a page.
const saidCookie = "said"

// longestSaid bounds a sentence, in bytes: browsers keep cookies of 4 KB.
const longestSaid = 2400

// A saying is what a request carries from the last page, and the way to the next.
type saying struct {
	w        http.ResponseWriter
	sentence string
	of       uuid.UUID
}

// sayingIn is under which a request's context carries its saying.
type sayingIn struct{}

// hear takes what the last page said along with the request.
func (s *Server) hear(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		said := &saying{w: w}
		if cookie, err := r.Cookie(saidCookie); err == nil {
			said.sentence, said.of = s.unseal(r.Context(), cookie.Value)
		}
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), sayingIn{}, said)))
	})
}

func sayingOf(ctx context.Context) *saying {
	said, _ := ctx.Value(sayingIn{}).(*saying)
	if said == nil {
		return &saying{}
	}
	return said
}

// say keeps a sentence for the next page.
func (s *Server) say(r *http.Request, sentence string) { s.sayOf(r, sentence, uuid.Nil) }

// sayOf keeps a sentence about one result for the next page.
func (s *Server) sayOf(r *http.Request, sentence string, result uuid.UUID) {
	if said := sayingOf(r.Context()); said.w != nil {
		s.pass(said.w, s.seal(r.Context(), short(sentence), result), 120)
	}
}

// heard is what the last page said, and about which result, "" for none. It is
// heard once.
func (s *Server) heard(ctx context.Context) (sentence, result string) {
	said := sayingOf(ctx)
	if said.sentence != "" {
		s.pass(said.w, "", -1)
	}
	if said.of != uuid.Nil {
		result = said.of.String()
	}
	return said.sentence, result
}

// saved is what the last page said. It is heard once.
func (s *Server) saved(ctx context.Context) string {
	sentence, _ := s.heard(ctx)
	return sentence
}

// pass gives the browser what is said, for so many seconds.
func (s *Server) pass(w http.ResponseWriter, sealed string, seconds int) {
	http.SetCookie(w, &http.Cookie{Name: saidCookie, Value: sealed, Path: "/", MaxAge: seconds, HttpOnly: true, Secure: s.Secure, SameSite: http.SameSiteLaxMode})
}

// seal writes the result, the sentence, and a seal of both.
func (s *Server) seal(ctx context.Context, sentence string, result uuid.UUID) string {
	text := append(result[:], sentence...)
	return base64.RawURLEncoding.EncodeToString(append(s.sealOf(ctx, text), text...))
}

// unseal reads what seal wrote; a broken seal says nothing.
func (s *Server) unseal(ctx context.Context, sealed string) (sentence string, result uuid.UUID) {
	text, err := base64.RawURLEncoding.DecodeString(sealed)
	if err != nil || len(text) < sealSize+len(result) {
		return "", uuid.Nil
	}
	seal, text := text[:sealSize], text[sealSize:]
	if !hmac.Equal(seal, s.sealOf(ctx, text)) {
		return "", uuid.Nil
	}
	copy(result[:], text)
	return strings.ToValidUTF8(string(text[len(result):]), ""), result
}

const sealSize = 16 // bytes

func (s *Server) sealOf(ctx context.Context, text []byte) []byte {
	mac := hmac.New(sha256.New, []byte(s.SignIns.Token(ctx)))
	mac.Write(text)
	return mac.Sum(nil)[:sealSize]
}

// short cuts a sentence that no cookie holds.
func short(sentence string) string {
	if len(sentence) <= longestSaid {
		return sentence
	}
	at := longestSaid
	for !utf8.RuneStart(sentence[at]) {
		at--
	}
	return sentence[:at] + "…"
}
