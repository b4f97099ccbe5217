package server

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/metrics"
	"ropewalk.example/internal/privacy"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// noon is where every site's clock stands: a Wednesday.
var noon = time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)

// hasher is shared, since making one costs a hash.
var hasher = sync.OnceValues(account.NewHasher)

// A site is the whole server on a database of its own, with a clock that stands
// still until a test moves it.
type site struct {
	t      *testing.T
	now    time.Time
	db     testdb.DB
	server *Server
	routes http.Handler
	trips  *atomic.Int64 // round trips to the database
	wire   *wire
	log    *bytes.Buffer
}

// newSite returns a site without any gym.
func newSite(t *testing.T) *site {
	t.Helper()
	s := &site{t: t, now: noon, db: testdb.New(t), trips: &atomic.Int64{}, wire: &wire{}, log: &bytes.Buffer{}}
	st, err := store.Open(t.Context(), s.db.AppURL, func(c *pgxpool.Config) {
		c.ConnConfig.Tracer, c.ConnConfig.DialFunc = tripCounter{s.trips}, s.wire.dial
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	h, err := hasher()
	if err != nil {
		t.Fatal(err)
	}
	clock := func() time.Time { return s.now }
	s.server = &Server{
		Store:     st,
		Accounts:  &account.Accounts{Store: st, Hasher: h, Now: clock},
		Roster:    &roster.Roster{Store: st, Hasher: h, Now: clock},
		Measuring: &measuring.Measuring{Store: st, Now: clock},
		Deciding:  &deciding.Deciding{Store: st, Now: clock},
		Coaching:  &coaching.Coaching{Store: st, Now: clock},
		Privacy:   &privacy.Privacy{Store: st, Now: clock},
		SignIns:   NewSignIns(st, false),
		Log:       slog.New(WithReference(slog.NewTextHandler(s.log, nil))),
		Metrics:   metrics.New("test"),
		Now:       clock,
	}
	s.server.Reporting = &reporting.Reporting{Store: st, Now: clock, Queue: func(context.Context, *store.Tx, uuid.UUID, int) error { return nil }}
	s.server.Receiving = &receiving.Receiving{Store: st, Measuring: s.server.Measuring, Coaching: s.server.Coaching, Now: clock}
	s.server.Leading = &leading.Leading{Store: st, Measuring: s.server.Measuring, Coaching: s.server.Coaching, Now: clock}
	t.Cleanup(s.server.Drain)
	s.routes = s.server.Routes()
	return s
}

// tripCounter counts what requests send to the database and back: a batch or a
// statement is one trip, however many queries it holds. What the store sends for
// itself, such as news to other servers, is nobody's wait.
type tripCounter struct{ n *atomic.Int64 }

func (c tripCounter) count(ctx context.Context) {
	if chi.RouteContext(ctx) != nil {
		c.n.Add(1)
	}
}

func (c tripCounter) TraceQueryStart(ctx context.Context, _ *pgx.Conn, data pgx.TraceQueryStartData) context.Context {
	if data.SQL != "-- ping" { // the pool's own look at a connection that rested for a second
		c.count(ctx)
	}
	return ctx
}
func (tripCounter) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

func (c tripCounter) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	c.count(ctx)
	return ctx
}
func (tripCounter) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}
func (tripCounter) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData)     {}

// A wire leads to the database until it is cut.
type wire struct {
	mu    sync.Mutex
	conns []net.Conn
	isCut bool
}

func (w *wire) dial(ctx context.Context, network, address string) (net.Conn, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.isCut {
		return nil, &net.OpError{Op: "dial", Net: network, Err: syscall.ECONNREFUSED}
	}
	conn, err := (&net.Dialer{}).DialContext(ctx, network, address)
	w.conns = append(w.conns, conn)
	return conn, err
}

// cut is what a stopped database looks like from here.
func (w *wire) cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.isCut = true
	for _, conn := range w.conns {
		_ = conn.Close()
	}
	w.conns = nil
}

// mend lets connections through again.
func (w *wire) mend() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.isCut = false
}

func (s *site) write(gymID uuid.UUID, do func(ctx context.Context, tx *store.Tx) error) {
	s.t.Helper()
	ctx := s.t.Context()
	if err := s.server.Store.Write(ctx, gymID, func(tx *store.Tx) error { return do(ctx, tx) }); err != nil {
		s.t.Fatal(err)
	}
}

func (s *site) read(gymID uuid.UUID, readings ...store.Reading) {
	s.t.Helper()
	if err := s.server.Store.Read(s.t.Context(), gymID, readings...); err != nil {
		s.t.Fatal(err)
	}
}

// A browser keeps the cookies of one person.
type browser struct {
	*site
	cookies map[string]string
	headers map[string]string
}

// open returns a browser in which nobody is signed in.
func (s *site) open() *browser {
	return &browser{site: s, cookies: map[string]string{}, headers: map[string]string{"Sec-Fetch-Site": "same-origin"}}
}

// as returns a browser in which who is signed in.
func (s *site) as(who gym.Who) *browser {
	s.t.Helper()
	ctx, err := s.server.SignIns.Load(s.t.Context(), "")
	if err != nil {
		s.t.Fatal(err)
	}
	s.server.prove(ctx)
	if err := s.server.enter(ctx, who); err != nil {
		s.t.Fatal(err)
	}
	token, _, err := s.server.SignIns.Commit(ctx)
	if err != nil {
		s.t.Fatal(err)
	}
	b := s.open()
	b.cookies[s.server.SignIns.Cookie.Name] = token
	return b
}

var _ scs.CtxStore = (*store.SignIns)(nil) // else sign-ins would lose their requests' time limits

// do sends a request and keeps the cookies of the answer.
func (b *browser) do(method, path, contentType string, body io.Reader) *answer {
	b.t.Helper()
	r := httptest.NewRequest(method, path, body)
	r.Host = "gym.example"
	if contentType != "" {
		r.Header.Set("Content-Type", contentType)
	}
	for name, value := range b.headers {
		r.Header.Set(name, value)
	}
	for name, value := range b.cookies {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	w := httptest.NewRecorder()
	b.routes.ServeHTTP(w, r)
	for _, cookie := range w.Result().Cookies() {
		b.cookies[cookie.Name] = cookie.Value
		if cookie.MaxAge < 0 {
			delete(b.cookies, cookie.Name)
		}
	}
	return &answer{t: b.t, what: method + " " + path, Code: w.Code, Header: w.Header(), Text: w.Body.String()}
}

func (b *browser) get(path string) *answer {
	b.t.Helper()
	return b.do("GET", path, "", nil)
}

func (b *browser) post(path string, form url.Values) *answer {
	b.t.Helper()
	return b.do("POST", path, "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
}

// upload posts a form with a file, as a browser does.
func (b *browser) upload(path, field, name string, content []byte, form url.Values) *answer {
	b.t.Helper()
	var body bytes.Buffer
	parts := multipart.NewWriter(&body)
	for key := range form {
		if err := parts.WriteField(key, form.Get(key)); err != nil {
			b.t.Fatal(err)
		}
	}
	if field != "" {
		part, err := parts.CreateFormFile(field, name)
		if err != nil {
			b.t.Fatal(err)
		}
		if _, err := part.Write(content); err != nil {
			b.t.Fatal(err)
		}
	}
	if err := parts.Close(); err != nil {
		b.t.Fatal(err)
	}
	return b.do("POST", path, parts.FormDataContentType(), &body)
}

// follow asks for where the answer to a form leads to.
func (b *browser) follow(a *answer) *answer {
	b.t.Helper()
	a.is(http.StatusSeeOther)
	return b.get(a.Header.Get("Location"))
}
