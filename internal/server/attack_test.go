package server

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// An attacker who has an account in one gym tries the other.
func TestAttackerWithForgedIDs(t *testing.T) {
	h := newHall(t, "Ana")
	other := h.addHall("Other Hall", "Eve")
	before := other.marks()
	attacker := h.as(h.owner)
	eve, class := other.athletes[0].AthleteID.String(), other.class.String()
	for path, f := range map[string]url.Values{
		"/athletes/" + eve + "/erase":                            form("for", "gym", "sure", "yes"),
		"/athletes/" + eve + "/data":                             nil,
		"/athletes/" + eve + "/health/talk":                      form("talk", "x"),
		"/athletes/" + eve + "/consents":                         form("do", "give", "by_name", "x", "how", "paper"),
		"/athletes/" + eve + "/guardians":                        form("name", "Mallory"),
		"/classes/" + class + "/consents":                        form("how", "paper", "everybody", "yes", "by_all", "x"),
		"/people/" + other.coach.PersonID.String() + "/role":     form("role", "assistant"),
		"/people/" + other.coach.PersonID.String() + "/end":      nil,
		"/people/" + other.coach.PersonID.String() + "/way-back": nil,
	} {
		attacker.post(path, f).is(404)
	}
	// Ids and rights in a form are not taken for one's own.
	attacker.post("/classes", form("id", other.class.String(), "gym", other.id.String(), "gym_id", other.id.String(), "role", "owner", "name", "Sneaked in",
		"weekday", "1", "starts_at", "17:00", "minutes", "60"))
	for table, mark := range other.marks() {
		if before[table] != mark {
			t.Errorf("%s of the other gym was changed", table)
		}
	}
}

// Extra fields of a form give no rights.
func TestAttackerWithExtraFields(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Assistant)
	b := h.open()
	b.post("/sign-in", form("name", "jo@gym.example", "password", password, "role", "owner", "gym", newID().String(), "person", h.owner.PersonID.String(), "half", "gym", "account", h.owner.PersonID.String())).leadsTo("/")
	b.get("/people").is(403)
	b.get("/today").is(200)
}

// A cookie that was copied opens nothing after its owner signed out, and one
// that was there before the sign-in never did.
func TestAttackerWithTokens(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Coach)
	b := h.open()
	b.cookies["ropewalk"] = "fixed-by-an-attacker"
	b.signIn("jo@gym.example", password).leadsTo("/")
	if b.cookies["ropewalk"] == "fixed-by-an-attacker" {
		t.Fatal("the sign-in took the attacker's token")
	}
	thief := h.open()
	thief.cookies["ropewalk"] = "fixed-by-an-attacker"
	thief.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	stolen := b.cookies["ropewalk"]
	out := b.post("/sign-out", nil).is(303)
	if !strings.Contains(out.Header.Get("Clear-Site-Data"), "cache") {
		t.Error("the browser keeps what it has")
	}
	thief.cookies["ropewalk"] = stolen
	thief.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	thief.post("/account/sign-ins/end", nil).is(401)
	for _, garbage := range []string{"", "x", strings.Repeat("A", 4000), "../../etc/passwd", "'; DROP TABLE sign_in; --"} {
		thief.cookies["ropewalk"] = garbage
		thief.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	}
}

// Forms must come from the site's own pages: what browsers say of them decides,
// and silence counts as foreign for whoever is signed in.
func TestAttackerOnAnotherSite(t *testing.T) {
	h := newHall(t, "Ana")
	ids := h.belongings()
	before := h.marks()
	for name, headers := range map[string]map[string]string{
		"cross-site":             {"Sec-Fetch-Site": "cross-site"},
		"a sister's site":        {"Sec-Fetch-Site": "same-site"},
		"an old browser":         {"Origin": "https://else.example"},
		"an opaque origin":       {"Origin": "null"},
		"a browser that is mute": {},
	} {
		b := h.as(h.owner)
		b.headers = headers
		for _, route := range routesOf(t, h.site) {
			method, pattern, _ := strings.Cut(route, " ")
			if method == "GET" || method == "HEAD" {
				continue
			}
			if a := b.do(method, addressed(t, pattern, ids), "application/x-www-form-urlencoded", strings.NewReader("sure=yes&for=gym&do=void")); a.Code != http.StatusForbidden {
				t.Errorf("%s: %s: status %d, want 403", name, route, a.Code)
			}
		}
	}
	for table, mark := range h.marks() {
		if before[table] != mark {
			t.Errorf("%s was changed from elsewhere", table)
		}
	}
}

// Reading changes nothing but the log and what says that somebody was here.
func TestReadingChangesNothing(t *testing.T) {
	h := newHall(t, "Ana")
	ids := h.belongings()
	browsers := h.everyRole()
	before := h.marks()
	for role, b := range browsers {
		for _, route := range routesOf(t, h.site) {
			method, pattern, _ := strings.Cut(route, " ")
			if method == "GET" {
				b.do("GET", addressed(t, pattern, ids), "", nil)
			}
		}
		for table, mark := range h.marks() {
			if before[table] != mark && !slices.Contains([]string{"audit", "device", "guardian_told"}, table) {
				t.Errorf("reading as %q changed %s", role, table)
			}
		}
	}
}

// Every answer carries the headers that keep a browser to this site.
func TestHeadersOnEveryAnswer(t *testing.T) {
	h := newHall(t, "Ana")
	h.server.Secure = true
	h.routes = h.server.Routes()
	ids := h.belongings()
	for _, b := range h.everyRole() {
		for _, route := range append(routesOf(t, h.site), "GET /nowhere", "TRACE /today", "PUT /classes") {
			method, pattern, _ := strings.Cut(route, " ")
			if method == "POST" {
				continue // its errors are pages like these
			}
			a := b.do(method, addressed(t, pattern, ids), "", nil)
			for header, wants := range map[string][]string{
				"Content-Security-Policy":   {"default-src 'none'", "script-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"},
				"X-Content-Type-Options":    {"nosniff"},
				"X-Frame-Options":           {"DENY"},
				"Referrer-Policy":           {"same-origin"},
				"Permissions-Policy":        {"camera=()", "geolocation=()"},
				"Strict-Transport-Security": {"max-age=31536000"},
			} {
				for _, want := range wants {
					if !strings.Contains(a.Header.Get(header), want) {
						t.Fatalf("%s: %s is %q, want %q in it", route, header, a.Header.Get(header), want)
					}
				}
			}
			if strings.Contains(a.Header.Get("Content-Security-Policy"), "unsafe") {
				t.Errorf("%s: the policy is %q", route, a.Header.Get("Content-Security-Policy"))
			}
			if a.Header.Get("Access-Control-Allow-Origin") != "" {
				t.Errorf("%s: other sites may read it", route)
			}
			if a.Code == 200 && a.Text != "" && !strings.Contains(a.Header.Get("Content-Type"), "charset") && !isFile(a) {
				t.Errorf("%s: Content-Type is %q, without a charset", route, a.Header.Get("Content-Type"))
			}
			kept := a.Header.Get("Cache-Control")
			static := strings.HasPrefix(pattern, "/static") || pattern == "/sw.js" || strings.HasPrefix(pattern, "/offline/")
			if !static && !strings.Contains(kept, "no-store") {
				t.Errorf("%s: Cache-Control is %q; a shared tablet would keep the page", route, kept)
			}
		}
	}
}

func isFile(a *answer) bool {
	kind := a.Header.Get("Content-Type")
	return strings.HasPrefix(kind, "application/") || strings.HasPrefix(kind, "image/") || strings.HasPrefix(kind, "font/")
}

// Scripts in names stay text, in every page, and nothing inline is needed.
func TestNamesAreText(t *testing.T) {
	evil := `"><script>alert(1)</script><img src=x onerror=alert(2)>`
	h := newHall(t, evil, `javascript:alert(3)`, "{{7*7}}${7*7}")
	ids := h.belongings()
	h.hurt(0)
	for role, b := range h.everyRole() {
		for _, route := range routesOf(t, h.site) {
			method, pattern, _ := strings.Cut(route, " ")
			if method != "GET" || strings.HasPrefix(pattern, "/static") {
				continue
			}
			a := b.do("GET", addressed(t, pattern, ids), "", nil)
			if !strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") {
				continue
			}
			for n := range a.document().Descendants() {
				if n.Type != html.ElementNode {
					continue
				}
				if src, _ := attribute(n, "src"); n.Data == "script" && (src == "" || !strings.HasPrefix(src, "/static/")) {
					t.Errorf("%s by %q: a script that is not ours", route, role)
				}
				if n.Data == "style" || n.Data == "iframe" || n.Data == "object" || n.Data == "embed" {
					t.Errorf("%s by %q: <%s>", route, role, n.Data)
				}
				for _, at := range n.Attr {
					if strings.HasPrefix(at.Key, "on") || at.Key == "style" || strings.HasPrefix(strings.TrimSpace(strings.ToLower(at.Val)), "javascript:") && (at.Key == "href" || at.Key == "action" || at.Key == "src") {
						t.Errorf("%s by %q: %s=%q", route, role, at.Key, at.Val)
					}
				}
			}
		}
	}
}

// Whatever is sent, the answer is one of ours and never a fault.
func TestMalformedRequestsAreAnswered(t *testing.T) {
	h := newHall(t, "Ana")
	ids := h.belongings()
	bodies := []struct{ name, kind, body string }{
		{"nothing", "", ""},
		{"half an escape", "application/x-www-form-urlencoded", "rotations=%f&day=%zz"},
		{"not UTF-8", "application/x-www-form-urlencoded", "name=%ff%fe&rotations=%00"},
		{"numbers beyond", "application/x-www-form-urlencoded", "rotations=99999999999999999999&minutes=1e308&day=9999-99-99&pain=-1&catches=-9223372036854775808&seconds=NaN&years=NaN"},
		{"SQL", "application/x-www-form-urlencoded", "name=%27%3B+DROP+TABLE+athlete%3B+--&day=%27+OR+1%3D1&id=%27"},
		{"twice", "application/x-www-form-urlencoded", "day=2026-11-05&day=2026-11-06&do=make&do=send&minutes=20&minutes=9"},
		{"JSON", "application/json", `{"athlete":"` + uuid.NewString() + `","entries":[{"id":1}]}`},
		{"broken multipart", "multipart/form-data; boundary=x", "--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"../../etc/passwd\"\r\n\r\nA"},
		{"a thousand fields", "application/x-www-form-urlencoded", strings.Repeat("a=1&", 10000)},
		{"too much", "application/x-www-form-urlencoded", "name=" + strings.Repeat("A", 2<<20)},
	}
	for _, route := range routesOf(t, h.site) {
		method, pattern, _ := strings.Cut(route, " ")
		if method == "GET" || method == "HEAD" || slices.Contains([]string{"POST /people/{person}/end", "POST /account/sign-ins/end", "POST /sign-out"}, route) {
			continue
		}
		role := h.owner
		if slices.Contains(rules[route], gym.Jumper) && !slices.Contains(rules[route], gym.Owner) {
			role = h.jumper(0)
		}
		for _, body := range bodies {
			a := h.as(role).do(method, addressed(t, pattern, ids), body.kind, strings.NewReader(body.body))
			if a.Code >= 500 {
				t.Errorf("%s with %s: status %d: %s", route, body.name, a.Code, a.words())
			}
			h.renew(ids)
		}
	}
	for _, query := range []string{"?day=%zz", "?day=" + strings.Repeat("9", 5000), "?a=1&a=2;b=3", "?next=%00", "?term=%27"} {
		for _, route := range routesOf(t, h.site) {
			method, pattern, _ := strings.Cut(route, " ")
			if method != "GET" {
				continue
			}
			if a := h.as(h.owner).do("GET", addressed(t, pattern, ids)+query, "", nil); a.Code >= 500 {
				t.Errorf("%s%s: status %d", route, query[:min(20, len(query))], a.Code)
			}
		}
	}
	// A coach may call an athlete what a query looks like; it is a name and no more.
	if n := h.count(`SELECT count(*) FROM athlete WHERE gym_id = $1 AND athlete_id = $2`, h.id, h.athletes[0].AthleteID); n != 1 {
		t.Errorf("%d athletes are what Ana was, want 1", n)
	}
}

// The first value of a name that comes twice counts, everywhere.
func TestFirstOfTwoValuesCounts(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	path := "/athletes/" + h.athletes[0].AthleteID.String()
	f := coach.get(path + "/tests/new").form(path + "/tests")
	f.Set("rotations", "118")
	f.Add("rotations", "87")
	coach.post(path+"/tests", f).is(303)
	var results []gym.Result
	h.read(h.id, store.ResultsOf(h.athletes[0].AthleteID, h.now.AddDate(-1, 0, 0), &results))
	if len(results) != 1 || *results[0].Rotations != 118 {
		t.Errorf("results are %+v", results)
	}
}

// A thousand wrong guesses at one account, from as many addresses at once, cost
// few hashes.
func TestGuessingIsBounded(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Coach)
	looked, mu := 0, sync.Mutex{}
	var all sync.WaitGroup
	for worker := range 20 {
		all.Go(func() {
			for n := range 50 {
				r := httptest.NewRequest("POST", "/sign-in", strings.NewReader(form("name", "jo@gym.example", "password", "wrong wrong wrong").Encode()))
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				r.RemoteAddr = "198.51." + string(rune('0'+worker%10)) + string(rune('0'+worker/10)) + "." + string(rune('0'+n%10)) + string(rune('0'+n/10)) + ":1234"
				w := httptest.NewRecorder()
				h.routes.ServeHTTP(w, r)
				mu.Lock()
				if w.Code == http.StatusUnprocessableEntity {
					looked++
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	if looked > 100 {
		t.Errorf("%d of 1000 guesses were looked at, want at most 100", looked)
	}
	h.now = h.now.AddDate(1, 0, 0) // patience does not help: 100 in a row is the end
	for range 200 {
		h.open().signIn("jo@gym.example", "wrong wrong wrong")
		h.now = h.now.Add(2 * 60 * 60 * 1e9)
	}
	h.open().signIn("jo@gym.example", password).is(429).says("Ask the owner of your gym")
}

// The log of the program holds no name, no password and no token.
func TestNoSecretsInTheLog(t *testing.T) {
	h := newHall(t, "Zaubrelda")
	h.employ("jo@gym.example", gym.Coach)
	b := h.open()
	b.signIn("jo@gym.example", "a password typed wrong")
	b.signIn("jo@gym.example", password)
	shown := h.as(h.owner).post("/people/invitations", form("name", "Ida", "role", "coach")).is(200)
	code := regexp.MustCompile(`[2-9A-Z]{4}(?:-[2-9A-Z]{4}){3}`).FindString(shown.Text)
	h.open().post("/invited", form("code", code))
	h.open().post("/recover", form("name", "jo@gym.example", "code", code, "password", password))
	b.post("/classes", form("name", "Zaubrelda", "weekday", "x"))
	h.open().post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", "0000"))
	for _, secret := range []string{password, "a password typed wrong", code, b.cookies["ropewalk"], b.cookies["known"], "Zaubrelda", "jo@gym.example", pin} {
		if secret != "" && bytes.Contains(h.log.Bytes(), []byte(secret)) {
			t.Errorf("the log holds %q: %s", secret, h.log)
		}
	}
	if !bytes.Contains(h.log.Bytes(), []byte("a sign-in was refused")) || !bytes.Contains(h.log.Bytes(), []byte("signed in")) {
		t.Errorf("sign-ins are not in the log: %s", h.log)
	}
}
