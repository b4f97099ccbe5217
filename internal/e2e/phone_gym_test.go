package e2e

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/server"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
	"ropewalk.example/web"
)

// A phoneGym is a server within the tests, so that they can take the signal
// away and look at the rows. Each athlete of it has a plan for today.
type phoneGym struct {
	*testing.T
	signal   *signal
	address  string
	server   *server.Server
	owner    *pgx.Conn
	id       uuid.UUID
	class    gym.Class
	athletes []gym.Athlete
}

// Names that must never be found on a phone.
var planted = []string{"Quillon Marwick", "Ottoline Brack", "Fenella Dray", "Corvane Hall", "Tuesday Quarry"}

const phonePIN = "4711"

func newPhoneGym(t *testing.T) *phoneGym {
	t.Helper()
	db := testdb.New(t)
	st, err := store.Open(t.Context(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	hasher, err := account.NewHasher()
	if err != nil {
		t.Fatal(err)
	}
	g := &phoneGym{T: t, id: uuid.Must(uuid.NewV7())}
	g.server = &server.Server{Store: st, Accounts: &account.Accounts{Store: st, Hasher: hasher, Now: time.Now},
		Roster: &roster.Roster{Store: st, Hasher: hasher, Now: time.Now}, Measuring: &measuring.Measuring{Store: st, Now: time.Now},
		Coaching: &coaching.Coaching{Store: st, Now: time.Now}, SignIns: server.NewSignIns(st, false),
		Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Now: time.Now}
	g.server.Receiving = &receiving.Receiving{Store: st, Measuring: g.server.Measuring, Coaching: g.server.Coaching, Now: time.Now}
	if g.owner, err = pgx.Connect(t.Context(), db.OwnerURL); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = g.owner.Close(context.WithoutCancel(t.Context())) })
	g.signal = &signal{next: g.server.Routes()}
	listening := httptest.NewServer(g.signal)
	t.Cleanup(listening.Close)
	g.address = listening.URL
	g.fill()
	return g
}

func (g *phoneGym) write(do func(ctx context.Context, tx *store.Tx) error) {
	g.Helper()
	ctx := g.Context()
	if err := g.server.Store.Write(ctx, g.id, func(tx *store.Tx) error { return do(ctx, tx) }); err != nil {
		g.Fatal(err)
	}
}

func (g *phoneGym) fill() {
	g.Helper()
	now := time.Now()
	g.class = gym.Class{ClassID: uuid.Must(uuid.NewV7()), Name: planted[4], Code: account.NewCode(6), CreatedAt: now}
	hash, err := g.server.Accounts.Hasher.HashPIN(g.Context(), phonePIN)
	if err != nil {
		g.Fatal(err)
	}
	var fresh []store.NewAthlete
	var ids []uuid.UUID
	for _, name := range planted[:3] {
		a := gym.Athlete{AthleteID: uuid.Must(uuid.NewV7()), Name: name, BirthYear: 1990, HasPIN: true}
		g.athletes, ids = append(g.athletes, a), append(ids, a.AthleteID)
		fresh = append(fresh, store.NewAthlete{Athlete: a, NameKey: roster.NameKey(name), PINHash: hash})
	}
	g.write(func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddGym(ctx, gym.Gym{Name: planted[3], TimeZone: "UTC", AdultAge: 16, CreatedAt: now}); err != nil {
			return err
		}
		if err := tx.AddClass(ctx, g.class, roster.NameKey(g.class.Name), g.class.Code); err != nil {
			return err
		}
		if _, _, err := tx.AddAthletes(ctx, fresh, now); err != nil {
			return err
		}
		if _, err := tx.Enrol(ctx, g.class.ClassID, ids, now); err != nil {
			return err
		}
		return tx.AddPlans(ctx, g.plans(now))
	})
}

// plans are short, so that tests can hear them out: two sets of four and a
// burst of three, ten seconds of rest between.
func (g *phoneGym) plans(now time.Time) []gym.Plan {
	p := planner.Plan{RulesVersion: 1, Kind: planner.KindSplit, SteadyRPM: 150, TargetRPM: 180, Split: planner.Split{Steady: 4, Burst: 3},
		Cycles: 1, Sets: 2, RestSeconds: 10, Reps: 14, Contacts: 14, Cue: planner.Cue{SteadyPerMinute: 150, BurstPerMinute: 180, LeadInBeats: 4}}
	for set := range p.Sets {
		if set > 0 {
			p.Segments = append(p.Segments, planner.Segment{Seconds: p.RestSeconds, Balance: 20})
		}
		p.Segments = append(p.Segments, planner.Segment{RPM: 150, Seconds: 60 * 4 / 150.0, Balance: 20}, planner.Segment{RPM: 180, Seconds: 1, Balance: 18})
	}
	output, err := json.Marshal(p)
	if err != nil {
		g.Fatal(err)
	}
	var plans []gym.Plan
	for _, a := range g.athletes {
		plans = append(plans, gym.Plan{PlanID: uuid.Must(uuid.NewV7()), AthleteID: a.AthleteID, ClassID: g.class.ClassID, Day: gym.DayIn(now, time.UTC),
			Input: []byte(`{}`), Output: output, MadeAt: now, MadeBy: uuid.Must(uuid.NewV7()), SentAt: &now})
	}
	return plans
}

// count asks the database, past the walls between gyms.
func (g *phoneGym) count(sql string, args ...any) int {
	g.Helper()
	var n int
	if err := g.owner.QueryRow(g.Context(), sql, args...).Scan(&n); err != nil {
		g.Fatalf("%s: %v", sql, err)
	}
	return n
}

// results counts the rows of an athlete's results.
func (g *phoneGym) results(n int) int {
	g.Helper()
	return g.count(`SELECT count(*) FROM result WHERE athlete_id = $1`, g.athletes[n].AthleteID)
}

// ---- the signal ------------------------------------------------------------

// A verdict is what becomes of a request on its way.
type verdict int

const (
	through verdict = iota
	lost            // it never arrives
	cut             // it is answered, and the answer never arrives
	hangs           // it never arrives, and nobody says so
)

// A signal is what stands between phones and the server.
type signal struct {
	next http.Handler

	mu       sync.Mutex
	decide   func(r *http.Request) verdict
	rewrite  func(path string, body []byte) []byte
	sending  int // requests to the outbox at this moment
	mostSent int // at any moment
}

// on lets decide say what becomes of each request; nil lets all through.
func (s *signal) on(decide func(r *http.Request) verdict) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.decide = decide
}

func (s *signal) off() { s.on(func(*http.Request) verdict { return lost }) }

func outboxOf(r *http.Request) bool { return r.URL.Path == "/me/outbox" }

func (s *signal) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	decide, rewrite := s.decide, s.rewrite
	if outboxOf(r) {
		s.sending++
		s.mostSent = max(s.mostSent, s.sending)
		defer func() {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.sending--
		}()
	}
	s.mu.Unlock()
	what := through
	if decide != nil {
		what = decide(r)
	}
	switch what {
	case lost:
		drop(w)
	case cut:
		s.next.ServeHTTP(httptest.NewRecorder(), r)
		drop(w)
	case hangs:
		_, _ = io.Copy(io.Discard, r.Body) // else the end of the connection goes unnoticed
		<-r.Context().Done()
	default:
		if rewrite == nil {
			s.next.ServeHTTP(w, r)
			return
		}
		kept := httptest.NewRecorder()
		r.Header.Del("Accept-Encoding")
		s.next.ServeHTTP(kept, r)
		for name, values := range kept.Header() {
			w.Header()[name] = values
		}
		w.Header().Del("Content-Length")
		w.WriteHeader(kept.Code)
		_, _ = w.Write(rewrite(r.URL.Path, kept.Body.Bytes()))
	}
}

// drop ends the connection without a word.
func drop(w http.ResponseWriter) {
	conn, _, err := http.NewResponseController(w).Hijack()
	if err != nil {
		panic(http.ErrAbortHandler)
	}
	if tcp, ok := conn.(*net.TCPConn); ok {
		_ = tcp.SetLinger(0)
	}
	_ = conn.Close()
}

// ---- a phone ------------------------------------------------------------------

// A phone is a tab as narrow as a phone, in a profile of its own, that bears
// having no signal.
type phone struct {
	*tab
	gym *phoneGym
}

// newPhone opens a tab; before every page it runs scripts.
func (g *phoneGym) newPhone(t *testing.T, scripts ...string) *phone {
	t.Helper()
	shared, err := browser()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := chromedp.NewContext(shared, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	return g.phoneIn(t, ctx, scripts...)
}

// another opens one more tab of the same phone.
func (p *phone) another(t *testing.T) *phone {
	t.Helper()
	ctx, cancel := chromedp.NewContext(p.ctx)
	t.Cleanup(cancel)
	return p.gym.phoneIn(t, ctx)
}

func (g *phoneGym) phoneIn(t *testing.T, ctx context.Context, scripts ...string) *phone {
	t.Helper()
	p := &phone{tab: &tab{T: t, ctx: ctx, address: g.address}, gym: g}
	if err := chromedp.Do(ctx); err != nil { // the tab lives as long as the context that opens it
		t.Fatal(err)
	}
	p.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateTouch))
	for _, script := range scripts {
		if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script}); err != nil {
			t.Fatal(err)
		}
	}
	console := chromedp.Console(ctx)
	go func() {
		for message, err := range console {
			if err != nil {
				return
			}
			if message.Source != "network" { // that there is no signal is on purpose
				p.hear(message)
			}
		}
	}()
	t.Cleanup(func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		for _, text := range p.errors {
			t.Errorf("the browser complains: %s", text)
		}
	})
	return p
}

// joins lets the n-th athlete in and waits until the phone is ready for a hall
// without a signal.
func (p *phone) joins(n int) {
	p.Helper()
	p.open("/join?code=" + p.gym.class.Code)
	p.choose("athlete", p.gym.athletes[n].Name)
	p.fill("pin", phonePIN)
	p.press("Go in")
	p.ready()
}

func (p *phone) ready() {
	p.Helper()
	p.until(`navigator.serviceWorker.getRegistration().then(r => !!r?.active && !document.querySelector("#ready [data-yes]").hidden)`)
}

// until waits for the page to make an expression true.
func (p *phone) until(expression string) {
	p.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	var last error
	for ctx.Err() == nil {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`Promise.resolve(`+expression+`).then(Boolean)`, chromedp.EvalAwaitPromise))
		if ok {
			return
		}
		last = err // the page may be changing
		select {
		case <-ctx.Done():
		case <-time.After(40 * time.Millisecond):
		}
	}
	p.Fatalf("this did not come true: %s (%v); the page says: %s", expression, last, p.words())
}

// enter types a count into the result form and saves it.
func (p *phone) enter(rotations int) {
	p.Helper()
	p.open("/me/result")
	p.until(`document.querySelector('form[data-keep]') && (document.querySelector("[data-me]") || document.querySelector("[data-offline]"))`)
	p.fill("rotations", fmt.Sprint(rotations))
	p.fill("catches", "2")
	p.press("Save result")
	p.until(`location.pathname === "/me" && document.readyState === "complete"`)
}

// online tells the page that there may be a signal again.
func (p *phone) online() {
	p.Helper()
	value[bool](p.tab, `dispatchEvent(new Event("online"))`)
}

// module imports a module of the page's own, the same that the page uses.
func module(name string) string { return fmt.Sprintf(`import(%q)`, web.Asset("js/"+name)) }

// waits counts the entries on the phone.
func (p *phone) waits() int {
	p.Helper()
	return value[int](p.tab, module("outbox.js")+`.then(o => o.all()).then(a => a.mine.length)`)
}

// sent waits until nothing waits on the phone any more.
func (p *phone) sent() {
	p.Helper()
	p.until(module("outbox.js") + `.then(o => o.all()).then(a => a.mine.every(e => e.state !== "waiting"))`)
	for _, why := range value[[]string](p.tab, module("outbox.js")+`.then(o => o.all()).then(a => a.mine.map(e => e.kind + ": " + e.why))`) {
		p.Errorf("an entry was refused: %s", why)
	}
}

// adds keeps n results on the phone at once, as fast as the page can.
func (p *phone) adds(from, n int) {
	p.Helper()
	value[int](p.tab, fmt.Sprintf(module("outbox.js")+`.then(async o => { for (let n = %d; n < %d; n++) await o.add("result", {protocol: "base", seconds: 60,
		rotations: n, catches: 0, step: "bounce", rope: "", surface: "", counted_by: "self", timing: "hand"}, String(n)); return 1; })`, from, from+n))
}

// forgetSignIn takes the cookie away, as time does.
func (p *phone) forgetSignIn() {
	p.Helper()
	if _, err := chromedp.Call(p.ctx, network.DeleteCookies, network.DeleteCookiesParams{Name: "ropewalk", URL: p.address}); err != nil {
		p.Fatal(err)
	}
}

func (p *phone) lacks(texts ...string) {
	p.Helper()
	words := p.words()
	for _, text := range texts {
		if strings.Contains(words, text) {
			p.Errorf("the page says %q: %s", text, words)
		}
	}
}
