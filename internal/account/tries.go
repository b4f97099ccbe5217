package account

import (
	"context"
	"encoding/hex"
	"fmt"
	"net/netip"
	"time"

	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// How wrong tries are borne. They are counted per account: a few are free, then
// each doubles the wait up to an hour, and after mostTries in a row only a way
// back opens the account (NIST SP 800-63B-4, section 3.2.2, asks for at most
// 100). They are counted per address and way in too, generously, since a class
// of 24 stands behind one address: that bound slows whoever tries many accounts,
// and whoever tries one way in shuts no other.
const (
	freeTries     = 5
	longestWait   = time.Hour
	mostTries     = 100
	addressTries  = 100
	addressWindow = 5 * time.Minute
)

// A Door is where somebody tries to come in.
type Door struct {
	Address string // of whoever asks; "" is counted nowhere
	Browser string // the token of a browser in which somebody came in before, or ""
	Phone   string // the id of the phone that an athlete's browser is, or ""
}

// The ways in, whose wrong tries from one address are counted apart.
const (
	byPassword   = "password"
	bySecond     = "second factor"
	byClassCode  = "class code"
	byPIN        = "PIN"
	byInvitation = "invitation"
	byWayBack    = "way back"
	byFirstCode  = "first code"
)

// waitAfter returns how long to refuse further tries after so many wrong ones.
func waitAfter(tries int) time.Duration {
	if tries < freeTries {
		return 0
	}
	doublings := tries - freeTries
	if doublings > 12 {
		return longestWait
	}
	return min(time.Second<<doublings, longestWait)
}

// try counts one try at subject, before the secret is looked at, so that many
// at once cannot slip through. It refuses with TooMany while subject is blocked.
// A right try is forgotten afterwards.
func (a *Accounts) try(ctx context.Context, subject string) error {
	now := a.Now()
	return a.Store.Try(ctx, subject, now, func(t store.Tries) (store.Tries, error) {
		if t.Count >= mostTries {
			return t, problem.New(problem.TooMany, "That was wrong too often. Ask the owner of your gym, or your coach, for a new way in.")
		}
		if left := t.BlockedTo.Sub(now); left > 0 {
			return t, problem.New(problem.TooMany, "That was wrong too often. Wait %s, then try again.", inWords(left))
		}
		t.Count++
		t.BlockedTo = now.Add(waitAfter(t.Count))
		return t, nil
	})
}

// mayTryFrom refuses with TooMany while too many wrong tries at this way in came
// from the door's address.
func (a *Accounts) mayTryFrom(ctx context.Context, door Door, way string) error {
	subject := a.addressSubject(door, way)
	if subject == "" {
		return nil
	}
	count, err := a.Store.TryCount(ctx, subject)
	if err != nil {
		return err
	}
	if count >= addressTries {
		return problem.New(problem.TooMany, "Too many wrong tries came from this network. Wait %s, then try again.", inWords(addressWindow))
	}
	return nil
}

// wrong counts a wrong try at the door and returns answer, or what went wrong
// counting it.
func (a *Accounts) wrong(ctx context.Context, door Door, way string, answer error) error {
	subject := a.addressSubject(door, way)
	if subject == "" {
		return answer
	}
	now := a.Now()
	err := a.Store.Try(ctx, subject, now, func(t store.Tries) (store.Tries, error) {
		return store.Tries{Count: t.Count + 1, BlockedTo: now}, nil
	})
	if err != nil {
		return err
	}
	return answer
}

// addressSubject names a way in from the door's network in the present window of
// time: the address itself, or its first 64 bits where one household has as many.
func (a *Accounts) addressSubject(door Door, way string) string {
	address, err := netip.ParseAddr(door.Address)
	if err != nil {
		return ""
	}
	address = address.Unmap()
	bits := address.BitLen()
	if address.Is6() {
		bits = 64
	}
	network, err := address.Prefix(bits)
	if err != nil {
		return ""
	}
	window := a.Now().Unix() / int64(addressWindow.Seconds())
	return subjectOf("address", fmt.Sprint(way, network.Masked(), window))
}

// subjectAt names what is tried at the door: where the browser knows the
// person, which home names, it is counted apart, so that strangers lock nobody
// out.
func subjectAt(kind, what, home string) string {
	if home == "" {
		return subjectOf(kind, what)
	}
	return subjectOf(kind+" at home", what+"\x00"+hex.EncodeToString(hashSecret(home)))
}

// inWords returns a wait as people say it.
func inWords(d time.Duration) string {
	seconds := int(d.Round(time.Second).Seconds())
	switch {
	case seconds <= 1:
		return "a second"
	case seconds < 90:
		return fmt.Sprintf("%d seconds", seconds)
	default:
		return fmt.Sprintf("%d minutes", (seconds+59)/60)
	}
}
