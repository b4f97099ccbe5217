package server

import (
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// card makes a card for the n-th athlete and returns its secret.
func (h *hall) card(n int) string {
	h.t.Helper()
	id := h.athletes[n].AthleteID
	secrets, err := h.server.Accounts.MakeCards(h.t.Context(), h.coach, []uuid.UUID{id})
	if err != nil {
		h.t.Fatal(err)
	}
	return secrets[id]
}

func (h *hall) devices(n int) []gym.Device {
	h.t.Helper()
	var devices []gym.Device
	h.read(h.id, store.DevicesOf(h.athletes[n].AthleteID, &devices))
	return devices
}

// Opening the page, even often, lets nobody in; a tap does, once.
func TestACardLetsOnePhoneIn(t *testing.T) {
	h := newHall(t, "Ana Birch Cole")
	secret := h.card(0)
	phone := h.open()
	for range 3 {
		phone.get("/pair").is(200)
		phone.post("/pair/look", form("secret", secret)).is(200).says("A.B.C.", "Ash Lane", "Yes, go in on this phone").lacks("Birch")
	}
	phone.get("/me").leadsTo("/sign-in?next=%2Fme")
	if n := len(h.devices(0)); n != 0 {
		t.Fatalf("%d phones are let in by looking", n)
	}
	phone.headers["User-Agent"] = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_4 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.4 Safari/604.1"
	phone.post("/pair", form("secret", secret)).leadsTo("/me")
	phone.get("/me").is(200).says("Ana Birch Cole")
	devices := h.devices(0)
	if len(devices) != 1 || !strings.Contains(devices[0].Label, "iPhone") {
		t.Errorf("the phones are %+v", devices)
	}
	h.open().post("/pair", form("secret", secret)).is(http.StatusGone)
	h.open().post("/pair/look", form("secret", secret)).is(http.StatusGone)
	h.open().post("/pair", form("secret", "guessed")).is(http.StatusGone)
}

func TestAnOldOrReplacedCardOpensNothing(t *testing.T) {
	h := newHall(t, "Ana")
	first := h.card(0)
	second := h.card(0)
	h.open().post("/pair", form("secret", first)).is(http.StatusGone)
	h.now = h.now.Add(account.CardLife + time.Minute)
	h.open().post("/pair", form("secret", second)).is(http.StatusGone)
	if n := len(h.devices(0)); n != 0 {
		t.Errorf("%d phones are let in", n)
	}
}

func TestOfManyAtOnceOneGetsIn(t *testing.T) {
	h := newHall(t, "Ana")
	secret := h.card(0)
	var wait sync.WaitGroup
	codes := make([]int, 50)
	for i := range codes {
		wait.Go(func() { codes[i] = h.open().post("/pair", form("secret", secret)).Code })
	}
	wait.Wait()
	in := 0
	for _, code := range codes {
		switch code {
		case http.StatusSeeOther:
			in++
		case http.StatusGone:
		default:
			t.Errorf("an answer is %d", code)
		}
	}
	if in != 1 || len(h.devices(0)) != 1 {
		t.Errorf("%d came in on %d phones", in, len(h.devices(0)))
	}
}

// A lost phone is out with its next request, and not before somebody says so.
func TestALostPhoneIsCutOff(t *testing.T) {
	h := newHall(t, "Ana")
	lost, kept := h.open(), h.open()
	for _, phone := range []*browser{lost, kept} {
		phone.post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", pin)).leadsTo("/me")
		phone.get("/me").is(200)
	}
	coach := h.as(h.coach)
	path := "/athletes/" + h.athletes[0].AthleteID.String() + "/phones"
	coach.get(path).is(200).says("Phones", "Cut it off")
	first := h.devices(0)[1] // newest first
	coach.follow(coach.post("/devices/"+first.DeviceID.String()+"/cut-off", nil)).is(200).says("Cut off Wed 4 Nov")
	lost.get("/me").leadsTo("/sign-in?next=%2Fme")
	lost.sends(h.athletes[0].AthleteID, h.now).is(http.StatusUnauthorized)
	kept.get("/me").is(200)
}

var secretIn = regexp.MustCompile(`/pair#([A-Za-z0-9_-]+)`)

// The cards of a class are printed once; a guardian's link opens one phone and
// ends with the guardian.
func TestPrintCardsAndLinkGuardians(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	coach := h.as(h.coach)
	sheet := coach.post(h.path("/cards/print"), nil).is(200).says("Ana", "Ben", "It works once, until Fri 4 Dec", "2 cards")
	if n := strings.Count(sheet.Text, `class="qr"`); n != 2 {
		t.Errorf("%d codes on the sheet, want 2", n)
	}
	if strings.Contains(sheet.Text, "pair#") {
		t.Error("a secret stands on the sheet in letters")
	}
	path := "/athletes/" + h.athletes[0].AthleteID.String()
	coach.post(path+"/guardians", form("name", " ")).is(422).says("Type the name of the parent or guardian.")
	link := coach.post(path+"/guardians", form("name", "Gus Birch")).is(200).says("Link for Gus Birch", "works once")
	secret := secretIn.FindStringSubmatch(link.Text)
	if secret == nil {
		t.Fatal("the page shows no link")
	}
	gus := h.open()
	gus.post("/pair/look", form("secret", secret[1])).is(200).says("for a parent or guardian")
	gus.post("/pair", form("secret", secret[1])).is(http.StatusSeeOther)
	gus.get("/me").is(http.StatusForbidden)
	coach.get(path + "/phones").is(200).says("Gus Birch")
	var guardians []gym.Guardianship
	h.read(h.id, store.GuardiansOf(h.athletes[0].AthleteID, &guardians))
	coach.follow(coach.post("/guardians/"+guardians[0].GuardianID.String(), form("do", "remove"))).is(200).says("Removed.")
	gus.get("/me").is(http.StatusSeeOther) // signed out
}

// On a phone that several use, a sign-in is short.
func TestASharedPhoneForgetsSoon(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	for n, shared := range []string{"", "yes"} {
		phone := h.open()
		phone.post("/join", form("code", h.code, "athlete", h.athletes[n].AthleteID.String(), "pin", pin, "shared", shared)).leadsTo("/me")
		devices := h.devices(n)
		if len(devices) != 1 || devices[0].Shared != (shared != "") {
			t.Errorf("the phones are %+v", devices)
		}
		ctx, err := h.server.SignIns.Load(t.Context(), phone.cookies[h.server.SignIns.Cookie.Name])
		if err != nil {
			t.Fatal(err)
		}
		left := time.Until(h.server.SignIns.Deadline(ctx))
		if short := left < 2*time.Hour; short != (shared != "") {
			t.Errorf("shared %q: the sign-in lasts another %s", shared, left)
		}
	}
	a := h.as(h.jumper(0)).post("/sign-out", form("clear", "yes")).is(http.StatusSeeOther)
	if got := a.Header.Get("Clear-Site-Data"); got != `"cache", "storage"` {
		t.Errorf("a phone on which nothing waits is told to clear %s", got)
	}
	a = h.as(h.jumper(0)).post("/sign-out", nil).is(http.StatusSeeOther)
	if got := a.Header.Get("Clear-Site-Data"); strings.Contains(got, "storage") {
		t.Errorf("a phone on which something may wait is told to clear %s", got)
	}
}
