package server

import (
	"encoding/json"
	"maps"
	"net/http"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ropewalk.example/internal/demoseed"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/tongue"
)

// bracketed is a language that puts brackets around every text it has: what is
// without them on a page was not in the catalogue.
func bracketed(t *testing.T) *tongue.Language {
	t.Helper()
	data, err := os.ReadFile("../../web/tongue/en.json")
	if err != nil {
		t.Fatal(err)
	}
	var texts []string
	if err := json.Unmarshal(data, &texts); err != nil {
		t.Fatal(err)
	}
	l := &tongue.Language{Tag: "x-marked", Name: "⟦Marked⟧", Dir: "rtl", Texts: map[string]string{},
		Days:   strings.Fields("⟦1⟧ ⟦2⟧ ⟦3⟧ ⟦4⟧ ⟦5⟧ ⟦6⟧ ⟦7⟧"),
		Months: strings.Fields("⟦1⟧ ⟦2⟧ ⟦3⟧ ⟦4⟧ ⟦5⟧ ⟦6⟧ ⟦7⟧ ⟦8⟧ ⟦9⟧ ⟦10⟧ ⟦11⟧ ⟦12⟧"), Date: "{weekday} {day} {month}"}
	holes := regexp.MustCompile(`\{\d+\}`)
	for _, text := range texts {
		l.Texts[text] = "⟦" + holes.ReplaceAllString(text, "⟧$0⟦") + "⟧"
	}
	return l
}

func TestEveryTextCanBeTranslated(t *testing.T) {
	s, coach := demoSite(t)
	s.server.Languages = map[string]*tongue.Language{"x-marked": bracketed(t)}
	s.server.Machine = func() Machine { return Machine{Version: "v0"} }
	s.routes = s.server.Routes()
	var staff []store.Staff
	s.read(demoseed.GymID(), store.StaffOf(&staff))
	visitors := map[string]*browser{"coach": coach, "nobody": s.open()}
	var athletes []gym.Athlete
	var classes []gym.Class
	s.read(demoseed.GymID(), store.Athletes(&athletes), store.Classes(&classes))
	for _, a := range athletes {
		if a.Name == "Chidi Nwabuzor" {
			visitors["athlete"] = s.as(gym.Who{GymID: demoseed.GymID(), AthleteID: a.AthleteID, Role: gym.Jumper, Name: a.Name})
		}
	}
	for _, person := range staff {
		if person.Role == gym.Owner {
			visitors["owner"] = s.as(gym.Who{GymID: demoseed.GymID(), PersonID: person.PersonID, Role: gym.Owner, Name: person.Name})
		}
	}
	var names []string
	for _, a := range athletes {
		names = append(names, a.Name, "")
	}
	for _, c := range classes {
		names = append(names, c.Name, "")
	}
	for _, person := range staff {
		names = append(names, person.Name, "")
	}
	names = append(names, "Tallowmere Rope Hall", "", "Autumn 2026", "", "Half-term holiday", "", "http://gym.example/join", "") // the demo's own words
	data := strings.NewReplacer(names...)
	left := map[string]string{}
	pages := 0
	for name, b := range visitors {
		b.cookies[languageCookie] = "x-marked"
		for path, body := range crawl(b, "/", "/today", "/me", "/help", "/nowhere") {
			pages++
			for _, text := range unmarked(body, data) {
				left[text] = name + " " + path
			}
		}
	}
	t.Logf("%d pages", pages)
	for _, text := range slices.Sorted(maps.Keys(left)) {
		t.Errorf("%q is in no catalogue (%s)", text, left[text])
	}
}

var (
	anyID  = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f-]{27}|\d{4}-\d\d-\d\d`)
	codes  = regexp.MustCompile(`[A-Z]{3}-[A-Z]{5}|\S+@\S+|[0-9a-f]{8}\b`) // of classes, addresses, wordings
	letter = regexp.MustCompile(`\p{L}{2,}`)
)

// crawl reads every page that links lead to, two of each kind.
func crawl(b *browser, first ...string) map[string]string {
	pages := map[string]string{}
	kinds := map[string]int{}
	for queue := first; len(queue) > 0; queue = queue[1:] {
		path, _, _ := strings.Cut(queue[0], "#")
		kind := anyID.ReplaceAllString(path, "…")
		if _, known := pages[path]; known || kinds[kind] == 2 || !strings.HasPrefix(path, "/") {
			continue
		}
		kinds[kind]++
		a := b.get(path)
		pages[path] = ""
		if to := a.Header.Get("Location"); to != "" {
			queue = append(queue, to)
		}
		if !strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") {
			continue
		}
		if a.Code == http.StatusSeeOther {
			continue
		}
		pages[path] = a.Text
		for _, link := range regexp.MustCompile(`<a[^>]* href="([^"]+)"`).FindAllStringSubmatch(pages[path], -1) {
			queue = append(queue, html.UnescapeString(link[1]))
		}
	}
	return pages
}

// unmarked are the texts of a page outside of brackets.
func unmarked(body string, data *strings.Replacer) []string {
	root, err := html.ParseWithOptions(strings.NewReader(body), html.ParseOptionEnableScripting(false))
	if err != nil {
		return []string{err.Error()}
	}
	var list []string
	look := func(text string) {
		open := 0
		var bare strings.Builder
		for _, r := range text {
			switch {
			case r == '⟦':
				open++
			case r == '⟧':
				open--
				bare.WriteByte(' ')
			case open == 0:
				bare.WriteRune(r)
			}
		}
		if letter.MatchString(codes.ReplaceAllString(data.Replace(bare.String()), "")) {
			list = append(list, strings.Join(strings.Fields(text), " "))
		}
	}
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.ElementNode {
			switch n.Data {
			case "bdi", "script", "style", "textarea", "code", "pre", "head":
				return
			}
			for _, a := range n.Attr {
				if a.Key == "translate" && a.Val == "no" || a.Key == "lang" && a.Val != "x-marked" {
					return
				}
				if slices.Contains([]string{"alt", "aria-label", "placeholder", "title"}, a.Key) {
					look(a.Val)
				}
			}
		}
		if n.Type == html.TextNode {
			look(n.Data)
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(root)
	return list
}
