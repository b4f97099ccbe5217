package server

import (
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// knownCookie is the browser's sign that somebody came in here before. It opens
// nothing; wrong tries from here are counted apart.
func (s *Server) knownCookie() string {
	if s.Secure {
		return "__Host-known"
	}
	return "known"
}

// phoneCookie is the phone's sign that an athlete came in on it alone. It opens
// nothing; wrong PINs from here are counted apart.
func (s *Server) phoneCookie() string {
	if s.Secure {
		return "__Host-phone"
	}
	return "phone"
}

// door says where somebody tries to come in.
func (s *Server) door(r *http.Request) account.Door {
	door := account.Door{Address: s.addressBehind(r)}
	if cookie, err := r.Cookie(s.knownCookie()); err == nil {
		door.Browser = cookie.Value
	}
	if cookie, err := r.Cookie(s.phoneCookie()); err == nil {
		door.Phone = cookie.Value
	}
	return door
}

// addressBehind returns the address of whoever asks. What a header says counts
// only if one of the proxies that the settings name sends it, and there only what
// that proxy itself added last.
func (s *Server) addressBehind(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	if !s.isProxy(host) {
		return host
	}
	said := r.Header.Values("X-Forwarded-For")
	if len(said) == 0 {
		return host
	}
	hops := strings.Split(said[len(said)-1], ",")
	return strings.TrimSpace(hops[len(hops)-1])
}

func (s *Server) isProxy(host string) bool {
	address, err := netip.ParseAddr(host)
	if err != nil {
		return false
	}
	address = address.Unmap().WithZone("")
	return slices.ContainsFunc(s.Proxies, func(network netip.Prefix) bool { return network.Contains(address) })
}

// remember leaves the sign that the person came in here.
func (s *Server) remember(w http.ResponseWriter, token string) {
	if token != "" {
		s.leave(w, s.knownCookie(), token)
	}
}

// rememberPhone leaves the sign that this is an athlete's own phone.
func (s *Server) rememberPhone(w http.ResponseWriter, me gym.Who) {
	s.leave(w, s.phoneCookie(), me.DeviceID.String())
}

func (s *Server) leave(w http.ResponseWriter, name, value string) {
	http.SetCookie(w, &http.Cookie{Name: name, Value: value, Path: "/", MaxAge: 180 * 24 * 3600,
		HttpOnly: true, Secure: s.Secure, SameSite: http.SameSiteLaxMode})
}

// ownForms refuses forms that come from elsewhere: other sites' by what the
// browser says of them, and for somebody who is signed in those of which no
// browser says anything (OWASP Cross-Site Request Forgery Prevention Cheat
// Sheet: what is missing counts as foreign).
func (s *Server) ownForms(next http.Handler) http.Handler {
	foreign := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.Log.WarnContext(r.Context(), "a form from elsewhere was refused", "route", routeOf(r.Context()), "origin", r.Header.Get("Origin"))
		s.answerError(w, r, problem.New(problem.Forbidden, "This form did not come from a page of this gym. Open the page here and do it once more."))
	})
	protection := http.NewCrossOriginProtection()
	protection.SetDenyHandler(foreign)
	return protection.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if unsafe(r.Method) && r.Header.Get("Sec-Fetch-Site") == "" && r.Header.Get("Origin") == "" {
			if _, err := r.Cookie(s.SignIns.Cookie.Name); err == nil {
				foreign(w, r)
				return
			}
		}
		next.ServeHTTP(w, r)
	}))
}

func unsafe(method string) bool {
	return method != http.MethodGet && method != http.MethodHead && method != http.MethodOptions
}

// browserOf names the kind of browser that asks, as coarsely as a person would.
func browserOf(r *http.Request) string {
	agent := r.UserAgent()
	name, on := "Browser", ""
	for _, known := range []struct{ sign, name string }{ // the first that fits
		{"Edg/", "Edge"}, {"OPR/", "Opera"}, {"SamsungBrowser", "Samsung Internet"}, {"Firefox", "Firefox"}, {"FxiOS", "Firefox"},
		{"CriOS", "Chrome"}, {"Chrome", "Chrome"}, {"Safari", "Safari"},
	} {
		if strings.Contains(agent, known.sign) {
			name = known.name
			break
		}
	}
	for _, known := range []struct{ sign, name string }{
		{"iPhone", "iPhone"}, {"iPad", "iPad"}, {"Android", "Android"}, {"Windows", "Windows"}, {"Macintosh", "Mac"}, {"CrOS", "Chromebook"}, {"Linux", "Linux"},
	} {
		if strings.Contains(agent, known.sign) {
			on = known.name
			break
		}
	}
	if on == "" {
		return name
	}
	return name + " on " + on
}
