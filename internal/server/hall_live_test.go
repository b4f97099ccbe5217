package server

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/store"
)

// within bounds how long a test waits for an event; reaching it is a failure.
const within = 30 * time.Second

// A watcher reads a stream of server-sent events, as a browser does.
type watcher struct {
	t      *testing.T
	events chan sent
	end    context.CancelFunc
	status int
}

type sent struct{ event, data string }

// watch opens a stream with the browser's cookies.
func watch(t *testing.T, address string, b *browser) *watcher {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept", "text/event-stream")
	if b != nil {
		for name, value := range b.cookies {
			r.AddCookie(&http.Cookie{Name: name, Value: value})
		}
	}
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	w := &watcher{t: t, events: make(chan sent, 1000), end: cancel, status: response.StatusCode}
	t.Cleanup(cancel)
	go func() {
		defer close(w.events)
		defer response.Body.Close()
		lines := bufio.NewScanner(response.Body)
		lines.Buffer(nil, 1<<20)
		var e sent
		for lines.Scan() {
			switch line := lines.Text(); {
			case line == "":
				w.events <- e
				e = sent{}
			case strings.HasPrefix(line, "event: "):
				e.event = line[len("event: "):]
			case strings.HasPrefix(line, "data: "):
				e.data += line[len("data: "):] + "\n"
			}
		}
	}()
	return w
}

// until returns the next event that says a text.
func (w *watcher) until(event, text string) sent {
	w.t.Helper()
	late := time.NewTimer(within)
	defer late.Stop()
	for {
		select {
		case e, open := <-w.events:
			if !open {
				w.t.Fatalf("the stream ended before %q", text)
			}
			if e.event == event && strings.Contains(w.words(e.data), text) {
				return e
			}
		case <-late.C:
			w.t.Fatalf("no %s says %q", event, text)
		}
	}
}

// ended waits for the stream's end.
func (w *watcher) ended() {
	w.t.Helper()
	late := time.NewTimer(within)
	defer late.Stop()
	for {
		select {
		case _, open := <-w.events:
			if !open {
				return
			}
		case <-late.C:
			w.t.Fatal("the stream did not end")
		}
	}
}

func (w *watcher) words(html string) string { return (&answer{t: w.t, Text: html}).words() }

// running makes a class of n with plans, checked in, and returns its session.
func running(t *testing.T, n int) (*hall, uuid.UUID) {
	t.Helper()
	var names []string
	for i := range n {
		names = append(names, fmt.Sprintf("Athlete %02d", i))
	}
	h := newHall(t, names...)
	for i := range n {
		h.counted(i, "base", 100+2*i, 60, 7)
	}
	session := h.checkIn()
	h.as(h.coach).post("/sessions/"+session.String()+"/plans", form("do", "make")).is(303)
	return h, session
}

func (h *hall) press(session uuid.UUID, seen int, do string) *answer {
	h.t.Helper()
	return h.as(h.coach).post("/sessions/"+session.String()+"/run", form("seen", fmt.Sprint(seen), "do", do))
}

func TestBoardOverTheWire(t *testing.T) {
	h, session := running(t, 3)
	site := httptest.NewServer(h.routes)
	defer site.Close()
	defer h.server.Drain()
	board := watch(t, site.URL+"/sessions/"+session.String()+"/live", h.as(h.coach))
	board.until("board", "The clock has not started.")
	board.until("beat", "")
	h.press(session, 0, "start").is(303)
	board.until("board", "Group A gets ready · round 1 of")
	h.press(session, 1, "pause").is(303)
	board.until("board", "Paused.")
	jumper := h.as(h.jumper(1))
	jumper.post("/me/class/hand", form("up", "yes")).is(303)
	board.until("board", "Needs you · 1 Athlete 01")
	h.as(h.coach).post("/sessions/"+session.String()+"/hands", form("athlete", h.athletes[1].AthleteID.String())).is(303)
	for {
		if e := board.until("board", ""); !strings.Contains(e.data, "Needs you") {
			break
		}
	}
	debrief := jumper.get("/me/debrief").is(200).form("/me/debrief")
	debrief.Set("pain", "4")
	debrief.Set("pain_place", "shin")
	jumper.post("/me/debrief", debrief).is(303)
	board.until("board", "On hold: pain, since 12:00")
}

// The limits that end slow answers do not end a stream.
func TestBoardOutlivesTheServersLimits(t *testing.T) {
	h, session := running(t, 1)
	site := httptest.NewUnstartedServer(h.routes)
	const limit = 200 * time.Millisecond
	site.Config.ReadTimeout, site.Config.WriteTimeout = limit, limit
	site.Start()
	defer site.Close()
	defer h.server.Drain()
	board := watch(t, site.URL+"/sessions/"+session.String()+"/live", h.as(h.coach))
	board.until("board", "The clock has not started.")
	<-time.After(2 * limit)
	h.press(session, 0, "start").is(303)
	board.until("board", "gets ready")
}

// replica is a second server on the site's database.
func (s *site) replica() *Server {
	s.t.Helper()
	st, err := store.Open(s.t.Context(), s.db.AppURL)
	if err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(st.Close)
	clock := func() time.Time { return s.now }
	other := &Server{Store: st, Accounts: &account.Accounts{Store: st, Hasher: s.server.Accounts.Hasher, Now: clock}, Roster: &roster.Roster{Store: st, Now: clock},
		Measuring: &measuring.Measuring{Store: st, Now: clock}, Deciding: &deciding.Deciding{Store: st, Now: clock},
		Coaching: &coaching.Coaching{Store: st, Now: clock}, SignIns: NewSignIns(st, false), Log: s.server.Log, Now: clock}
	other.Leading = &leading.Leading{Store: st, Measuring: other.Measuring, Coaching: other.Coaching, Now: clock}
	s.t.Cleanup(other.Drain)
	return other
}

func TestTwoReplicasShowOneBoard(t *testing.T) {
	h, session := running(t, 2)
	other := httptest.NewServer(h.replica().Routes())
	defer other.CloseClientConnections()
	board := watch(t, other.URL+"/sessions/"+session.String()+"/live", h.as(h.assistant))
	board.until("board", "The clock has not started.")
	h.press(session, 0, "start").is(303) // on the first
	board.until("board", "gets ready")
}

func TestDrainEndsStreams(t *testing.T) {
	h, session := running(t, 1)
	site := httptest.NewServer(h.routes)
	board := watch(t, site.URL+"/sessions/"+session.String()+"/live", h.as(h.coach))
	board.until("board", "")
	h.server.Drain()
	board.ended()
	again := watch(t, site.URL+"/sessions/"+session.String()+"/live", h.as(h.coach))
	again.until("board", "") // whoever still comes sees it once
	again.ended()
	site.Close()
}

func TestManyChangesAreFewFrames(t *testing.T) {
	h, session := running(t, 4)
	site := httptest.NewServer(h.routes)
	defer site.Close()
	defer h.server.Drain()
	board := watch(t, site.URL+"/sessions/"+session.String()+"/live", h.as(h.coach))
	board.until("board", "")
	const changes = 60
	var phones []*browser // a sign-in each time would outlast the stream on a busy machine
	for i := range 4 {
		phones = append(phones, h.as(h.jumper(i)))
	}
	phones[0].post("/me/class/hand", form("up", "yes")).is(303)
	board.until("board", "Needs you") // so that the end is news, however much is told at once
	for i := range changes {
		phones[i%4].post("/me/class/hand", form("up", map[bool]string{true: "yes", false: "no"}[i < changes-4])).is(303)
	}
	frames := 0
	for {
		frames++
		if e := board.until("board", ""); !strings.Contains(e.data, "Needs you") {
			break
		}
	}
	if frames >= changes {
		t.Errorf("%d changes were sent as %d frames", changes, frames)
	}
}

// Nothing that is said of somebody while a room is being read goes unheard,
// whoever it is: that they are in it may be what the reading finds.
func TestNoChangeIsMissedWhileLooking(t *testing.T) {
	ana, eve, other := gym.Athlete{AthleteID: newID()}, newID(), newID()
	r := &room{gym: newID(), session: newID(), changed: make(chan struct{}, 1), watchers: map[chan glimpse]bool{}, looking: true}
	r.subjects = map[uuid.UUID]bool{r.session: true}
	l := &live{rooms: map[uuid.UUID]*room{r.session: r}}
	heard := func(gymID, subject uuid.UUID) bool {
		l.hear(store.Changed{Gym: gymID, Subject: subject})
		select {
		case <-r.changed:
			return true
		default:
			return false
		}
	}
	if !heard(r.gym, ana.AthleteID) {
		t.Error("before the first look, a change of an athlete is missed")
	}
	l.show(r, glimpse{scene: leading.Scene{Athletes: []gym.Athlete{ana}}})
	if !heard(r.gym, ana.AthleteID) || !heard(r.gym, r.session) {
		t.Error("a change of the room is missed")
	}
	if heard(r.gym, eve) || heard(other, ana.AthleteID) {
		t.Error("a change of others wakes the room")
	}
	l.look(r)
	if !heard(r.gym, eve) || heard(other, eve) {
		t.Error("while it is read, a change of somebody who may be in it is missed, or of another gym heard")
	}
	if l.hear(store.Changed{}); len(r.changed) != 1 {
		t.Error("the listener was away, and the room does not look again")
	}
}

func TestWhoPressesSecondIsTold(t *testing.T) {
	h, session := running(t, 2)
	h.press(session, 0, "pause").is(409).says("has not been started")
	h.press(session, 0, "start").is(303)
	h.press(session, 0, "start").is(409).says("The sets are under way.")
	h.press(session, 1, "pause").is(303)
	h.press(session, 1, "pause").is(303) // the same press twice, or both coaches
	h.press(session, 1, "move_on").is(409).says("Somebody else pressed the clock before you.")
	h.press(session, 2, "go_on").is(303)
	h.press(session, 3, "move_on").is(303)
	h.press(session, 4, "end").is(303)
	h.press(session, 5, "dance").is(422)
	h.as(h.coach).get("/sessions/"+session.String()+"/run").is(200).says("All sets are through.", "Start the clock")
}

func TestAthleteSeesTheOwnTurn(t *testing.T) {
	h, session := running(t, 2)
	jumper := h.as(h.jumper(0))
	jumper.get("/me/class").is(200).says("Your coach has not started the clock yet.")
	h.press(session, 0, "start").is(303)
	jumper.get("/me/class").is(200).says("Rest. Then set 1 of", "I need the coach")
	h.now = h.now.Add(6 * time.Second)
	jumper.get("/me/class").says("Jump: set 1 of")
	jumper.get("/me/class/live").is(200).says("Jump: set 1 of")
	elsewhere := newHall(t, "Eve")
	elsewhere.as(elsewhere.jumper(0)).get("/me/class").is(200).says("No class of yours is under way.")
	elsewhere.as(elsewhere.jumper(0)).post("/me/class/hand", form("up", "yes")).is(409)
}

func TestHallScreenShowsNothingPrivate(t *testing.T) {
	h, session := running(t, 2)
	coach := h.as(h.coach)
	screen := func(names string) string {
		a := coach.post("/sessions/"+session.String()+"/screen", form("names", names)).is(200).says("It is shown this once.")
		_, rest, _ := strings.Cut(a.Text, "http://gym.example/screen/")
		secret, _, _ := strings.Cut(rest, `"`)
		return "/screen/" + secret
	}
	letters, names := screen("letters"), screen("names")
	h.press(session, 0, "start").is(303)
	nobody := h.open()
	a := nobody.get(letters).is(200).says("Thursday Open", "Group A gets ready")
	for _, private := range []string{"Athlete", h.athletes[0].AthleteID.String(), h.class.String(), session.String(), "Cleo"} {
		if strings.Contains(a.Text, private) {
			t.Errorf("the screen holds %q", private)
		}
	}
	if a := nobody.get(names).is(200).says("Athlete"); strings.Contains(a.Text, "Athlete 0") {
		t.Error("the screen shows more than first names")
	}
	nobody.get("/screen/AAAAAAAAAAAAAAAAAAAAAAAAAA").is(404).says("This link is not in use any more.")

	site := httptest.NewServer(h.routes)
	defer site.Close()
	defer h.server.Drain()
	live := watch(t, site.URL+letters+"/live", nil)
	live.until("board", "Group A gets ready")
	var ends []string
	for part := range strings.SplitSeq(coach.get("/sessions/"+session.String()+"/screen").is(200).says("With letters", "With first names").Text, `action="/links/`) {
		if id, _, ok := strings.Cut(part, `/end"`); ok && len(id) == 36 {
			ends = append(ends, id)
		}
	}
	for _, id := range ends {
		coach.post("/links/"+id+"/end", form("back", "/today")).is(303)
	}
	live.ended()
	nobody.get(letters).is(404)
	h.now = h.now.Add(9 * time.Hour)
	nobody.get(screen("names")).is(200)
	h.now = h.now.Add(9 * time.Hour)
	nobody.get(names).is(404) // closes by itself, too
}

func TestServersTimeForEveryDevice(t *testing.T) {
	s := newSite(t)
	if got, want := s.open().get("/time").is(200).Text, fmt.Sprint(noon.UnixMilli()); got != want {
		t.Errorf("the time is %s, want %s", got, want)
	}
}

func TestLateComerGetsATurn(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi")
	for i := range 2 {
		h.counted(i, "base", 110, 60, 7)
	}
	session := h.checkIn(1, 2)
	coach := h.as(h.coach)
	page := "/sessions/" + session.String()
	coach.post(page+"/plans", form("do", "make")).is(303)
	h.press(session, 0, "start").is(303)
	here := func(n int) *answer {
		return coach.follow(coach.post(page+"/here", form("athlete", h.athletes[n].AthleteID.String(), "here", "yes", "back", page+"/run")))
	}
	here(1).is(200).says("among the turns", "Ben A 0 of")
	here(2).is(200).says("Here now, without a plan. First: 60 s base test", "Chidi No plan: needs a test")
}

// frames are what thirty phones and the coach's board got, and how long after
// the press.
func measureBoard(t *testing.T, h *hall, session uuid.UUID, rounds int) []time.Duration {
	site := httptest.NewServer(h.routes)
	defer site.Close()
	defer h.server.Drain()
	watchers := []*watcher{watch(t, site.URL+"/sessions/"+session.String()+"/live", h.as(h.coach))}
	for i := range h.athletes {
		watchers = append(watchers, watch(t, site.URL+"/me/class/live", h.as(h.jumper(i))))
	}
	for _, w := range watchers {
		w.until("board", "")
	}
	h.press(session, 0, "start").is(303)
	for i, w := range watchers {
		if i == 0 {
			w.until("board", "gets ready")
		} else {
			w.until("board", "Then set 1")
		}
	}
	var mu sync.Mutex
	var took []time.Duration
	coach := h.as(h.coach) // signing in is no part of a press
	for round := range rounds {
		<-time.After(2 * frameEvery) // presses of people are not closer together
		do, want := "pause", "Paused"
		if round%2 == 1 {
			do, want = "go_on", "Rest. Then"
		}
		press := form("seen", fmt.Sprint(1+round), "do", do)
		pressed := time.Now()
		coach.post("/sessions/"+session.String()+"/run", press).is(303)
		var all sync.WaitGroup
		for i, w := range watchers {
			all.Go(func() {
				text := want
				if i == 0 && do == "go_on" {
					text = "gets ready"
				}
				w.until("board", text)
				mu.Lock()
				took = append(took, time.Since(pressed))
				mu.Unlock()
			})
		}
		all.Wait()
	}
	slices.Sort(took)
	return took
}

func TestThirtyPhonesSeeEveryPress(t *testing.T) {
	h, session := running(t, 30)
	const rounds = 6
	took := measureBoard(t, h, session, rounds)
	if len(took) != rounds*31 {
		t.Fatalf("%d frames came, want %d", len(took), rounds*31)
	}
	t.Logf("from a press to %d screens: median %v, 95 %% within %v", 31, took[len(took)/2].Round(time.Millisecond), took[len(took)*95/100].Round(time.Millisecond))
}
