package server

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// form returns a form of names and values in turn.
func form(pairs ...string) url.Values {
	values := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		values.Add(pairs[i], pairs[i+1])
	}
	return values
}

const password = "copper lantern tuesday fig"

// member adds a person who signs in with name and the password above.
func (h *hall) member(name string, role gym.Role) {
	h.t.Helper()
	hash, err := h.server.Accounts.Hasher.Hash(h.t.Context(), password)
	if err != nil {
		h.t.Fatal(err)
	}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		person := gym.Person{PersonID: newID(), SignInName: name, Name: "Jo Member", PasswordHash: hash, CreatedAt: h.now}
		if err := tx.AddPerson(ctx, person); err != nil {
			return err
		}
		return tx.AddMembership(ctx, gym.Membership{PersonID: person.PersonID, Role: role, Since: h.now})
	})
}

func TestSignIn(t *testing.T) {
	h := newHall(t)
	h.member("jo@gym.example", gym.Coach)
	b := h.open()
	b.get("/").leadsTo("/sign-in")
	b.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	b.get("/sign-in?next=/classes").is(200).says("Sign in")

	b.post("/sign-in", form("name", "  JO@Gym.Example ", "password", password, "next", "/classes")).leadsTo("/classes")
	b.get("/classes").is(200).says("Thursday Open")
	b.get("/").leadsTo("/today")
	first := b.cookies["ropewalk"]
	b.post("/sign-in", form("name", "jo@gym.example", "password", password)).leadsTo("/")
	if b.cookies["ropewalk"] == first {
		t.Error("a sign-in keeps the token that was there before")
	}

	old := b.cookies["ropewalk"]
	out := b.post("/sign-out", nil).leadsTo("/sign-in")
	if out.Header.Get("Clear-Site-Data") == "" {
		t.Error("signing out leaves what the browser kept")
	}
	b.cookies["ropewalk"] = old // whoever copied the cookie
	b.get("/today").leadsTo("/sign-in?next=%2Ftoday")
}

func TestSignInLeadsOnlyToOwnPages(t *testing.T) {
	h := newHall(t)
	h.member("jo@gym.example", gym.Coach)
	for _, next := range []string{"https://else.example/", "//else.example", "/\\else.example", "today", ""} {
		h.open().post("/sign-in", form("name", "jo@gym.example", "password", password, "next", next)).leadsTo("/")
	}
}

// A stranger learns nothing about who has an account.
func TestUnknownAndWrongLookTheSame(t *testing.T) {
	h := newHall(t)
	h.member("jo@gym.example", gym.Coach)
	var pages []string
	for _, name := range []string{"jo@gym.example", "no@gym.example"} {
		a := h.open().post("/sign-in", form("name", name, "password", "not the password")).is(422)
		a.says("That name and password do not match.")
		if strings.Contains(a.Text, "not the password") {
			t.Error("the page repeats the password")
		}
		if a.form("/sign-in").Get("name") != name {
			t.Error("the typed name does not stay")
		}
		pages = append(pages, strings.ReplaceAll(a.Text, name, ""))
	}
	if pages[0] != pages[1] {
		t.Error("the page for a wrong password differs from the one for an unknown name")
	}
}

func TestWrongPasswordsAreThrottled(t *testing.T) {
	h := newHall(t)
	h.member("jo@gym.example", gym.Coach)
	for _, name := range []string{"jo@gym.example", "no@gym.example"} {
		for range 5 {
			h.open().post("/sign-in", form("name", name, "password", "wrong wrong wrong")).is(422)
		}
		h.open().post("/sign-in", form("name", name, "password", password)).is(429).says("That was wrong too often. Wait a second")
	}
	h.now = h.now.Add(2 * time.Second)
	h.open().post("/sign-in", form("name", "jo@gym.example", "password", password)).leadsTo("/")
	h.open().post("/sign-in", form("name", "jo@gym.example", "password", "wrong wrong wrong")).is(422) // the count began anew
}

// Whoever is signed in stays so while somebody guesses at the account.
func TestThrottlingLocksNobodyOut(t *testing.T) {
	h := newHall(t)
	h.member("jo@gym.example", gym.Coach)
	b := h.open()
	b.post("/sign-in", form("name", "jo@gym.example", "password", password)).leadsTo("/")
	for range 6 {
		h.open().post("/sign-in", form("name", "jo@gym.example", "password", "wrong wrong wrong"))
	}
	b.get("/today").is(200)
}

func TestAthleteSignsIn(t *testing.T) {
	h := newHall(t, "Ana", "王小明")
	b := h.open()
	b.get("/join").is(200).says("Class code")
	b.get("/join?code=nothing").is(422).says("No class has that code.")
	typed := strings.ToLower(h.code[:3]) + "-" + h.code[3:] // as people type it
	page := b.get("/join?code="+url.QueryEscape(typed)).is(200).says("Ana", "王小明")
	f := page.form("/join")
	f.Set("athlete", h.athletes[1].AthleteID.String())
	f.Set("pin", "0000")
	wrong := b.post("/join", f).is(422).says("That PIN does not match.")
	if kept := wrong.form("/join"); kept.Get("athlete") != h.athletes[1].AthleteID.String() || kept.Get("pin") != "" {
		t.Errorf("after a wrong PIN the form holds %v; the name should stay, the PIN should not", kept)
	}
	f.Set("pin", " "+pin+" ")
	b.post("/join", f).leadsTo("/me")
	b.get("/me").is(200).says("王小明", "No plan for you yet.")
	b.get("/").leadsTo("/me")
}

func TestAthleteOfAnotherClassCannotComeIn(t *testing.T) {
	h := newHall(t, "Ana")
	other := h.addHall("Other Hall", "Ben")
	for what, athlete := range map[string]string{"another gym's": other.athletes[0].AthleteID.String(), "nobody's": uuid.NewString(), "no": "", "a wrong": "x"} {
		a := h.open().post("/join", form("code", h.code, "athlete", athlete, "pin", pin))
		if a.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s id: status %d, want 422", what, a.Code)
		}
	}
}

func TestWrongPINsAreThrottled(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	f := form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", "0000")
	for range 5 {
		h.open().post("/join", f).is(422)
	}
	f.Set("pin", pin)
	h.open().post("/join", f).is(429)
	h.open().post("/join", form("code", h.code, "athlete", h.athletes[1].AthleteID.String(), "pin", pin)).leadsTo("/me") // her neighbour
	h.now = h.now.Add(2 * time.Second)
	h.open().post("/join", f).leadsTo("/me")
}

// A new PIN signs the athlete's phones out.
func TestNewPIN(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	phone := h.open()
	phone.post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", pin)).leadsTo("/me")
	coach := h.as(h.coach)
	coach.get(h.path("/cards")).is(200).says("Ana", "has one")
	a := coach.post(h.path("/cards"), form("athlete", h.athletes[0].AthleteID.String())).is(200).says("Write these PINs down")
	phone.get("/me").leadsTo("/sign-in?next=%2Fme")
	h.open().post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", pin)).is(422)
	coach.get(h.path("/cards")).lacks("Write these PINs down")
	if other := h.addHall("Other Hall", "Eve"); a.Code == 200 {
		coach.post(h.path("/cards"), form("athlete", other.athletes[0].AthleteID.String())).is(404)
	}
}

// Forms of other sites reach no handler.
func TestCrossSitePostsAreRefused(t *testing.T) {
	h := newHall(t, "Ana")
	for name, headers := range map[string]map[string]string{
		"cross-site":         {"Sec-Fetch-Site": "cross-site"},
		"same-site":          {"Sec-Fetch-Site": "same-site"},
		"an old browser's":   {"Origin": "https://else.example"},
		"an opaque origin's": {"Origin": "null"},
	} {
		b := h.as(h.owner)
		b.headers = headers
		for _, path := range []string{"/classes", "/sign-out", "/theme", h.path("/import"), h.path("/tests"), h.path("/plans")} {
			if a := b.post(path, form("name", "Sneaked in", "weekday", "1", "starts_at", "17:00", "minutes", "60")); a.Code != http.StatusForbidden {
				t.Errorf("%s POST %s: status %d, want 403", name, path, a.Code)
			}
		}
	}
	var classes []gym.Class
	h.read(h.id, store.Classes(&classes))
	if len(classes) != 1 {
		t.Errorf("%d classes, want 1", len(classes))
	}
	own := h.as(h.owner)
	own.headers = map[string]string{"Origin": "http://gym.example"}
	own.post("/theme", form("theme", "dark", "back", "/help")).leadsTo("/help")
}
