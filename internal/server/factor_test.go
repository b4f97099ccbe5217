package server

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"

	"ropewalk.example/internal/gym"
)

var secretShown = regexp.MustCompile(`<code>([A-Z2-7 ]{30,})</code>`)

// setUpFactor follows the page that sets a second factor up, at the world's
// time, and returns the secret and the codes on paper.
func (b *browser) setUpFactor(at time.Time) (secret string, codes []string) {
	b.t.Helper()
	b.server.Accounts.Clock = func() time.Time { return at }
	found := secretShown.FindStringSubmatch(b.get("/account/second-factor").is(200).Text)
	if found == nil {
		b.t.Fatal("no secret is shown")
	}
	secret = strings.ReplaceAll(found[1], " ", "")
	code, err := totp.GenerateCode(secret, at)
	if err != nil {
		b.t.Fatal(err)
	}
	b.post("/account/second-factor", form("code", "000000")).is(422).says("That code does not match.")
	page := b.post("/account/second-factor", form("code", code)).is(200).says("They are not shown again.")
	codes = regexp.MustCompile(`[2-9A-Z]{4}(?:-[2-9A-Z]{4}){3}`).FindAllString(page.Text, -1)
	if len(codes) != 10 {
		b.t.Fatalf("%d codes on paper, want 10", len(codes))
	}
	return secret, codes
}

func TestSecondFactorIsAskedForFirst(t *testing.T) {
	h := newHall(t)
	h.askForFactor()
	h.employ("jo@gym.example", gym.Coach)
	b := h.open()
	b.post("/sign-in", form("name", "jo@gym.example", "password", password, "next", "/classes")).leadsTo("/account/second-factor")
	for _, path := range []string{"/today", "/classes", "/athletes"} {
		b.get(path).leadsTo("/account/second-factor")
	}
	b.post("/classes", form("name", "Sneaked in", "weekday", "1", "starts_at", "17:00", "minutes", "60")).leadsTo("/account/second-factor")
	b.post("/account/second-factor/postpone", nil).is(403) // a coach may not let the gym wait
	noon := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	secret, codes := b.setUpFactor(noon)
	b.get("/classes").is(200)

	// The next sign-in asks for a code, and none works twice.
	code := func(at time.Time) string {
		h.server.Accounts.Clock = func() time.Time { return at }
		code, err := totp.GenerateCode(secret, at)
		if err != nil {
			t.Fatal(err)
		}
		return code
	}
	other := h.open()
	other.signIn("jo@gym.example", password).leadsTo("/sign-in/code")
	other.get("/today").leadsTo("/sign-in?next=%2Ftoday") // half in is out
	other.get("/gyms").leadsTo("/sign-in?next=%2Fgyms")
	later := noon.Add(time.Hour)
	first := code(later)
	other.post("/sign-in/code", form("code", "123456")).is(422)
	other.post("/sign-in/code", form("code", first)).leadsTo("/")
	other.get("/today").is(200)
	third := h.open()
	third.signIn("jo@gym.example", password).leadsTo("/sign-in/code")
	third.post("/sign-in/code", form("code", first)).is(422) // seen over a shoulder
	third.post("/sign-in/code", form("code", code(later.Add(-30*time.Second)))).is(422)
	third.post("/sign-in/code", form("code", code(later.Add(40*time.Second)))).leadsTo("/")

	// A code on paper works once, and so does only what was written down.
	fourth := h.open()
	fourth.signIn("jo@gym.example", password).leadsTo("/sign-in/code")
	fourth.post("/sign-in/code", form("code", strings.ToLower(codes[3]))).leadsTo("/")
	fourth.get("/account").is(200).says("on, 9 codes for a lost phone left")
	fifth := h.open()
	fifth.signIn("jo@gym.example", password).leadsTo("/sign-in/code")
	fifth.post("/sign-in/code", form("code", codes[3])).is(422)
	fifth.get("/sign-in").is(200)

	// Taking it off and new codes ask for the password once more.
	fourth.post("/account/second-factor/remove", form("password", "not the password")).is(422).says("That is not your password.")
	fourth.post("/account/second-factor/codes", form("password", password)).is(200)
	fifth.post("/sign-in/code", form("code", codes[4])).is(422) // replaced
	fourth.post("/account/second-factor/remove", form("password", password)).leadsTo("/account/second-factor")
	h.open().signIn("jo@gym.example", password).leadsTo("/account/second-factor")
}

// Guessing the six figures is throttled like guessing a password.
func TestSecondFactorGuessesAreThrottled(t *testing.T) {
	h := newHall(t)
	h.employ("jo@gym.example", gym.Coach)
	b := h.open()
	b.signIn("jo@gym.example", password).leadsTo("/")
	b.setUpFactor(time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC))
	guess := h.open()
	guess.signIn("jo@gym.example", password).leadsTo("/sign-in/code")
	tried := 0
	for n := range 200 {
		if guess.post("/sign-in/code", form("code", "00"+string(rune('0'+n/100%10))+string(rune('0'+n/10%10))+string(rune('0'+n%10))+"7")).Code == 422 {
			tried++
		}
	}
	if tried > 5 {
		t.Errorf("%d of 200 guesses were looked at", tried)
	}
}
