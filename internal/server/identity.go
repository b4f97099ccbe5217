package server

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// What a sign-in keeps.
const (
	keyGym      = "gym"
	keyPerson   = "person"
	keyAthlete  = "athlete"
	keyRole     = "role"
	keyName     = "name"
	keyGymName  = "gym_name"
	keyInvented = "invented"
	keyDevice   = "device"  // the phone that was let in
	keyClass    = "class"   // where an athlete came in
	keyAccount  = "account" // whose account it is: staff's, or a guardian's who has one
	keyBrowser  = "browser" // the kind of browser
	keyFactor   = "factor"  // due: a second factor must be set up before anything else
	keyHalf     = "half"    // what is left to do of a sign-in
	keyNext     = "next"    // where it leads in the end
	keyProved   = "proved"  // when the password was typed last

	factorDue = "due"
	yes       = "yes"
)

// How long a sign-in lasts: a working day for staff, and an hour without use,
// NIST SP 800-63B's bounds for two factors; a month for an athlete's own phone,
// its bound for one.
const (
	staffSignIn   = 12 * time.Hour
	staffIdle     = time.Hour
	athleteSignIn = 30 * 24 * time.Hour
	sharedSignIn  = time.Hour // a phone that is passed around
)

// NewSignIns returns the session manager over the store. Sign-ins end at a
// fixed time; none is written on a mere page view.
func NewSignIns(st *store.Store, secure bool) *scs.SessionManager {
	m := scs.New()
	m.Lifetime = staffSignIn
	m.Codec = signInCodec{}
	m.Store = st.SignIns(ownersOf)
	m.Cookie.Name = "ropewalk"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Path = "/"
	if secure {
		m.Cookie.Name = "__Host-ropewalk"
		m.Cookie.Secure = true
	}
	return m
}

// signInCodec keeps sign-ins as JSON, so that the store can tell whose they are.
type signInCodec struct{}

type signInData struct {
	Deadline time.Time
	Values   map[string]string
}

func (signInCodec) Encode(deadline time.Time, values map[string]any) ([]byte, error) {
	data := signInData{Deadline: deadline, Values: make(map[string]string, len(values))}
	for key, value := range values {
		text, ok := value.(string)
		if !ok {
			return nil, fmt.Errorf("sign-in value %q is no text", key)
		}
		data.Values[key] = text
	}
	return json.Marshal(data)
}

func (signInCodec) Decode(b []byte) (time.Time, map[string]any, error) {
	var data signInData
	if err := json.Unmarshal(b, &data); err != nil {
		return time.Time{}, nil, fmt.Errorf("reading a sign-in: %w", err)
	}
	values := make(map[string]any, len(data.Values))
	for key, value := range data.Values {
		values[key] = value
	}
	return data.Deadline, values, nil
}

func ownersOf(b []byte) store.Owner {
	var data signInData
	if json.Unmarshal(b, &data) != nil {
		return store.Owner{}
	}
	owner := store.Owner{Gym: parsed(data.Values[keyGym]), Person: parsed(data.Values[keyPerson]), Device: parsed(data.Values[keyDevice])}
	owner.Role, owner.Label = gym.Role(data.Values[keyRole]), data.Values[keyBrowser]
	switch {
	case owner.Role == gym.Jumper: // a guardian's names the child
		owner.Athlete = parsed(data.Values[keyAthlete])
	case owner.Role.Staff():
		owner.Idle = staffIdle
	}
	if account := parsed(data.Values[keyAccount]); account != uuid.Nil {
		owner.Person = account
	}
	return owner
}

// beginAnew empties a sign-in and gives it a fresh token. Only when the password
// was typed last stays.
func (s *Server) beginAnew(ctx context.Context) error {
	proved := s.SignIns.GetString(ctx, keyProved)
	if err := s.SignIns.Clear(ctx); err != nil {
		return fmt.Errorf("clearing a sign-in: %w", err)
	}
	if err := s.SignIns.RenewToken(ctx); err != nil {
		return fmt.Errorf("renewing a sign-in: %w", err)
	}
	if proved != "" {
		s.SignIns.Put(ctx, keyProved, proved)
	}
	return nil
}

// enter signs who in under a fresh token.
func (s *Server) enter(ctx context.Context, w gym.Who) error {
	var g gym.Gym
	if err := s.Store.Read(ctx, w.GymID, store.TheGym(&g)); err != nil {
		return err
	}
	if err := s.beginAnew(ctx); err != nil {
		return err
	}
	s.SignIns.Put(ctx, keyGym, w.GymID.String())
	s.SignIns.Put(ctx, keyRole, string(w.Role))
	s.SignIns.Put(ctx, keyName, w.Name)
	s.SignIns.Put(ctx, keyGymName, g.Name)
	if g.Invented {
		s.SignIns.Put(ctx, keyInvented, yes)
	}
	lasts := staffSignIn
	if !w.Role.Staff() {
		lasts = athleteSignIn
		s.SignIns.Put(ctx, keyAthlete, w.AthleteID.String())
	}
	if w.PersonID != uuid.Nil {
		s.SignIns.Put(ctx, keyPerson, w.PersonID.String())
	}
	if w.DeviceID != uuid.Nil {
		s.SignIns.Put(ctx, keyDevice, w.DeviceID.String())
	}
	s.SignIns.SetDeadline(ctx, time.Now().Add(lasts)) // the real clock: cookies know no demo day
	return nil
}

// identify puts who is signed in into the request's context.
func (s *Server) identify(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx := r.Context()
		if role := s.SignIns.GetString(ctx, keyRole); role != "" {
			ctx = context.WithValue(ctx, identity{}, gym.Who{
				GymID:     parsed(s.SignIns.GetString(ctx, keyGym)),
				PersonID:  parsed(s.SignIns.GetString(ctx, keyPerson)),
				AthleteID: parsed(s.SignIns.GetString(ctx, keyAthlete)),
				DeviceID:  parsed(s.SignIns.GetString(ctx, keyDevice)),
				Role:      gym.Role(role),
				Name:      s.SignIns.GetString(ctx, keyName),
			})
		}
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// realNow is the world's clock, by which sign-ins are kept; the demo's day is
// another.
func (s *Server) realNow() time.Time { return time.Now() }
