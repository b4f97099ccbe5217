package server

import (
	"net/url"
	"strings"
	"testing"
	"time"
)

func firstOwner(code string) url.Values {
	return form("code", code, "gym", "Ash Lane", "zone", "Europe/London", "name", "Mara", "sign_in", "Mara@Gym.Example", "password", password)
}

func TestSetup(t *testing.T) {
	s := newSite(t)
	code, err := s.server.Accounts.NewFirstCode(t.Context())
	if err != nil || code == "" {
		t.Fatalf("the code of an empty install is %q, %v", code, err)
	}
	b := s.open()
	b.get("/").leadsTo("/setup")
	b.get("/setup").is(200).says("Make your gym")

	empty := b.post("/setup", form("code", "", "gym", " ", "zone", "Moon/Crater", "name", "", "sign_in", "mara", "password", "short")).is(422)
	empty.says("Type the one-time code", "Type the name of your gym.", "Choose a time zone", "Type your name.", "shaped like an e-mail address", "Use at least 12")
	if kept := empty.form("/setup"); kept.Get("zone") != "Moon/Crater" || kept.Get("sign_in") != "mara" || kept.Get("password") != "" {
		t.Errorf("after a problem the form holds %v", kept)
	}
	b.post("/setup", firstOwner("AAAA-BBBB-CCCC-DDDD")).is(422).says("That code does not match")

	typed := " " + strings.ToLower(code) + " "
	b.post("/setup", firstOwner(typed)).leadsTo("/account/second-factor")
	b.get("/classes/new").leadsTo("/account/second-factor")
	b.post("/account/second-factor/postpone", nil).leadsTo("/classes/new")
	b.get("/classes/new").is(200).says("Make a class")
	b.get("/setup").is(404).says("This gym is set up already.")
	s.open().post("/setup", firstOwner(code)).is(404)
	s.open().post("/sign-in", form("name", "mara@gym.example", "password", password)).leadsTo("/")
	if again, err := s.server.Accounts.NewFirstCode(t.Context()); err != nil || again != "" {
		t.Errorf("a gym that is set up makes the code %q, %v", again, err)
	}
}

func TestSetupCodeGrowsOld(t *testing.T) {
	s := newSite(t)
	first, err := s.server.Accounts.NewFirstCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s.now = s.now.Add(25 * time.Hour)
	s.open().post("/setup", firstOwner(first)).is(422).says("over a day old")
	second, err := s.server.Accounts.NewFirstCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s.now = s.now.Add(time.Hour)
	s.open().post("/setup", firstOwner(first)).is(422)
	s.open().post("/setup", firstOwner(second)).leadsTo("/account/second-factor")
}

// Two who send the code at once make one gym.
func TestSetupCodeOpensOnce(t *testing.T) {
	s := newSite(t)
	code, err := s.server.Accounts.NewFirstCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	codes := make(chan int, 2)
	for n := range 2 {
		b, f := s.open(), firstOwner(code)
		f.Set("sign_in", string(rune('a'+n))+"@gym.example")
		go func() { codes <- b.post("/setup", f).Code }()
	}
	if a, b := <-codes, <-codes; a+b != 303+422 && a+b != 303+404 {
		t.Errorf("two at once got %d and %d, want one gym", a, b)
	}
}
