package server

import (
	"context"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// Who may enter, as a list of roles.
var (
	everybody = []gym.Role{"", gym.Owner, gym.Coach, gym.Assistant, gym.Guardian, gym.Jumper}
	staff     = []gym.Role{gym.Owner, gym.Coach, gym.Assistant}
	coaches   = []gym.Role{gym.Owner, gym.Coach}
	owners    = []gym.Role{gym.Owner}
	nobody    = []gym.Role{} // only for who is half in
	jumpers   = []gym.Role{gym.Jumper}
	guardians = []gym.Role{gym.Guardian}
	programs  = []gym.Role{} // by token alone, whoever is signed in
)

// rules says, for each route, who may enter. A route that is missing here is
// refused by the test: say who it is for.
var rules = map[string][]gym.Role{
	"GET /healthz":        everybody,
	"GET /readyz":         everybody,
	"GET /static/*":       everybody,
	"HEAD /static/*":      everybody,
	"GET /":               everybody,
	"GET /sign-in":        everybody,
	"POST /sign-in":       everybody,
	"POST /sign-out":      everybody,
	"GET /join":           everybody,
	"POST /join":          everybody,
	"GET /setup":          everybody,
	"POST /setup":         everybody,
	"GET /setup/gym":      everybody,
	"POST /setup/gym":     everybody,
	"POST /theme":         everybody,
	"POST /language":      everybody,
	"GET /help":           everybody,
	"GET /trust":          everybody,
	"GET /trust/root.crt": everybody,

	"GET /sign-in/code":    nobody,
	"POST /sign-in/code":   nobody,
	"GET /gyms":            staff,
	"POST /gyms":           staff,
	"GET /invited":         everybody,
	"POST /invited":        everybody,
	"POST /invited/accept": everybody,
	"GET /recover":         everybody,
	"POST /recover":        everybody,

	"GET /account":                         staff,
	"POST /account/password":               staff,
	"POST /account/sign-ins/end":           staff,
	"GET /account/second-factor":           staff,
	"POST /account/second-factor":          staff,
	"POST /account/second-factor/remove":   staff,
	"POST /account/second-factor/codes":    staff,
	"POST /account/second-factor/postpone": owners,

	"GET /athletes/{athlete}/edit":      coaches,
	"POST /athletes/{athlete}/edit":     coaches,
	"GET /classes/{class}/edit":         coaches,
	"POST /classes/{class}/edit":        coaches,
	"GET /classes/{class}/consents":     coaches,
	"POST /classes/{class}/consents":    coaches,
	"GET /athletes/{athlete}/consents":  coaches,
	"POST /athletes/{athlete}/consents": coaches,

	"GET /athletes/{athlete}/health":            coaches,
	"GET /athletes/{athlete}/health/questions":  coaches,
	"POST /athletes/{athlete}/health/questions": coaches,
	"POST /athletes/{athlete}/health/talk":      coaches,
	"POST /athletes/{athlete}/health/told":      coaches,

	"GET /child":            guardians,
	"POST /child/consent":   guardians,
	"GET /child/questions":  guardians,
	"POST /child/questions": guardians,
	"POST /child/data":      guardians,
	"POST /child/forget":    guardians,
	"POST /child/account":   guardians,

	"GET /child/report":            guardians,
	"GET /child/report/{term}":     guardians,
	"GET /child/report/{term}/pdf": guardians,
	"GET /me/report":               jumpers,
	"GET /me/report/{term}":        jumpers,
	"GET /me/report/{term}/pdf":    jumpers,

	"GET /gym":                              owners,
	"GET /gym/server":                       owners,
	"GET /privacy":                          owners,
	"POST /privacy/consent-age":             owners,
	"POST /privacy/keeping":                 owners,
	"POST /privacy/erasures/{erasure}/undo": owners,
	"POST /privacy/people/{former}/erase":   owners,
	"GET /athletes/{athlete}/data":          owners,
	"POST /athletes/{athlete}/data":         owners,
	"POST /athletes/{athlete}/erase":        owners,
	"GET /log":                              owners,
	"GET /log.csv":                          owners,

	"GET /people":              owners,
	"POST /people/invitations": owners,
	"POST /people/invitations/{invitation}/take-back": owners,
	"POST /people/second-factor":                      owners,
	"POST /people/{person}/role":                      owners,
	"POST /people/{person}/end":                       owners,
	"POST /people/{person}/way-back":                  owners,
	"POST /people/{person}/second-factor/off":         owners,

	"GET /data":                         owners,
	"POST /data/files":                  owners,
	"POST /data/tokens":                 owners,
	"POST /data/tokens/{token}/end":     owners,
	"GET /api/openapi.json":             everybody,
	"GET /api/openapi.yaml":             everybody,
	"GET /api/openapi-3.0.json":         everybody,
	"GET /api/openapi-3.0.yaml":         everybody,
	"GET /api/v1/gym":                   programs,
	"GET /api/v1/terms":                 programs,
	"GET /api/v1/classes":               programs,
	"GET /api/v1/athletes":              programs,
	"GET /api/v1/terms/{term}/athletes": programs,
	"GET /api/v1/terms/{term}/results":  programs,
	"GET /api/v1/terms/{term}/meetings": programs,
	"GET /api/v1/terms/{term}/stages":   programs,
	"GET /api/v1/terms/{term}/weeks":    programs,

	"GET /reports":                                    coaches,
	"GET /reports/{term}":                             coaches,
	"GET /reports/{term}/gym":                         coaches,
	"GET /reports/{term}/classes/{class}":             coaches,
	"GET /reports/{term}/classes/{class}/athletes":    coaches,
	"GET /reports/{term}/classes/{class}/comments":    coaches,
	"GET /reports/{term}/athletes/{athlete}":          coaches,
	"GET /reports/{term}/athletes/{athlete}/comment":  coaches,
	"POST /reports/{term}/athletes/{athlete}/comment": coaches,
	"POST /reports/{term}/files":                      coaches,
	"GET /files/{report}":                             coaches,
	"GET /files/{report}/progress":                    coaches,
	"GET /files/{report}/download":                    coaches,
	"POST /files/{report}/again":                      coaches,
	"POST /files/{report}/stop":                       coaches,

	"GET /today":                        staff,
	"GET /classes":                      staff,
	"GET /classes/{class}":              staff,
	"GET /classes/{class}/tests":        staff,
	"POST /classes/{class}/tests":       staff,
	"GET /classes/{class}/odd":          staff,
	"GET /athletes":                     staff,
	"GET /athletes/{athlete}":           staff,
	"GET /athletes/{athlete}/results":   staff,
	"GET /athletes/{athlete}/tests/new": staff,
	"POST /athletes/{athlete}/tests":    staff,
	"GET /results/{result}/correct":     staff,
	"POST /results/{result}/correct":    staff,

	"GET /classes/{class}/calendar":          staff,
	"GET /classes/{class}/calendar/meeting":  coaches,
	"POST /classes/{class}/calendar/meeting": coaches,
	"GET /classes/{class}/calendar/extra":    coaches,
	"GET /classes/{class}/times":             coaches,
	"GET /classes/{class}/calendar/links":    coaches,
	"POST /classes/{class}/calendar/links":   coaches,
	"GET /athletes/{athlete}/calendar":       coaches,
	"POST /athletes/{athlete}/calendar":      coaches,
	"GET /links":                             owners,
	"GET /me/calendar":                       jumpers,
	"POST /me/calendar":                      jumpers,
	"POST /me/calendar/{calendar}/end":       jumpers,
	"GET /child/calendar":                    guardians,
	"POST /child/calendar":                   guardians,
	"POST /child/calendar/{calendar}/end":    guardians,
	"GET /calendar/{secret}.ics":             everybody,
	"HEAD /calendar/{secret}.ics":            everybody,
	"POST /classes/{class}/times":            coaches,
	"GET /terms":                             owners,
	"GET /terms/new":                         owners,
	"GET /terms/{term}":                      owners,
	"POST /terms":                            owners,
	"GET /holidays/new":                      owners,
	"GET /holidays/{holiday}":                owners,
	"POST /holidays":                         owners,

	"GET /classes/{class}/check-in":              staff,
	"POST /classes/{class}/check-in":             staff,
	"GET /sessions/{session}":                    staff,
	"GET /sessions/{session}/run":                staff,
	"GET /sessions/{session}/print/floor":        staff,
	"GET /sessions/{session}/print/cards":        staff,
	"GET /classes/{class}/count-sheet":           staff,
	"GET /sessions/{session}/log":                staff,
	"POST /sessions/{session}/log":               staff,
	"GET /classes/{class}/floor":                 staff,
	"POST /classes/{class}/floor":                staff,
	"GET /classes/{class}/hand-over":             staff,
	"GET /incidents":                             coaches,
	"GET /incidents/new":                         coaches,
	"POST /incidents":                            coaches,
	"POST /sessions/{session}/run":               staff,
	"GET /sessions/{session}/live":               staff,
	"POST /sessions/{session}/hands":             staff,
	"GET /sessions/{session}/screen":             coaches,
	"POST /sessions/{session}/screen":            coaches,
	"POST /links/{link}/end":                     coaches,
	"GET /time":                                  everybody,
	"GET /screen/{secret}":                       everybody,
	"GET /screen/{secret}/live":                  everybody,
	"GET /me/class":                              jumpers,
	"GET /me/class/live":                         jumpers,
	"POST /me/class/hand":                        jumpers,
	"GET /classes/{class}/tests/{round}/rows":    staff,
	"POST /classes/{class}/tests/{round}/rows":   staff,
	"POST /classes/{class}/tests/{round}/undo":   staff,
	"POST /classes/{class}/tests/{round}/settle": staff,
	"POST /classes/{class}/tests/{round}/start":  staff,
	"POST /sessions/{session}/here":              staff,
	"POST /sessions/{session}/not-started":       staff,
	"POST /sessions/{session}/plans":             coaches,

	"GET /classes/new":                     coaches,
	"POST /classes":                        coaches,
	"GET /classes/{class}/import":          coaches,
	"POST /classes/{class}/import":         coaches,
	"POST /classes/{class}/import/confirm": coaches,
	"GET /roster-example.csv":              coaches,
	"GET /classes/{class}/cards":           coaches,
	"POST /classes/{class}/cards":          coaches,
	"POST /classes/{class}/cards/print":    coaches,
	"GET /athletes/{athlete}/phones":       coaches,
	"POST /athletes/{athlete}/card":        coaches,
	"POST /athletes/{athlete}/guardians":   coaches,
	"POST /devices/{device}/cut-off":       coaches,
	"POST /guardians/{guardian}":           coaches,
	"GET /classes/{class}/plans":           coaches,
	"POST /classes/{class}/plans":          coaches,
	"GET /plans/{plan}":                    coaches,
	"GET /plans/{plan}/tweak":              coaches,
	"POST /plans/{plan}/tweak":             coaches,
	"GET /rules":                           coaches,
	"POST /rules":                          coaches,
	"GET /athletes/{athlete}/release":      coaches,
	"POST /athletes/{athlete}/release":     coaches,
	"GET /athletes/{athlete}/debrief":      staff,
	"POST /athletes/{athlete}/debrief":     staff,

	"GET /stages":                          staff,
	"GET /stages/{stage}":                  staff,
	"GET /athletes/{athlete}/gate":         staff,
	"POST /athletes/{athlete}/gate":        coaches,
	"POST /athletes/{athlete}/looks":       coaches,
	"POST /decisions/{decision}/take-back": coaches,
	"GET /athletes/{athlete}/catches":      staff,
	"POST /athletes/{athlete}/catches":     staff,
	"GET /classes/{class}/set":             coaches,
	"POST /classes/{class}/set":            coaches,
	"GET /athletes/{athlete}/set":          coaches,
	"POST /athletes/{athlete}/set":         coaches,
	"POST /athletes/{athlete}/set/off":     coaches,
	"GET /classes/{class}/checks":          coaches,
	"POST /classes/{class}/checks":         coaches,

	"GET /ropes":                  staff,
	"POST /ropes":                 staff,
	"GET /ropes/new":              staff,
	"GET /ropes/{rope}":           staff,
	"POST /ropes/{rope}":          staff,
	"POST /ropes/{rope}/lend":     staff,
	"POST /ropes/{rope}/return":   staff,
	"POST /ropes/{rope}/check":    staff,
	"POST /ropes/{rope}/retire":   staff,
	"POST /ropes/steel":           coaches,
	"POST /classes/{class}/ropes": coaches,

	"GET /ladders":                                               coaches,
	"POST /ladders":                                              coaches,
	"POST /ladders/shipped":                                      coaches,
	"GET /ladders/schema":                                        coaches,
	"GET /ladders/import":                                        coaches,
	"POST /ladders/import":                                       coaches,
	"GET /ladders/{ladder}/":                                     coaches,
	"POST /ladders/{ladder}/name":                                coaches,
	"POST /ladders/{ladder}/stages":                              coaches,
	"GET /ladders/{ladder}/stages/{stage}":                       coaches,
	"POST /ladders/{ladder}/stages/{stage}":                      coaches,
	"POST /ladders/{ladder}/stages/{stage}/move":                 coaches,
	"GET /ladders/{ladder}/stages/{stage}/gate":                  coaches,
	"POST /ladders/{ladder}/stages/{stage}/gate":                 coaches,
	"GET /ladders/{ladder}/stages/{stage}/gate/{clause}":         coaches,
	"POST /ladders/{ladder}/stages/{stage}/gate/{clause}":        coaches,
	"POST /ladders/{ladder}/stages/{stage}/gate/{clause}/remove": coaches,
	"POST /ladders/{ladder}/discard":                             coaches,
	"GET /ladders/{ladder}/publish":                              coaches,
	"POST /ladders/{ladder}/publish":                             coaches,
	"GET /ladders/{ladder}/use":                                  coaches,
	"POST /ladders/{ladder}/use":                                 coaches,
	"GET /ladders/{ladder}/versions/{version}":                   coaches,
	"GET /ladders/{ladder}/versions/{version}/file":              coaches,

	"GET /me/stage":          jumpers,
	"GET /me/stage/catches":  jumpers,
	"POST /me/stage/catches": jumpers,

	"GET /sw.js":           everybody,
	"GET /pair":            everybody,
	"POST /pair/look":      everybody,
	"POST /pair":           everybody,
	"GET /offline/today":   everybody,
	"GET /offline/session": everybody,
	"GET /offline/test":    everybody,
	"GET /offline/result":  everybody,
	"GET /offline/results": everybody,
	"GET /offline/debrief": everybody,
	"GET /offline/rates":   everybody,
	"GET /offline/unsent":  everybody,

	"GET /me":          jumpers,
	"GET /me/ready":    jumpers,
	"GET /me/session":  jumpers,
	"GET /me/test":     jumpers,
	"GET /me/rates":    jumpers,
	"GET /me/result":   jumpers,
	"POST /me/result":  jumpers,
	"GET /me/results":  jumpers,
	"POST /me/results": jumpers,
	"GET /me/debrief":  jumpers,
	"POST /me/debrief": jumpers,
	"GET /me/unsent":   jumpers,
	"POST /me/outbox":  jumpers,
}

// absent are the routes that this site has nothing behind: it has owners
// already and no certificate of its own.
var absent = []string{"GET /setup", "POST /setup", "GET /setup/gym", "POST /setup/gym", "GET /trust", "GET /trust/root.crt", "GET /screen/{secret}", "GET /screen/{secret}/live", "GET /calendar/{secret}.ics", "HEAD /calendar/{secret}.ics", "GET /static/*", "HEAD /static/*"}

// routesOf lists the routes as "METHOD pattern".
func routesOf(t *testing.T, s *site) []string {
	t.Helper()
	var routes []string
	err := chi.Walk(s.routes.(chi.Routes), func(method, pattern string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		routes = append(routes, method+" "+pattern)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return routes
}

func TestEveryRouteHasARule(t *testing.T) {
	routes := routesOf(t, newSite(t))
	for _, route := range routes {
		if _, ruled := rules[route]; !ruled {
			t.Errorf("%s: say in rules who may enter", route)
		}
	}
	for route := range rules {
		if !slices.Contains(routes, route) {
			t.Errorf("%s is in rules and not in the router", route)
		}
	}
}

var parameter = regexp.MustCompile(`\{([a-z]+)\}`)

// lasting are the words in braces that no request uses up.
var lasting = []string{"{class}", "{athlete}", "{session}", "{plan}", "{result}", "{stage}", "{clause}", "{version}", "{ladder}", "{term}", "{rope}", "{round}", "{holiday}"}

func (h *hall) everyRole() map[gym.Role]*browser {
	h.t.Helper()
	guardian := gym.Who{GymID: h.id, PersonID: newID(), AthleteID: h.athletes[0].AthleteID, Role: gym.Guardian, Name: "Gus"}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		return tx.AddGuardian(ctx, gym.Guardianship{GuardianID: guardian.PersonID, AthleteID: guardian.AthleteID, Name: guardian.Name, AddedAt: h.now}, h.coach.PersonID)
	})
	return map[gym.Role]*browser{"": h.open(), gym.Owner: h.as(h.owner), gym.Coach: h.as(h.coach), gym.Assistant: h.as(h.assistant),
		gym.Guardian: h.as(guardian), gym.Jumper: h.as(h.jumper(0))}
}

func TestWhoMayEnter(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	ids := h.belongings()
	for _, route := range routesOf(t, h.site) {
		method, pattern, _ := strings.Cut(route, " ")
		if route == "POST /sign-out" || slices.Contains(absent, route) {
			continue // would end the sign-ins of this test
		}
		for role, b := range h.everyRole() {
			if slices.ContainsFunc(parameter.FindAllString(pattern, -1), func(word string) bool { return !slices.Contains(lasting, word) }) {
				h.renew(ids)
			}
			path := addressed(t, pattern, ids)
			a := b.do(method, path, "application/x-www-form-urlencoded", strings.NewReader("athlete=missing"))
			switch allowed := slices.Contains(rules[route], role); {
			case strings.HasPrefix(pattern, "/api/v1/"):
				a.is(http.StatusUnauthorized)
			case allowed && (a.Code == 401 || a.Code == 403 || a.Code == 404 || a.Code >= 500):
				t.Errorf("%s by %q: status %d, want it let in: %s", route, role, a.Code, a.words())
			case allowed && method == "GET" && a.Code != 200 && a.Code != 303:
				t.Errorf("%s by %q: status %d, want the page: %s", route, role, a.Code, a.words())
			case !allowed && role == "" && method == "GET" && (a.Code != 303 || !strings.HasPrefix(a.Header.Get("Location"), "/sign-in?next=")):
				t.Errorf("%s by nobody: status %d, want the way to the sign-in", route, a.Code)
			case !allowed && role == "" && method != "GET" && a.Code != 401:
				t.Errorf("%s by nobody: status %d, want 401", route, a.Code)
			case !allowed && role != "" && a.Code != 403:
				t.Errorf("%s by %q: status %d, want 403", route, role, a.Code)
			}
		}
	}
}

// marks sums up everything that a gym has, row by row.
func (h *hall) marks() map[string]string {
	h.t.Helper()
	ctx := h.t.Context()
	conn, err := pgx.Connect(ctx, h.db.OwnerURL)
	if err != nil {
		h.t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	rows, _ := conn.Query(ctx, `SELECT c.relname::text FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'gym_id'
		WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND c.relname <> 'sign_in'`) // the collector reports Query's error
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		h.t.Fatal(err)
	}
	marks := map[string]string{}
	for _, table := range tables {
		var mark string
		if err := conn.QueryRow(ctx, `SELECT count(*) || ' ' || coalesce(md5(string_agg(t::text, ' ' ORDER BY t::text)), '') FROM `+table+` t WHERE gym_id = $1`, h.id).Scan(&mark); err != nil {
			h.t.Fatal(err)
		}
		marks[table] = mark
	}
	return marks
}

// Whoever asks for another gym's ids is told the same as for ids that nobody
// has, and changes nothing there.
func TestAnotherGymIsNotThere(t *testing.T) {
	own := newHall(t, "Ana")
	other := own.addHall("Other Hall", "Eve")
	theirs := other.belongings()
	nobodys := map[string]uuid.UUID{}
	for word := range theirs {
		nobodys[word] = newID()
	}
	before := other.marks()
	owner := own.as(own.owner)
	owner.headers[requestHeader] = "alike-for-both" // pages of problems name their request
	for _, route := range routesOf(t, own.site) {
		method, pattern, _ := strings.Cut(route, " ")
		if !strings.Contains(pattern, "{") || strings.HasPrefix(pattern, "/api/") {
			continue // programs come by token, not as a person; TestAPI has theirs
		}
		for _, filled := range []string{"", "rotations=99&do=void&day=2026-11-05&minutes=20&names=Sneaked+in&athlete=" + theirs["athlete"].String() + "&rotations-" + theirs["athlete"].String() + "=99"} {
			ask := func(ids map[string]uuid.UUID) *answer {
				return owner.do(method, addressed(t, pattern, ids), "application/x-www-form-urlencoded", strings.NewReader(filled))
			}
			want := 404
			if !slices.Contains(rules[route], gym.Owner) {
				want = 403
			}
			there, nowhere := ask(theirs), ask(nobodys)
			if there.Code != want && (filled != "" || there.Code != 422) {
				t.Errorf("%s with another gym's ids: status %d, want %d: %s", route, there.Code, want, there.words())
			}
			if there.Code != nowhere.Code || there.words() != nowhere.words() {
				t.Errorf("%s tells another gym's ids (%d) from ids that nobody has (%d)", route, there.Code, nowhere.Code)
			}
		}
	}
	for table, mark := range other.marks() {
		if before[table] != mark {
			t.Errorf("%s of the other gym was changed: %s, before %s", table, mark, before[table])
		}
	}
}

func TestWhatIsNoIDIsNotThere(t *testing.T) {
	h := newHall(t)
	for _, path := range []string{"/classes/x", "/athletes/1", "/plans/-", "/results/0/correct"} {
		h.as(h.owner).get(path).is(404).says("There is nothing at this address.")
	}
}
