package server

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"sync"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/part"
	"ropewalk.example/web/tongue"
)

// A page that follows from one reading alone, from who looks and from the day,
// is kept: while its rows stay as they are it is sent again without being made
// again. The rows are read each time, so a page is never older than they are.
// A handler is for this if it writes nothing, makes no fresh id, and tells no
// time finer than a day; TestKeptPagesAreThoseMadeAnew looks at each.
func (s *Server) kept(h handler) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		ctx := r.Context()
		if sayingOf(ctx).sentence != "" {
			return h(w, r) // what it says is said once
		}
		key := s.keptKeyOf(r)
		var page keeping
		glance := store.Glance{Known: func(print store.Print) (known bool) {
			key.rows = print
			page, known = s.shelf.find(key)
			return known
		}}
		ctx = store.Glancing(context.WithValue(ctx, keepingIn{}, &page), &glance)
		err := h(w, r.WithContext(ctx))
		switch {
		case errors.Is(err, store.ErrKnown):
			send(w, http.StatusOK, page.body, page.packed)
			return nil
		case err == nil && page.body != nil && glance.Alone():
			s.shelf.put(key, page)
		}
		return err
	}
}

// A keptKey is all that a page follows from.
type keptKey struct {
	rows    store.Print
	who     gym.Who
	gymName string
	demo    string
	host    string
	path    string // with its query
	theme   part.Theme
	tongue  *tongue.Language
	packed  bool
	quarter int64 // days begin with a quarter of an hour, in every time zone
}

func (s *Server) keptKeyOf(r *http.Request) keptKey {
	ctx := r.Context()
	return keptKey{who: who(ctx), gymName: s.SignIns.GetString(ctx, keyGymName), demo: s.SignIns.GetString(ctx, keyInvented),
		host: r.Host, path: r.URL.RequestURI(), theme: themeOf(r), tongue: languageOf(ctx), packed: takesPacked(r),
		quarter: s.Now().Unix() / int64((15 * time.Minute).Seconds())}
}

func takesPacked(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept-Encoding"), "gzip")
}

// keeping is a page as it went out.
type keeping struct {
	body   []byte
	packed bool
}

// keepingIn is under which a context carries where render puts a copy.
type keepingIn struct{}

// How much is kept: a few hundred pages of a class or of an athlete.
const (
	shelfRoom   = 4 << 20   // bytes, of both halves of the shelf
	longestKept = 256 << 10 // bytes, of one page
)

// A shelf keeps pages that were asked for lately. Once one half is full the
// other, with what nobody asked for meanwhile, is emptied; with each quarter of
// an hour all of it is, so that no page outlives whom it is about for long.
type shelf struct {
	mu          sync.Mutex
	quarter     int64
	full, fresh map[keptKey]keeping
	size        int // of the fresh half
}

func (s *shelf) find(key keptKey) (keeping, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if key.quarter != s.quarter {
		s.full, s.fresh, s.size, s.quarter = nil, nil, 0, key.quarter
	}
	page, ok := s.fresh[key]
	if !ok {
		if page, ok = s.full[key]; ok {
			s.add(key, page)
		}
	}
	return page, ok
}

func (s *shelf) put(key keptKey, page keeping) {
	if len(page.body) > longestKept {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.add(key, page)
}

func (s *shelf) add(key keptKey, page keeping) {
	if s.fresh == nil || s.size+len(page.body) > shelfRoom/2 {
		s.full, s.fresh, s.size = s.fresh, map[keptKey]keeping{}, 0
	}
	if _, ok := s.fresh[key]; !ok {
		s.size += len(page.body)
	}
	s.fresh[key] = page
}
