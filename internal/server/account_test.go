package server

import (
	"context"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// employ adds a person who signs in with name and the tests' password.
func (h *hall) employ(name string, role gym.Role) gym.Who {
	h.t.Helper()
	hash, err := h.server.Accounts.Hasher.Hash(h.t.Context(), password)
	if err != nil {
		h.t.Fatal(err)
	}
	who := gym.Who{GymID: h.id, PersonID: newID(), Role: role, Name: "Jo Member"}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddPerson(ctx, gym.Person{PersonID: who.PersonID, SignInName: name, Name: who.Name, PasswordHash: hash, CreatedAt: h.now}); err != nil {
			return err
		}
		return tx.AddMembership(ctx, gym.Membership{PersonID: who.PersonID, Role: role, Since: h.now})
	})
	return who
}

// count asks the schema's owner for a number.
func (s *site) count(sql string, args ...any) int {
	s.t.Helper()
	ctx := s.t.Context()
	conn, err := pgx.Connect(ctx, s.db.OwnerURL)
	if err != nil {
		s.t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var n int
	if err := conn.QueryRow(ctx, sql, args...).Scan(&n); err != nil {
		s.t.Fatalf("%s: %v", sql, err)
	}
	return n
}

// signIn types name and password at the door.
func (b *browser) signIn(name, secret string) *answer {
	b.t.Helper()
	return b.post("/sign-in", form("name", name, "password", secret))
}

func (h *hall) askForFactor() {
	h.t.Helper()
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error { return tx.PostponeSecondFactor(ctx, false) })
}

// ownerDoes runs a statement as the schema's owner, whom no policy binds.
func (s *site) ownerDoes(sql string, args ...any) {
	s.t.Helper()
	ctx := s.t.Context()
	conn, err := pgx.Connect(ctx, s.db.OwnerURL)
	if err != nil {
		s.t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, sql, args...); err != nil {
		s.t.Fatalf("%s: %v", sql, err)
	}
}

func TestInvitation(t *testing.T) {
	h := newHall(t)
	owner := h.as(h.owner)
	owner.get("/people").is(200).says("Mara", "Cleo", "Asa", "The second factor is put off.")
	owner.post("/people/invitations", form("name", " ", "role", "king")).is(422).says("Type the name of whom you invite.", "Choose what the person will do.")
	shown := owner.post("/people/invitations", form("id", newID().String(), "name", "Ida", "role", "coach")).is(200).says("For Ida")
	code := regexp.MustCompile(`[2-9A-Z]{4}(?:-[2-9A-Z]{4}){3}`).FindString(shown.Text)
	owner.get("/people").is(200).says("Ida", "Take it back").lacks(code)

	b := h.open()
	b.get("/invited").is(200)
	for range 3 { // looking at it uses nothing up
		b.post("/invited", form("code", strings.ToLower(code))).is(200).says("Come in as coach")
	}
	b.post("/invited/accept", form("code", code, "name", "Ida", "sign_in", "ida", "password", "short")).is(422).says("shaped like an e-mail address", "at least 12")
	b.post("/invited/accept", form("code", code, "name", "Ida", "sign_in", "ida@gym.example", "password", password)).leadsTo("/")
	b.get("/today").is(200)
	b.get("/people").is(403)
	h.open().post("/invited/accept", form("code", code, "name", "Eve", "sign_in", "eve@gym.example", "password", password)).is(422).says("That code opens nothing now.")

	// One that is taken back, and one that waits too long.
	shown = owner.post("/people/invitations", form("id", newID().String(), "name", "Olu", "role", "assistant")).is(200)
	code = regexp.MustCompile(`[2-9A-Z]{4}(?:-[2-9A-Z]{4}){3}`).FindString(shown.Text)
	back := regexp.MustCompile(`/people/invitations/[0-9a-f-]+/take-back`).FindString(owner.get("/people").Text)
	owner.post(back, nil).leadsTo("/people")
	h.open().post("/invited", form("code", code)).is(422)
	shown = owner.post("/people/invitations", form("id", newID().String(), "name", "Olu", "role", "assistant")).is(200)
	code = regexp.MustCompile(`[2-9A-Z]{4}(?:-[2-9A-Z]{4}){3}`).FindString(shown.Text)
	h.now = h.now.Add(73 * time.Hour)
	h.open().post("/invited", form("code", code)).is(422)
}

// Changes of rights work at once on live sign-ins.
func TestRightsChangeAtOnce(t *testing.T) {
	h := newHall(t)
	owner := h.as(h.owner)
	jo := h.employ("jo@gym.example", gym.Coach)
	b := h.open()
	b.signIn("jo@gym.example", password).leadsTo("/")
	b.get("/classes/new").is(200)
	owner.post("/people/"+jo.PersonID.String()+"/role", form("role", "assistant")).leadsTo("/people")
	b.get("/classes/new").leadsTo("/sign-in?next=%2Fclasses%2Fnew")
	b.signIn("jo@gym.example", password).leadsTo("/")
	b.get("/classes/new").is(403)
	owner.post("/people/"+jo.PersonID.String()+"/end", nil).leadsTo("/people")
	b.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	b.signIn("jo@gym.example", password).is(403).says("You belong to no gym at the moment.")
	owner.post("/people/"+jo.PersonID.String()+"/end", nil).is(404)

	// A gym is never without an owner.
	owner.post("/people/"+h.owner.PersonID.String()+"/end", nil).is(409).says("A gym needs an owner.")
	owner.post("/people/"+h.owner.PersonID.String()+"/role", form("role", "coach")).is(409)
	owner.post("/people/"+h.coach.PersonID.String()+"/role", form("role", "owner")).leadsTo("/people")
	owner.post("/people/"+h.owner.PersonID.String()+"/role", form("role", "coach")).leadsTo("/people")
	owner.get("/people").leadsTo("/sign-in?next=%2Fpeople")
}

// The owner hands a code over; it sets a password and nothing else.
func TestWayBack(t *testing.T) {
	h := newHall(t)
	owner := h.as(h.owner)
	jo := h.employ("jo@gym.example", gym.Coach)
	b := h.open()
	b.signIn("jo@gym.example", password).leadsTo("/")
	noon := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	b.setUpFactor(noon)
	give := func() string {
		t.Helper()
		shown := owner.post("/people/"+jo.PersonID.String()+"/way-back", nil).is(200).says("works once and for ten minutes")
		return regexp.MustCompile(`[2-9A-Z]{4}(?:-[2-9A-Z]{4}){3}`).FindString(shown.Text)
	}
	older, code := give(), give()
	fresh := "a new lantern of copper"
	try := func(code, name string) *answer {
		return h.open().post("/recover", form("name", name, "code", code, "password", fresh))
	}
	try(older, "jo@gym.example").is(422) // a newer one took its place
	unknown, wrong := try("AAAA-BBBB-CCCC-DDDD", "no@gym.example").is(422), try("AAAA-BBBB-CCCC-DDDD", "jo@gym.example").is(422)
	if strings.ReplaceAll(unknown.Text, "no@gym.example", "jo@gym.example") != wrong.Text {
		t.Error("the page tells who has an account")
	}
	try(code, "jo@gym.example").is(200).says("Your new password works", "Your second factor is as it was.")
	try(code, "jo@gym.example").is(422) // once
	b.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	h.open().signIn("jo@gym.example", password).is(422)
	h.open().signIn("jo@gym.example", fresh).leadsTo("/sign-in/code") // the second factor stands

	code = give()
	h.now = h.now.Add(11 * time.Minute)
	try(code, "jo@gym.example").is(422)
	owner.post("/people/"+jo.PersonID.String()+"/second-factor/off", nil).leadsTo("/people")
	h.open().signIn("jo@gym.example", fresh).leadsTo("/")
}

// An owner may not walk into another gym with the account of somebody who works
// in both.
func TestWayBackStaysInTheGym(t *testing.T) {
	h := newHall(t)
	other := h.addHall("Other Hall")
	jo := h.employ("jo@gym.example", gym.Coach)
	h.write(other.id, func(ctx context.Context, tx *store.Tx) error {
		return tx.AddMembership(ctx, gym.Membership{PersonID: jo.PersonID, Role: gym.Owner, Since: h.now})
	})
	owner := h.as(h.owner)
	for _, path := range []string{"/way-back", "/second-factor/off"} {
		owner.post("/people/"+jo.PersonID.String()+path, nil).is(403).lacks("Other Hall")
	}
}

func TestPersonOfTwoGymsChooses(t *testing.T) {
	h := newHall(t)
	other := h.addHall("Other Hall", "Eve")
	h.employ("jo@gym.example", gym.Coach)
	guardian := gym.Guardianship{GuardianID: newID(), AthleteID: other.athletes[0].AthleteID, Name: "Jo", AddedAt: h.now}
	h.write(other.id, func(ctx context.Context, tx *store.Tx) error {
		return tx.AddGuardian(ctx, guardian, other.coach.PersonID)
	})
	phone := h.as(gym.Who{GymID: other.id, PersonID: guardian.GuardianID, AthleteID: guardian.AthleteID, Role: gym.Guardian, Name: "Jo"})
	phone.get("/").leadsTo("/child")
	phone.post("/child/account", form("name", "jo@gym.example", "password", "not the password")).is(422)
	phone.post("/child/account", form("name", "jo@gym.example", "password", password)).leadsTo("/child")

	b := h.open()
	b.signIn("jo@gym.example", password).leadsTo("/gyms")
	b.get("/today").leadsTo("/sign-in?next=%2Ftoday") // no gym yet
	page := b.get("/gyms").is(200).says("Ash Lane", "coach", "Other Hall", "guardian of Eve")
	places := regexp.MustCompile(`name="place" value="([^"]+)"`).FindAllStringSubmatch(page.Text, -1)
	if len(places) != 2 {
		t.Fatalf("%d places, want 2", len(places))
	}
	b.post("/gyms", form("place", strings.Replace(places[0][1], "coach", "owner", 1))).is(409)
	b.post("/gyms", form("place", places[0][1])).leadsTo("/")
	b.get("/today").is(200)
	b.get("/child").is(403)
	b.post("/gyms", form("place", places[1][1])).leadsTo("/")
	b.get("/child").is(200).says("Eve")
	b.get("/today").is(403)
	b.get("/athletes/" + other.athletes[0].AthleteID.String()).is(403)
	h.as(other.coach).post("/guardians/"+guardian.GuardianID.String(), form("do", "remove")).is(303)
	b.get("/child").leadsTo("/sign-in?next=%2Fchild")
}

func TestChangePassword(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Coach)
	here, there := h.open(), h.open()
	here.signIn("jo@gym.example", password).leadsTo("/")
	there.signIn("jo@gym.example", password).leadsTo("/")
	before := here.cookies["ropewalk"]
	here.post("/account/password", form("password", "wrong", "new_password", "a new lantern of copper")).is(422).says("That is not your password.")
	here.post("/account/password", form("password", password, "new_password", "password1234")).is(422)
	here.post("/account/password", form("password", password, "new_password", "a new lantern of copper")).leadsTo("/account")
	if here.cookies["ropewalk"] == before {
		t.Error("the token stays after a change of password")
	}
	here.get("/account").is(200).says("You are signed out everywhere else.")
	there.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	h.open().signIn("jo@gym.example", password).is(422)
}

func TestSignInList(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Coach)
	here, there := h.open(), h.open()
	there.headers["User-Agent"] = "Mozilla/5.0 (Linux; Android 15) Chrome/130 Safari/537"
	here.signIn("jo@gym.example", password).leadsTo("/")
	there.signIn("jo@gym.example", password).leadsTo("/")
	page := here.get("/account").is(200).says("this one", "Chrome on Android")
	id := regexp.MustCompile(`name="sign_in" value="([0-9a-f]+)"`).FindStringSubmatch(page.Text)
	if id == nil {
		t.Fatal("the other sign-in cannot be ended")
	}
	h.as(h.owner).post("/account/sign-ins/end", form("sign_in", id[1])).is(303) // somebody else's
	there.get("/today").is(200)
	here.post("/account/sign-ins/end", form("sign_in", id[1])).leadsTo("/account")
	there.get("/today").leadsTo("/sign-in?next=%2Ftoday")
	here.get("/today").is(200)
}
