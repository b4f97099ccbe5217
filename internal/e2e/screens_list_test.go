//go:build screens

package e2e

import (
	"regexp"
	"time"

	"github.com/chromedp/chromedp"
)

// A screen is a page of the demo, or a state of one, to take pictures of: who
// looks at it, the links and buttons that lead there from a path, and what is done
// then.
type screen struct {
	name, who, from string
	links           []string
	then            func(b *tab, tabs map[string]*tab)
	changes         bool // later screens stand on what it does
}

// refused sends a form with what it will not take.
func refused(action string, fields map[string]string) func(*tab, map[string]*tab) {
	return func(b *tab, _ map[string]*tab) { b.send(action, fields) }
}

// until clicks and waits for words on the same page.
func until(selector, words string) func(*tab, map[string]*tab) {
	return func(b *tab, _ map[string]*tab) {
		b.do(chromedp.Click(selector))
		b.says(words)
	}
}

var starters, open = []string{"Tuesday Starters"}, []string{"Thursday Open"}

// below are links from a page further on.
func below(links []string, more ...string) []string {
	return append(links[:len(links):len(links)], more...)
}

var screenList = []screen{
	{name: "sign-in", who: "nobody", from: "/sign-in"},
	{name: "sign-in-refused", who: "nobody", from: "/sign-in", then: refused("/sign-in", map[string]string{"name": "nobody", "password": "x"})},
	{name: "join", who: "nobody", from: "/join"},
	{name: "who-are-you", who: "nobody", from: "/join?code=TUE-CHALK"},
	{name: "invited", who: "nobody", from: "/invited"},
	{name: "recover", who: "nobody", from: "/recover"},
	{name: "card", who: "nobody", from: "/pair"},
	{name: "help", who: "nobody", from: "/help"},
	{name: "not-here", who: "nobody", from: "/nowhere"},
	{name: "not-for-you", who: "athlete", from: "/today"},

	{name: "today", who: "coach", from: "/today"},
	{name: "classes", who: "coach", from: "/classes"},
	{name: "new-class", who: "coach", from: "/classes/new"},
	{name: "class", who: "coach", from: "/classes", links: starters},
	{name: "import", who: "coach", from: "/classes", links: below(starters, "Bring in names")},
	{name: "import-looked-at", who: "coach", from: "/classes", links: below(starters, "Bring in names"), then: refused("/import", map[string]string{"names": "Ann Lee\nAnn Lee\n"})},
	{name: "cards", who: "coach", from: "/classes", links: below(starters, "Cards and PINs")},
	{name: "class-consents", who: "coach", from: "/classes", links: below(starters, "Consents")},
	{name: "test", who: "coach", from: "/classes", links: below(starters, "Record a test")},
	{name: "odd", who: "coach", from: "/classes", links: below(open, "1 result needs a look")},
	{name: "calendar", who: "coach", from: "/classes", links: below(open, "Calendar")},
	{name: "meeting", who: "coach", from: "/classes", links: below(open, "Calendar", "Thu 12 Nov")},
	{name: "extra-meeting", who: "coach", from: "/classes", links: below(open, "Calendar", "Add a meeting")},
	{name: "weekly-times", who: "coach", from: "/classes", links: below(open, "Calendar", "Weekly times")},
	{name: "calendar-link", who: "coach", from: "/classes", links: below(open, "Calendar", "Share as a calendar")},
	{name: "plans", who: "coach", from: "/classes", links: below(open, "Plans")},
	{name: "plan", who: "coach", from: "/classes", links: below(open, "Plans", "Rafael Quintanar")},
	{name: "tweak", who: "coach", from: "/classes", links: below(open, "Plans", "Rafael Quintanar", "Change this plan")},
	{name: "athletes", who: "coach", from: "/athletes"},
	{name: "athlete", who: "coach", from: "/classes", links: below(open, "Chidi Nwabuzor")},
	{name: "on-hold", who: "coach", from: "/athletes", links: []string{"Mahina"}},
	{name: "release", who: "coach", from: "/athletes", links: []string{"Mahina", "Let the athlete go on"}},
	{name: "health", who: "coach", from: "/athletes", links: []string{"Mahina", "See the health notes"}},
	{name: "questions", who: "coach", from: "/athletes", links: []string{"Mahina", "See the health notes", "Ask the questions"}},
	{name: "one-test", who: "coach", from: "/athletes", links: []string{"Jo Ek", "Record a test"}},
	{name: "one-test-refused", who: "coach", from: "/athletes", links: []string{"Jo Ek", "Record a test"}, then: refused("/tests", map[string]string{"rotations": "many"})},
	{name: "how-did-it-go", who: "coach", from: "/athletes", links: []string{"Jo Ek", "How did it go?"}},
	{name: "phones", who: "coach", from: "/athletes", links: []string{"Jo Ek", "Phones and guardians"}},
	{name: "consents", who: "coach", from: "/athletes", links: []string{"Jo Ek", "Consents"}},
	{name: "correct", who: "coach", from: "/athletes", links: []string{"Jo Ek", "Change"}},
	{name: "check-in", who: "coach", from: "/today", links: []string{"Start class"}},
	{name: "stages", who: "coach", from: "/stages", links: starters},
	{name: "stage", who: "coach", from: "/stages", links: []string{"Stage 1: Turn in time"}},
	{name: "gate", who: "coach", from: "/stages", links: []string{"Whole gym", "Look at the gate"}},
	{name: "catches", who: "coach", from: "/stages", links: []string{"Whole gym", "Look at the gate", "Catch diary"}},
	{name: "judge", who: "coach", from: "/stages", links: below(open, "Judge on the floor")},
	{name: "set", who: "coach", from: "/stages", links: below(open, "Set a drill, test or stage")},
	{name: "ropes", who: "coach", from: "/ropes"},
	{name: "rope", who: "coach", from: "/ropes", links: []string{"B1"}},
	{name: "new-rope", who: "coach", from: "/ropes/new"},
	{name: "ladders", who: "coach", from: "/ladders"},
	{name: "ladder", who: "coach", from: "/ladders", links: []string{"From first turns to doubles"}},
	{name: "ladder-stage", who: "coach", from: "/ladders", links: []string{"From first turns to doubles", "Words and drill"}},
	{name: "ladder-gate", who: "coach", from: "/ladders", links: []string{"From first turns to doubles", "Gate of Changes of pace"}},
	{name: "ladder-clause", who: "coach", from: "/ladders", links: []string{"From first turns to doubles", "Gate of Changes of pace", "Change"}},
	{name: "ladder-version", who: "coach", from: "/ladders", links: []string{"From first turns to doubles", "What it asks"}},
	{name: "ladder-import", who: "coach", from: "/ladders/import"},
	{name: "rules", who: "coach", from: "/rules"},
	{name: "incidents", who: "coach", from: "/incidents"},
	{name: "incident", who: "coach", from: "/incidents/new"},
	{name: "incident-refused", who: "coach", from: "/incidents/new", then: refused("/incidents", map[string]string{"what": ""})},

	{name: "reports", who: "owner", from: "/reports"},
	{name: "report-gym", who: "owner", from: "/reports", links: []string{"Whole gym"}},
	{name: "report", who: "owner", from: "/reports", links: []string{"About the class"}},
	{name: "report-athletes", who: "owner", from: "/reports", links: []string{"A page for each athlete"}},
	{name: "comments", who: "owner", from: "/reports", links: []string{"Comments"}},
	{name: "gym", who: "owner", from: "/gym"},
	{name: "server", who: "owner", from: "/gym/server"},
	{name: "people", who: "owner", from: "/people"},
	{name: "privacy", who: "owner", from: "/privacy"},
	{name: "links", who: "owner", from: "/links"},
	{name: "log-of-all", who: "owner", from: "/log"},
	{name: "data", who: "owner", from: "/data"},
	{name: "names", who: "coach", from: "/athletes", links: []string{"Jo Ek", "Name and classes"}},
	{name: "athlete-data", who: "owner", from: "/athletes", links: []string{"Jo Ek", "Take data along"}},
	{name: "terms", who: "owner", from: "/terms"},
	{name: "term", who: "owner", from: "/terms", links: []string{"Autumn 2026"}},
	{name: "holiday", who: "owner", from: "/terms", links: []string{"Half-term holiday"}},
	{name: "account", who: "owner", from: "/account"},
	{name: "second-factor", who: "owner", from: "/account/second-factor"},

	{name: "me", who: "athlete", from: "/me"},
	{name: "session", who: "athlete", from: "/me/session"},
	{name: "session-runs", who: "athlete", from: "/me/session", then: func(b *tab, _ map[string]*tab) {
		b.do(chromedp.Click(chromedp.CSS("#start")))
		b.says("Get ready")
		time.Sleep(12 * time.Second) // until the first jumps
		b.says("to go")
	}},
	{name: "session-hurts", who: "athlete", then: until(`//button[normalize-space(.)="Stop: it hurts"]`, "Stop jumping")},
	{name: "my-test", who: "athlete", from: "/me/test"},
	{name: "my-result", who: "athlete", from: "/me/result"},
	{name: "my-results", who: "athlete", from: "/me/results"},
	{name: "my-rates", who: "athlete", from: "/me/rates"},
	{name: "my-stage", who: "athlete", from: "/me/stage"},
	{name: "my-report", who: "athlete", from: "/me/report"},
	{name: "my-calendar", who: "athlete", from: "/me/calendar"},
	{name: "debrief", who: "athlete", from: "/me/debrief"},
	{name: "diary", who: "athlete", from: "/me/stage/catches"},
	{name: "unsent", who: "athlete", from: "/me/unsent"},
	{name: "without-signal", who: "athlete", from: "/offline/today"},
	{name: "without-signal-result", who: "athlete", from: "/offline/result"},

	{name: "guardian-link", who: "coach", from: "/athletes", links: []string{"Jo Ek", "Phones and guardians"}, then: func(b *tab, tabs map[string]*tab) {
		b.send("/guardians", map[string]string{"name": "Noor Wassef"})
		tabs["guardian"].open(regexp.MustCompile(`/pair#[A-Za-z0-9_-]+`).FindString(value[string](b, `document.body.innerHTML`)))
		tabs["guardian"].says("for a parent or guardian")
	}},
	{name: "guardian-card", who: "guardian"},
	{name: "guardian", who: "guardian", links: []string{"Yes, go in on this phone"}},
	{name: "guardian-questions", who: "guardian", from: "/child/questions"},
	{name: "guardian-report", who: "guardian", from: "/child/report"},

	// From here on a class is under way.
	{name: "hour", who: "coach", from: "/today", links: []string{"Start class", "Start class"}, changes: true},
	{name: "floor-sheet", who: "coach", from: "/today", links: []string{"Go to the class", "Floor sheet"}},
	{name: "plan-cards", who: "coach", from: "/today", links: []string{"Go to the class", "A card for each athlete"}},
	{name: "count-sheet", who: "coach", from: "/today", links: []string{"Go to the class", "Blank count sheet"}},
	{name: "floor", who: "coach", from: "/today", links: []string{"Go to the class", "Floor: note its size"}},
	{name: "hand-over", who: "coach", from: "/today", links: []string{"Go to the class", "Hand-over page for a substitute"}},
	{name: "run", who: "coach", from: "/today", links: []string{"Go to the class", "Run the class"}},
	{name: "run-clock", who: "coach", from: "/today", links: []string{"Go to the class", "Run the class"}, then: until(`//main//button[normalize-space(.)="Start the clock"]`, "Move on")},
	{name: "my-class", who: "athlete", from: "/me/class"},
	{name: "hall-link", who: "coach", from: "/today", links: []string{"Go to the class", "Screen for the hall", "Make a link"}, then: func(b *tab, tabs map[string]*tab) {
		tabs["hall"].open(regexp.MustCompile(`/screen/\w+`).FindString(b.words()))
	}},
	{name: "hall", who: "hall"},
	{name: "log", who: "coach", from: "/today", links: []string{"Go to the class", "Log the session"}},
}
