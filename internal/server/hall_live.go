package server

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/store"
)

// How streams keep time.
const (
	heartbeat  = 15 * time.Second       // at the latest; looks again too, in case a change went unheard
	frameEvery = 250 * time.Millisecond // at most so often, however much changes
	streamFor  = 2 * time.Minute        // then the browser asks anew, and rights are looked at anew
	writeTime  = 10 * time.Second       // for one frame; a phone that takes longer is gone
)

// live tells the pages of class hours what changed, on this and every other
// replica. The zero live is ready.
type live struct {
	mu     sync.Mutex
	rooms  map[uuid.UUID]*room // by session
	stop   context.CancelFunc  // ends the listening; nil before the first page
	closed bool
}

// A room is one session that somebody looks at. Its scene is read once for all
// who look.
type room struct {
	gym, session uuid.UUID
	changed      chan struct{} // room for one
	subjects     map[uuid.UUID]bool
	looking      bool // who is in it is being read: until that is known, every change of the gym is about it
	watchers     map[chan glimpse]bool
	end          context.CancelFunc
}

// A glimpse is a scene as it was read; News tells that something changed, other
// than time.
type glimpse struct {
	scene leading.Scene
	news  bool
}

// watch returns a channel of glimpses of a session, the newest only, and what
// ends it. It is nil when the server is about to stop.
func (s *Server) watch(gymID, session uuid.UUID) (<-chan glimpse, func()) {
	l := &s.live
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed {
		return nil, func() {}
	}
	if l.stop == nil {
		ctx, stop := context.WithCancel(context.Background())
		l.stop = stop
		go s.Store.Listen(ctx, l.hear, func(err error) { s.Log.Warn("listening for changes", "error", err) })
	}
	if l.rooms == nil {
		l.rooms = map[uuid.UUID]*room{}
	}
	r := l.rooms[session]
	if r == nil {
		ctx, end := context.WithCancel(context.Background())
		r = &room{gym: gymID, session: session, changed: make(chan struct{}, 1), watchers: map[chan glimpse]bool{}, end: end,
			subjects: map[uuid.UUID]bool{session: true}, looking: true}
		l.rooms[session] = r
		go s.attend(ctx, r)
	}
	seen := make(chan glimpse, 1)
	r.watchers[seen] = true
	return seen, func() { l.leave(r, seen) }
}

func (l *live) leave(r *room, seen chan glimpse) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(r.watchers, seen)
	if len(r.watchers) == 0 && l.rooms[r.session] == r {
		delete(l.rooms, r.session)
		r.end()
	}
}

// hear wakes the rooms that a change is about; the zero Changed is about all.
func (l *live) hear(c store.Changed) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, r := range l.rooms {
		if c != (store.Changed{}) && (c.Gym != r.gym || !r.looking && !r.subjects[c.Subject]) {
			continue
		}
		select {
		case r.changed <- struct{}{}:
		default: // it is about to look anyway
		}
	}
}

// attend looks at a session whenever something changed, a turn begins or ends,
// or it is time to, and shows it to whoever watches.
func (s *Server) attend(ctx context.Context, r *room) {
	wait, news := heartbeat, false
	for {
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-r.changed:
			timer.Stop()
			news = true
		case <-timer.C:
		}
		s.live.look(r)
		looking, cancel := context.WithTimeout(store.ByReplica(ctx), writeTime)
		scene, err := s.Leading.Scene(looking, gym.Who{GymID: r.gym}, r.session)
		cancel()
		if err != nil {
			if ctx.Err() == nil {
				s.Log.Warn("looking at a class hour", "error", err)
			}
			wait = time.Second
			continue
		}
		s.live.show(r, glimpse{scene, news})
		news = false
		wait = min(heartbeat, untilTurn(scene, s.Now()))
		select {
		case <-ctx.Done():
			return
		case <-time.After(frameEvery):
		}
	}
}

// untilTurn is how long it takes until a turn of the course begins or ends.
func untilTurn(scene leading.Scene, now time.Time) time.Duration {
	if !scene.Clock.Running {
		return heartbeat
	}
	m := scene.Clock.Course.At(scene.Clock.Elapsed(now))
	if m.Over {
		return heartbeat
	}
	const past = 20 * time.Millisecond // not a moment early
	return time.Duration(m.Left*float64(time.Second)) + past
}

// look says that a room is about to be read: somebody who comes in meanwhile is
// not among its subjects yet.
func (l *live) look(r *room) {
	l.mu.Lock()
	defer l.mu.Unlock()
	r.looking = true
}

// show hands a glimpse to whoever watches, in the place of one not looked at yet.
func (l *live) show(r *room, g glimpse) {
	l.mu.Lock()
	defer l.mu.Unlock()
	r.looking = false
	for _, athlete := range g.scene.Athletes {
		r.subjects[athlete.AthleteID] = true
	}
	for seen := range r.watchers {
		kept := g
		select {
		case old := <-seen:
			kept.news = kept.news || old.news
		default:
		}
		seen <- kept
	}
}

// close ends all streams; browsers come again, to another replica or later.
func (l *live) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	if l.stop != nil {
		l.stop()
	}
	for session, r := range l.rooms {
		for seen := range r.watchers {
			close(seen)
		}
		r.watchers = map[chan glimpse]bool{}
		r.end()
		delete(l.rooms, session)
	}
}

// A frame is one event of a stream.
type frame struct {
	event string
	body  templ.Component // nil: the event alone
}

// stream shows a session as server-sent events until the browser leaves: the
// whole of it on every connect, then whenever it changes, and a heartbeat. look
// turns a glimpse into a frame; an error of it ends the stream. Whoever does not
// ask for a stream gets its first frame.
func (s *Server) stream(w http.ResponseWriter, r *http.Request, gymID, session uuid.UUID, look func(glimpse) (frame, error)) error {
	seen, leave := s.watch(gymID, session)
	defer leave()
	scene, err := s.Leading.Scene(store.ByReplica(r.Context()), gym.Who{GymID: gymID}, session)
	if err != nil {
		return err
	}
	first, err := look(glimpse{scene, true})
	if err != nil {
		return err
	}
	out := newStream(w, r)
	if !out.write("retry: 1000\n\n") || !out.send(s.Now(), first) || seen == nil || !strings.Contains(r.Header.Get("Accept"), "text/event-stream") {
		return nil
	}
	defer s.Metrics.Board(routeOf(r.Context()))()
	end := time.NewTimer(streamFor)
	defer end.Stop()
	for {
		select {
		case <-r.Context().Done():
			return nil
		case <-end.C:
			return nil
		case g, open := <-seen:
			if !open {
				return nil
			}
			next, err := look(g)
			if err != nil || !out.send(s.Now(), next) {
				return nil // the browser asks anew and is told why
			}
		}
	}
}

// An eventStream writes server-sent events. It lets go of the server's limits
// on how long an answer may take, and holds each frame to its own.
type eventStream struct {
	w       http.ResponseWriter
	control *http.ResponseController
	ctx     context.Context
	last    string // id of the last frame
}

func newStream(w http.ResponseWriter, r *http.Request) *eventStream {
	out := &eventStream{w: w, control: http.NewResponseController(w), ctx: r.Context(), last: r.Header.Get("Last-Event-ID")}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no")
	_ = out.control.SetReadDeadline(time.Time{}) // a recorder in a test has no deadlines
	w.WriteHeader(http.StatusOK)
	return out
}

// send writes a frame unless it says what the last one said, and a heartbeat. A
// browser that comes again names the last frame that it has, by its content.
func (out *eventStream) send(now time.Time, f frame) bool {
	var body bytes.Buffer
	if f.body != nil {
		if err := write(out.ctx, &body, f.body); err != nil {
			return false
		}
	}
	var text strings.Builder
	if id := tagOf(body.Bytes()); f.event != "" && (f.body == nil || id != out.last) {
		out.last = id
		fmt.Fprintf(&text, "id: %s\nevent: %s\n", id, f.event)
		for line := range strings.Lines(body.String() + "\n") {
			text.WriteString("data: " + strings.TrimRight(line, "\r\n") + "\n")
		}
		text.WriteString("\n")
	}
	text.WriteString("event: beat\ndata: " + strconv.FormatInt(now.UnixMilli(), 10) + "\n\n")
	return out.write(text.String())
}

func (out *eventStream) write(text string) bool {
	_ = out.control.SetWriteDeadline(time.Now().Add(writeTime))
	if _, err := out.w.Write([]byte(text)); err != nil {
		return false
	}
	return out.control.Flush() == nil
}

// getTime tells the server's time in milliseconds, so that every device counts
// the same second. It keeps no one's.
func (s *Server) getTime(w http.ResponseWriter, _ *http.Request) error {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, _ = w.Write([]byte(strconv.FormatInt(s.Now().UnixMilli(), 10))) // the browser may have left
	return nil
}
