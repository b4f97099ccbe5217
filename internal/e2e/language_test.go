package e2e

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/deciding"
	invented "ropewalk.example/internal/demo"
	"ropewalk.example/internal/demoseed"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/metrics"
	"ropewalk.example/internal/privacy"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/server"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
	"ropewalk.example/web/tongue"
)

// inHebrewLetters writes each letter as one of a script that runs from right to
// left. It says nothing; it only lies on the page as Hebrew does.
func inHebrewLetters(words string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) {
			return r
		}
		return 'א' + unicode.ToLower(r)%22
	}, words)
}

// stretched makes words longer by two letters in five, as German and Finnish do.
func stretched(words string) string {
	var long strings.Builder
	letters := 0
	for _, r := range words {
		long.WriteRune(r)
		if !unicode.IsLetter(r) {
			continue
		}
		if letters++; letters%5 == 2 || letters%5 == 4 {
			long.WriteRune(unicode.ToLower(r))
		}
	}
	return long.String()
}

// madeUp is a language that changes every text of the catalogue in one way.
func madeUp(t *testing.T, tag, dir string, change func(string) string) *tongue.Language {
	t.Helper()
	data, err := os.ReadFile("../../web/tongue/en.json")
	if err != nil {
		t.Fatal(err)
	}
	var texts []string
	if err := json.Unmarshal(data, &texts); err != nil {
		t.Fatal(err)
	}
	l := &tongue.Language{Tag: tag, Name: tag, Dir: dir, Texts: map[string]string{}, Date: "{weekday} {day} {month}"}
	for _, day := range strings.Fields("Mon Tue Wed Thu Fri Sat Sun") {
		l.Days = append(l.Days, change(day))
	}
	for _, month := range strings.Fields("Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec") {
		l.Months = append(l.Months, change(month))
	}
	between := regexp.MustCompile(`\{\d+\}|[^{]+`)
	for _, text := range texts {
		l.Texts[text] = between.ReplaceAllStringFunc(text, func(piece string) string {
			if strings.HasPrefix(piece, "{") {
				return piece
			}
			return change(piece)
		})
	}
	return l
}

// demoIn is the demo gym on its day, within the tests and in languages of theirs.
func demoIn(t *testing.T, languages map[string]*tongue.Language) *program {
	t.Helper()
	st, err := store.Open(t.Context(), testdb.New(t).AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	hasher, err := account.NewHasher()
	if err != nil {
		t.Fatal(err)
	}
	log, now := slog.New(slog.NewTextHandler(io.Discard, nil)), invented.Now
	seeder := demoseed.Seeder{Store: st, Hasher: hasher, Log: log}
	if _, err := seeder.Fill(t.Context(), now()); err != nil {
		t.Fatal(err)
	}
	s := &server.Server{
		Store: st, SignIns: server.NewSignIns(st, false), Log: log, Metrics: metrics.New("test"), Now: now, Languages: languages,
		Accounts:  &account.Accounts{Store: st, Hasher: hasher, Now: now},
		Roster:    &roster.Roster{Store: st, Hasher: hasher, Now: now},
		Measuring: &measuring.Measuring{Store: st, Now: now},
		Deciding:  &deciding.Deciding{Store: st, Now: now},
		Coaching:  &coaching.Coaching{Store: st, Now: now},
		Privacy:   &privacy.Privacy{Store: st, Now: now},
		Reporting: &reporting.Reporting{Store: st, Now: now, Queue: func(context.Context, *store.Tx, uuid.UUID, int) error { return nil }},
	}
	s.Receiving = &receiving.Receiving{Store: st, Measuring: s.Measuring, Coaching: s.Coaching, Now: now}
	s.Leading = &leading.Leading{Store: st, Measuring: s.Measuring, Coaching: s.Coaching, Now: now}
	t.Cleanup(s.Drain)
	listening := httptest.NewServer(s.Routes())
	t.Cleanup(listening.Close)
	return &program{address: listening.URL}
}

// outside lists what sticks out of the screen at either side, but for what lies
// in a region that scrolls by itself.
const outside = `document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("body *")].filter(e => {
	const box = e.getBoundingClientRect();
	return box.width > 1 && (box.right > innerWidth + 1 || box.left < -1) && !e.closest("[tabindex='0'], .table-region, svg, .unseen, .skip");
}).slice(0, 4).map(e => e.outerHTML.slice(0, 120)).concat("width " + document.documentElement.scrollWidth)`

// hiddenAway lists what of the navigation and the step line is not within the
// screen's width, and for the navigation its height.
const hiddenAway = `[...document.querySelectorAll("nav.bar a, nav.bar span, .steps > svg")].flatMap(e => {
	const box = e.getBoundingClientRect();
	const low = e.closest("nav") && box.bottom > innerHeight + 1;
	return box.width === 0 ? [] : box.left < -1 || box.right > innerWidth + 1 || low ? [e.outerHTML.slice(0, 120) + " from " + box.left + " to " + box.right] : [];
})`

// squeezed lists what is written over its neighbour in the navigation, and
// edges that words touch.
const squeezed = `[...document.querySelectorAll("nav.bar span")].flatMap(e => {
	const words = document.createRange();
	words.selectNodeContents(e);
	const box = words.getBoundingClientRect(), room = e.closest("a").getBoundingClientRect();
	return box.left < room.left - 1 || box.right > room.right + 1 ? [e.innerText + " needs " + Math.round(box.width) + " of " + Math.round(room.width)] : [];
}).concat([...document.querySelectorAll(".evidence > li, .notice, .dashes > li")].flatMap(e =>
	parseFloat(getComputedStyle(e).paddingInlineStart) < 12 ? [e.className + " of " + e.parentElement.className] : []))`

// away is how far the first line of the heading begins from the right edge.
const away = `(() => {
	const words = document.createRange();
	words.selectNodeContents(document.querySelector("main h1"));
	return innerWidth - Math.max(...[...words.getClientRects()].map(box => box.right));
})()`

// Main pages fit a phone in a language that runs from right to left, and in one
// whose words are two fifths longer.
func TestOtherLanguagesFitPhones(t *testing.T) {
	p := demoIn(t, map[string]*tongue.Language{
		"he": madeUp(t, "he", "rtl", inHebrewLetters),
		"de": madeUp(t, "de", "ltr", stretched),
	})
	coach, jumper := newTab(t, p, 360, 800), newTab(t, p, 360, 800)
	coach.signIn("marit@tallowmere.example", "twelve ropes on a rack")
	jumper.join("THU-CHALK", "Chidi Nwabuzor", "6503")
	link := func(from, selector string) string {
		coach.open(from)
		return value[string](coach, fmt.Sprintf(`document.querySelector(%q)?.getAttribute("href") ?? ""`, "main a"+selector))
	}
	class := strings.TrimSuffix(link("/today", `[href^="/classes/"][href$="/check-in"]`), "/check-in")
	plan := link(class+"/plans", `[href^="/plans/"]`)
	gate := link("/stages?class=all", `[href$="/gate"]`)
	for _, look := range []struct {
		tab   *tab
		path  string
		steps bool // has a step line
	}{
		{coach, "/today", false}, {coach, class, false}, {coach, plan, true}, {coach, gate, false}, {coach, "/help", false},
		{jumper, "/", true}, {jumper, "/me/stage", false},
	} {
		for _, l := range []struct{ tag, dir string }{{"he", "rtl"}, {"de", "ltr"}} {
			b, page := look.tab, l.tag+" "+kind(look.path)
			value[bool](b, `document.cookie = "language=`+l.tag+`; path=/", true`)
			if status := b.open(look.path); status != 200 {
				t.Fatalf("%s: status %d", page, status)
			}
			for _, name := range value[[]string](b, outside) {
				t.Errorf("%s: wider than the screen: %s", page, name)
			}
			for _, name := range value[[]string](b, hiddenAway) {
				t.Errorf("%s: out of sight: %s", page, name)
			}
			for _, name := range value[[]string](b, squeezed) {
				t.Errorf("%s: no room: %s", page, name)
			}
			if found := value[int](b, `document.querySelectorAll(".steps svg").length`) > 0; found != look.steps {
				t.Errorf("%s: step line %t, want %t", page, found, look.steps)
			}
			if items := value[int](b, `document.querySelectorAll("nav.bar a").length`); items < 3 {
				t.Errorf("%s: %d items in the navigation", page, items)
			}
			if dir := value[string](b, `getComputedStyle(document.querySelector("main h1")).direction`); dir != l.dir {
				t.Errorf("%s: runs %s, want %s", page, dir, l.dir)
			}
			if gap := value[float64](b, away); l.dir == "rtl" && gap > 32 {
				t.Errorf("%s: the heading begins %.0f px from the right edge", page, gap)
			}
			b.shoot(l.tag, look.path, "light", 360)
		}
	}
}
