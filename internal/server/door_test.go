package server

import (
	"net/http"
	"net/netip"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
)

// A browser in which somebody came in before is not locked by strangers who
// guess.
func TestStrangersLockNobodyOut(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Coach)
	home := h.open()
	home.signIn("jo@gym.example", password).leadsTo("/")
	home.post("/sign-out", nil).is(303)
	for range 8 {
		h.open().signIn("jo@gym.example", "wrong wrong wrong")
	}
	h.open().signIn("jo@gym.example", password).is(429)
	home.signIn("jo@gym.example", password).leadsTo("/")
}

// A class of 24 behind one address mistypes twice each, and comes in.
func TestAClassBehindOneAddressComesIn(t *testing.T) {
	names := make([]string, 24)
	for i := range names {
		names[i] = "Athlete " + string(rune('A'+i))
	}
	h := newHall(t, names...)
	for _, athlete := range h.athletes {
		b := h.open()
		f := form("code", h.code, "athlete", athlete.AthleteID.String(), "pin", "0000")
		b.post("/join", f).is(422)
		b.post("/join", f).is(422)
		f.Set("pin", pin)
		b.post("/join", f).leadsTo("/me")
	}
}

// Whoever tries many accounts from one address is slowed.
func TestManyAccountsFromOneAddress(t *testing.T) {
	h := newHall(t)
	codes := map[int]int{}
	for n := range 130 {
		codes[h.open().signIn("nobody"+string(rune('a'+n%26))+string(rune('a'+n/26))+"@gym.example", "wrong wrong wrong").Code]++
	}
	if codes[422] != 100 || codes[429] != 30 {
		t.Errorf("answers by status: %v; want 100 looked at and 30 refused", codes)
	}
	h.now = h.now.Add(6 * time.Minute)
	h.open().signIn("nobody@gym.example", "wrong wrong wrong").is(422)
}

// What a header says of the address counts only behind the proxy.
func TestAddressIsThePeers(t *testing.T) {
	h := newHall(t)
	spoof := func(n int) *browser {
		b := h.open()
		b.headers["X-Forwarded-For"] = "203.0.113." + string(rune('0'+n%10)) + ", 198.51.100.7"
		return b
	}
	for n := range 101 {
		spoof(n).signIn("nobody"+string(rune('a'+n%26))+string(rune('a'+n/26))+"@gym.example", "wrong wrong wrong")
	}
	spoof(7).signIn("another@gym.example", "wrong wrong wrong").is(429)
	h.server.Proxies = []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")} // this peer is none
	spoof(7).signIn("another@gym.example", "wrong wrong wrong").is(429)
	h.server.Proxies = []netip.Prefix{netip.MustParsePrefix("192.0.2.0/24")} // its last hop is another address
	spoof(7).signIn("another@gym.example", "wrong wrong wrong").is(422)
}

func TestIdleStaffAreSignedOut(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Coach)
	b := h.open()
	b.signIn("jo@gym.example", password).leadsTo("/")
	h.ownerDoes(`UPDATE sign_in SET seen_at = now() - interval '59 minutes'`)
	b.get("/today").is(200)
	h.ownerDoes(`UPDATE sign_in SET seen_at = now() - interval '61 minutes'`)
	b.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	phone := h.open()
	h.addAthletes("Ana")
	phone.post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", pin)).leadsTo("/me")
	h.ownerDoes(`UPDATE sign_in SET seen_at = now() - interval '20 days'`)
	phone.get("/me").is(200) // an own phone rests between classes
}

func TestCookies(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Coach)
	h.server.Secure = true
	h.server.SignIns = NewSignIns(h.server.Store, true)
	h.routes = h.server.Routes()
	a := h.open().signIn("jo@gym.example", password).leadsTo("/")
	cookies := (&http.Response{Header: a.Header}).Cookies()
	if len(cookies) != 2 {
		t.Fatalf("%d cookies, want the sign-in's and the browser's", len(cookies))
	}
	for _, c := range cookies {
		if !strings.HasPrefix(c.Name, "__Host-") || !c.Secure || !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" || c.Domain != "" {
			t.Errorf("cookie %s: %+v", c.Name, c)
		}
		if strings.Contains(a.Text, c.Value) {
			t.Errorf("the page holds the value of %s", c.Name)
		}
	}
}
