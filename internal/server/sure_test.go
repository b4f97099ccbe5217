package server

import (
	"net/url"
	"strings"
	"testing"

	"ropewalk.example/internal/gym"
)

// ageProof makes as if every password had been typed an hour ago.
func (h *hall) ageProof() {
	h.t.Helper()
	h.ownerDoes(`UPDATE sign_in SET data = convert_to(regexp_replace(convert_from(data, 'UTF8'), '"proved":"[^"]*"', '"proved":"2026-01-01T00:00:00Z"'), 'UTF8')`)
}

// What matters most asks for the password again, keeps what was typed, and is
// done once it is right.
func TestWhatMattersMostAsksForThePassword(t *testing.T) {
	h := newHall(t, "Ana")
	h.employ("jo@gym.example", gym.Owner)
	b := h.open()
	b.signIn("jo@gym.example", password).leadsTo("/")
	ids := h.belongings()
	h.ageProof()
	ana, file := "/athletes/"+h.athletes[0].AthleteID.String(), newID().String()
	for path, f := range map[string]url.Values{
		"/people/invitations":                                      form("name", "Ida", "role", "owner"),
		"/people/second-factor":                                    form("postponed", "yes"),
		"/people/" + ids["person"].String() + "/role":              form("role", "owner"),
		"/people/" + ids["person"].String() + "/end":               nil,
		"/people/" + ids["person"].String() + "/way-back":          nil,
		"/people/" + ids["person"].String() + "/second-factor/off": nil,
		"/account/second-factor":                                   form("code", "123456"),
		"/privacy/keeping":                                         form("keep_athlete", "1", "keep_health", "6", "keep_incident", "6", "keep_audit", "6"),
		"/privacy/people/" + ids["former"].String() + "/erase":     nil,
		ana + "/data":  nil,
		ana + "/erase": form("for", "gym", "sure", "yes"),
		"/data/tokens": form("name", "Board"),
		"/data/files":  form("id", file),
	} {
		before := h.marks()
		b.post(path, f).is(200).says("Is it you?")
		for table, mark := range h.marks() {
			if before[table] != mark && table != "sign_in" {
				t.Errorf("%s changed %s before the password was typed", path, table)
			}
		}
	}
	asked := b.post("/people/invitations", form("name", "Ida", "role", "coach")).form("/people/invitations")
	if asked.Get("name") != "Ida" || asked.Get("role") != "coach" {
		t.Fatalf("the form goes along as %v", asked)
	}
	asked.Set("own_password", "not the password")
	again := b.post("/people/invitations", asked).is(422).says("That is not your password.")
	if strings.Contains(again.Text, "not the password") {
		t.Error("the page repeats the password")
	}
	asked.Set("own_password", password)
	b.post("/people/invitations", asked).is(200).says("Ida")
	b.post("/people/invitations", form("name", "Max", "role", "coach")).is(200).says("Max").lacks("Is it you?")
	h.ageProof()
	for range 6 {
		b.post("/people/invitations", form("name", "Eve", "role", "coach", "own_password", "wrong wrong wrong"))
	}
	b.post("/people/invitations", form("name", "Eve", "role", "coach", "own_password", password)).is(429)
}

// Another gym's door does not count as typing the password.
func TestChoosingAGymProvesNothing(t *testing.T) {
	h := newHall(t)
	jo := h.employ("jo@gym.example", gym.Owner)
	other := h.addHall("Other Hall")
	h.ownerDoes(`INSERT INTO membership (gym_id, person_id, role, since) VALUES ($1, $2, 'owner', now())`, other.id, jo.PersonID)
	b := h.open()
	b.signIn("jo@gym.example", password).leadsTo("/gyms")
	place := b.get("/gyms").form("/gyms").Get("place")
	h.ageProof()
	b.post("/gyms", form("place", place)).leadsTo("/")
	b.post("/data/tokens", form("name", "Board")).is(200).says("Is it you?")
}

// Who did not change the way in learns of it: at the next sign-in and on the own
// page.
func TestChangesOfTheWayInAreTold(t *testing.T) {
	h := newHall(t)
	jo := h.employ("jo@gym.example", gym.Coach)
	b := h.open()
	b.signIn("jo@gym.example", password).leadsTo("/")
	b.get("/today").is(200).lacks("Was that not you?")
	b.get("/account").is(200).lacks("Lately changed")
	h.as(h.owner).post("/people/"+jo.PersonID.String()+"/second-factor/off", nil).is(303)
	b.signIn("jo@gym.example", password).leadsTo("/")
	b.get("/today").is(200).says("took a person's second factor off", "Was that not you?")
	b.get("/account").is(200).says("Lately changed", "Mara took a person's second factor off")
	h.now = h.now.AddDate(0, 0, 31)
	b.get("/account").is(200).lacks("Lately changed")
	if _, err := h.server.Accounts.Recover(t.Context(), "jo@gym.example"); err != nil {
		t.Fatal(err)
	}
	h.as(jo).get("/account").is(200).says("got a new password from the server's operator")
}

// A class-mate who guesses at everybody shuts nobody out who has an own phone,
// nor staff, nor other classes.
func TestOneWhoGuessesShutsOutNobodyElse(t *testing.T) {
	names := make([]string, 24)
	for i := range names {
		names[i] = "Athlete " + string(rune('A'+i))
	}
	h := newHall(t, names...)
	h.employ("jo@gym.example", gym.Coach)
	phones := make([]*browser, len(names))
	for i, athlete := range h.athletes[1:] {
		phones[i+1] = h.open()
		phones[i+1].post("/join", form("code", h.code, "athlete", athlete.AthleteID.String(), "pin", pin)).leadsTo("/me")
		phones[i+1].post("/sign-out", nil).is(303)
	}
	guesser := h.open()
	guesser.post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", pin)).leadsTo("/me")
	guesser.post("/sign-out", nil).is(303)
	for range 8 {
		for _, athlete := range h.athletes[1:] {
			guesser.post("/join", form("code", h.code, "athlete", athlete.AthleteID.String(), "pin", "0000"))
		}
	}
	for range 120 {
		guesser.get("/join?code=" + newID().String()[24:])
	}
	guesser.post("/join", form("code", h.code, "athlete", h.athletes[1].AthleteID.String(), "pin", pin)).is(429)
	for i, athlete := range h.athletes[1:] {
		phone := phones[i+1]
		f := form("code", h.code, "athlete", athlete.AthleteID.String(), "pin", pin)
		if a := phone.post("/join", f); a.Code != 303 {
			t.Fatalf("athlete %d: status %d: %s", i+1, a.Code, a.words())
		}
	}
	h.open().signIn("jo@gym.example", password).leadsTo("/")
	h.open().get("/pair").is(200)
}

// What is neither a form nor from a phone is refused before it is read.
func TestOtherBodiesAreRefused(t *testing.T) {
	h := newHall(t, "Ana")
	owner := h.as(h.owner)
	for _, kind := range []string{"text/plain", "text/xml", "application/xml", "application/octet-stream", "garbage"} {
		owner.do("POST", "/classes", kind, strings.NewReader("name=Sneaked+in")).is(415)
	}
}

// Who was refused stands in the program's log, as ids.
func TestRefusalsAreLogged(t *testing.T) {
	h := newHall(t, "Ana")
	h.as(h.jumper(0)).get("/people").is(403)
	if log := h.log.String(); !strings.Contains(log, "refused") || !strings.Contains(log, "/people") || !strings.Contains(log, h.athletes[0].AthleteID.String()) {
		t.Errorf("the log says %s", log)
	}
}
