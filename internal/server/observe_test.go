package server

import (
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
)

// Whoever asks about an error can name the request; the log finds it.
func TestRequestsHaveAReference(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	name := coach.get("/today").is(200).Header.Get(requestHeader)
	if !regexp.MustCompile(`^[A-Z2-7]{4}-[A-Z2-7]{4}$`).MatchString(name) || !strings.Contains(h.log.String(), "request_id="+name) {
		t.Errorf("the request is called %q; the log: %s", name, h.log)
	}
	if again := coach.get("/today").Header.Get(requestHeader); again == name {
		t.Errorf("two requests are called %s", name)
	}
	for given, taken := range map[string]bool{"proxy-7f3a.9": true, "short": false, "": false, "with space": false, "<script>alert(1)</script>": false, strings.Repeat("a", 65): false} {
		coach.headers[requestHeader] = given
		a := coach.get("/nowhere").is(404)
		name := a.Header.Get(requestHeader)
		if (name == given) != taken || name == "" {
			t.Errorf("a request that came as %q is called %q", given, name)
		}
		a.says("Reference " + name)
	}
	h.wire.cut()
	delete(coach.headers, requestHeader)
	a := coach.get("/today").is(503)
	a.says("Reference " + a.Header.Get(requestHeader))
	if !regexp.MustCompile(`database away.*request_id=` + a.Header.Get(requestHeader)).MatchString(h.log.String()) {
		t.Errorf("the log does not tell of request %s: %s", a.Header.Get(requestHeader), h.log)
	}
}

// What the log and the figures tell when every page was asked for by everybody:
// no name, no secret, no address with an id.
func TestLogAndFiguresTellOfNobody(t *testing.T) {
	h := newHall(t, "Quillabeth Marrow")
	ids := h.belongings()
	secrets := []string{"Quillabeth", "Mara", "Cleo", "@gym.example", h.code, "copper-lantern-tuesday", "pin-is-4711", "where-it-hurts", "203.0.113.9"}
	form := "name=mara@gym.example&password=copper-lantern-tuesday&pin=pin-is-4711&code=" + h.code + "&note=where-it-hurts&athlete=Quillabeth"
	keep := func(b *browser) { // the cookie of the theme is no secret
		for _, value := range b.cookies {
			if len(value) > 20 && !slices.Contains(secrets, value) {
				secrets = append(secrets, value)
			}
		}
	}
	for _, b := range h.everyRole() {
		keep(b)
		b.headers["X-Forwarded-For"], b.headers["Authorization"] = "203.0.113.9", "Bearer copper-lantern-tuesday"
		for _, route := range routesOf(t, h.site) {
			method, pattern, _ := strings.Cut(route, " ")
			if route == "POST /sign-out" || route == "POST /account/sign-ins/end" {
				continue
			}
			path := strings.Replace(addressed(t, pattern, ids), "*", "app.css", 1)
			b.do(method, path+"?name=Quillabeth", "application/x-www-form-urlencoded", strings.NewReader(form))
			keep(b)
		}
		b.do("BREW", "/today", "", nil)
		b.get("/no/such/page/" + h.code)
	}
	coach := h.as(h.coach)
	h.wire.cut()
	coach.get("/athletes/" + ids["athlete"].String()).is(503)

	figures := h.figures()
	for _, secret := range secrets {
		for what, text := range map[string]string{"log": h.log.String(), "figures": figures} {
			if secret != "" && strings.Contains(text, secret) {
				line := text[max(0, strings.Index(text, secret)-200):]
				t.Errorf("the %s tells %q: …%s", what, secret, line[:min(300, len(line))])
			}
		}
	}
	for word, id := range ids {
		if strings.Contains(figures, id.String()) {
			t.Errorf("the figures tell the id of a %s", word)
		}
		if strings.Contains(h.log.String(), "/"+id.String()) {
			t.Errorf("the log tells an address with the id of a %s", word)
		}
	}
}

// figures are all figures as text.
func (s *site) figures() string {
	s.t.Helper()
	families, err := s.server.Metrics.Registry().Gather()
	if err != nil {
		s.t.Fatal(err)
	}
	var text strings.Builder
	for _, family := range families {
		text.WriteString(family.String() + "\n")
	}
	return text.String()
}

// mostSeries is how many series a server may show (our own bound: Prometheus
// keeps thousands of such servers, a small one beside a gym many of these).
const mostSeries = 3000

// However many gyms, people and addresses there are, the figures stay few.
func TestFiguresStayFew(t *testing.T) {
	s := newSite(t)
	b := s.open()
	for range 5 {
		for _, route := range routesOf(t, s) {
			method, pattern, _ := strings.Cut(route, " ")
			path := parameter.ReplaceAllStringFunc(pattern, func(string) string { return uuid.NewString() })
			for _, method := range []string{method, "PUT", "BREW"} {
				b.do(method, path, "", nil)
			}
		}
		b.get("/" + uuid.NewString()).is(404)
		s.server.Metrics.OutboxEntry(uuid.NewString(), "refused", false)
	}
	families, err := s.server.Metrics.Registry().Gather()
	if err != nil {
		t.Fatal(err)
	}
	series, routes := 0, map[string]bool{}
	for _, family := range families {
		for _, m := range family.Metric {
			series++
			if h := m.GetHistogram(); h != nil {
				series += len(h.Bucket) + 2 // the last bound, the sum and the count
			}
			for _, label := range m.Label {
				if label.GetName() == "route" {
					routes[label.GetValue()] = true
				}
			}
		}
	}
	t.Logf("%d series of %d routes", series, len(routes))
	if series > mostSeries || len(routes) < 100 {
		t.Errorf("%d series of %d routes, at most %d are wanted", series, len(routes), mostSeries)
	}
}

func TestRequestsAreCounted(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	coach.get("/today").is(200)
	coach.get("/today").is(200)
	coach.get(h.path("")).is(200)
	h.open().get("/today").is(http.StatusSeeOther)
	figures := h.figures()
	for _, want := range []string{
		`value:"/today"} label:{name:"status" value:"2xx"} counter:{value:2`,
		`value:"/today"} label:{name:"status" value:"3xx"} counter:{value:1`,
		`value:"/classes/{class}"} label:{name:"status" value:"2xx"} counter:{value:1`,
	} {
		if !strings.Contains(strings.Join(strings.Fields(figures), " "), want) {
			t.Errorf("the figures lack %s in %s", want, figures)
		}
	}
}
