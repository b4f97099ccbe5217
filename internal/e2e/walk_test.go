package e2e

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

var code = regexp.MustCompile(`(?m)^    ([0-9A-Z]{4}(?:-[0-9A-Z]{4}){3})$`)

const password = "copper lantern tuesday fig"

// The whole way: the first owner makes gym and class, brings in names, records
// a test, plans the class and sends the plans; an athlete comes in on a phone,
// sees the plan and enters a result; the coach sees it, and the next plan rests
// on it. The same steps must work without scripts.
func TestFromRosterToPhone(t *testing.T) {
	for _, test := range []struct {
		name    string
		scripts bool
	}{{"with scripts", true}, {"without scripts", false}} {
		t.Run(test.name, func(t *testing.T) {
			gym, err := run("serve", "    ") // the line with the code
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(gym.stop)
			owner := newTab(t, gym, 1280, 800)
			phone := newTab(t, gym, 390, 844)
			if !test.scripts {
				owner.noScript()
				phone.noScript()
			}
			setUp(owner, code.FindStringSubmatch(gym.said)[1])
			makeClass(owner)
			bringIn(owner)
			record(owner, test.scripts)
			class := owner.at()
			planAndSend(owner, class)
			pin := givePIN(owner, class)
			classCode := value[string](owner, `document.querySelector("main b.figure").innerText`)

			phone.join(strings.ToLower(classCode), "Юля Ветер", pin)
			phone.says("Юля Ветер", "Your plan for", "sets", "Stop if it hurts")
			if value[bool](phone, `!document.querySelector("main svg") || document.documentElement.scrollWidth > innerWidth`) {
				t.Error("the plan's picture is missing, or wider than the phone")
			}
			phone.press("Enter a result")
			phone.fill("rotations", "131")
			phone.press("Save result")
			if test.scripts {
				phone.says("Sent")
			} else {
				phone.says("Saved.")
			}

			owner.open(class)
			owner.says("Юля Ветер")
			owner.press("Юля Ветер")
			owner.says("131 rotations", "118 rotations")
			before := value[string](owner, `document.querySelector("main .lines").innerText`)
			planAndSend(owner, class)
			owner.open(class)
			owner.press("Юля Ветер")
			if after := value[string](owner, `document.querySelector("main .lines").innerText`); after == before {
				t.Errorf("the next plan does not use the new result: %s", after)
			}
			phone.open("/me")
			phone.says("Your plan for")
		})
	}
}

func setUp(b *tab, code string) {
	b.Helper()
	b.open("/")
	b.says("Make your gym")
	for name, text := range map[string]string{"code": code, "gym": "Ash Lane", "zone": "UTC", "name": "Mara Quay", "sign_in": "mara@ashlane.example", "password": password} {
		b.fill(name, text)
	}
	b.press("Make the gym")
	b.says("Second factor")
	b.press("Carry on with passwords")
}

func makeClass(b *tab) {
	b.Helper()
	b.open("/classes/new")
	b.says("Make a class")
	b.fill("name", "Evening Class")
	b.choose("weekday", time.Now().UTC().AddDate(0, 0, 1).Weekday().String())
	value[bool](b, `document.querySelector('main [name="starts_at"]').value = "18:30", true`) // typing a time depends on the browser's language
	b.fill("minutes", "60")
	b.press("Make the class")
}

func bringIn(b *tab) {
	b.Helper()
	b.says("Bring in names")
	b.fill("names", "Юля Ветер, 1998\nBo Rope, 1999\nA line, with, commas\n")
	b.press("Look at it first")
	b.says("Lines that are left out", "A line, with, commas")
	b.press("Bring in 2 names")
	b.says("2 in, 2 of them new to the gym.", "Юля Ветер", "Bo Rope")
}

// record types one count wrongly and then rightly. With scripts a row is kept
// when it is left, without them when the sheet is sent.
func record(b *tab, scripts bool) {
	b.Helper()
	b.press("Record a test")
	id := value[string](b, `[...document.querySelectorAll('main tbody tr')].find(r => r.innerText.includes("Юля")).id.replace("row-", "")`)
	other := value[string](b, `[...document.querySelectorAll('main tbody tr')].find(r => r.innerText.includes("Bo")).id.replace("row-", "")`)
	keep := func(count string) {
		b.Helper()
		b.fill("rotations-"+id, count)
		if scripts {
			b.do(chromedp.Focus(chromedp.CSS(`main [name="rotations-` + other + `"]`)))
		} else {
			b.press("Save results")
		}
	}
	keep("11o")
	b.says("Rotations must be a whole number", "You typed “11o”.")
	keep("118")
	b.says("1 of 2 in")
	b.press("Back to the class")
	b.says("118 ±")
}

func planAndSend(b *tab, class string) {
	b.Helper()
	b.open(class + "/plans")
	if value[bool](b, `[...document.querySelectorAll("main button")].some(b => b.innerText.trim() === "Make plans for everybody")`) {
		b.press("Make plans for everybody")
	} else {
		b.press("Make new plans")
	}
	b.says("1 plan made. 1 athlete needs a test first.", "Bo Rope")
	b.press("Send 1 plan to phones")
	b.says("1 plan is on the phones now.")
}

// givePIN gives Юля a PIN and returns it.
func givePIN(b *tab, class string) string {
	b.Helper()
	b.open(class + "/cards")
	b.press("Give a PIN to everybody who has none")
	b.says("Write these PINs down")
	return value[string](b, `[...document.querySelectorAll("main tbody tr")].find(r => r.innerText.includes("Юля")).querySelector("b.figure").innerText`)
}
