package e2e

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

// A visitor goes through the demo as one person.
type visitor struct {
	who    string
	first  []string // where to begin
	signIn func(b *tab)
	form   func(c *http.Client, address string) error
}

// visitors are everybody who comes, with what demoseed prints for them.
var visitors = []visitor{
	{who: "nobody", first: []string{"/", "/sign-in", "/join", "/join?code=TUE-CHALK", "/help", "/nowhere"}},
	{who: "owner", first: []string{"/"}, signIn: func(b *tab) { b.signIn("desmond@tallowmere.example", "quoin yard at noon") },
		form: staff("desmond@tallowmere.example", "quoin yard at noon")},
	{who: "coach", first: []string{"/"}, signIn: func(b *tab) { b.signIn("marit@tallowmere.example", "twelve ropes on a rack") },
		form: staff("marit@tallowmere.example", "twelve ropes on a rack")},
	{who: "athlete", first: []string{"/", "/today"}, signIn: func(b *tab) { b.join("THU-CHALK", "Chidi Nwabuzor", "6503") },
		form: athlete("THU-CHALK", "Chidi", "6503")},
}

func staff(name, password string) func(*http.Client, string) error {
	return func(c *http.Client, address string) error {
		r, err := c.PostForm(address+"/sign-in", url.Values{"name": {name}, "password": {password}})
		if err == nil {
			r.Body.Close()
		}
		return err
	}
}

func athlete(code, name, pin string) func(*http.Client, string) error {
	return func(c *http.Client, address string) error {
		r, err := c.Get(address + "/join?code=" + code)
		if err != nil {
			return err
		}
		page, err := io.ReadAll(r.Body)
		r.Body.Close()
		if err != nil {
			return err
		}
		id := regexp.MustCompile(`value="([0-9a-f-]{36})"[^>]*>` + name).FindStringSubmatch(string(page))
		if r, err = c.PostForm(address+"/join", url.Values{"code": {code}, "athlete": {id[1]}, "pin": {pin}}); err == nil {
			r.Body.Close()
		}
		return err
	}
}

// ids are what differs between pages of one kind: ids, and the keys of stages.
var ids = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f-]{27}|(/stages/)[a-z][a-z-]+`)

// kind names a page alike for every id and day, so that one of each is looked at.
func kind(path string) string {
	return regexp.MustCompile(`=[^&]*`).ReplaceAllString(ids.ReplaceAllString(path, "$1{id}"), "=")
}

// pages follows links from where a visitor begins, and returns one page of each
// kind that the visitor can reach.
func (v visitor) pages(t *testing.T, p *program) []string {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	client := &http.Client{Jar: jar, Timeout: patience}
	if v.form != nil {
		if err := v.form(client, p.address); err != nil {
			t.Fatal(err)
		}
	}
	seen, found := map[string]bool{}, []string{}
	for todo := slices.Clone(v.first); len(todo) > 0; {
		path := todo[0]
		todo = todo[1:]
		if seen[kind(path)] {
			continue
		}
		seen[kind(path)] = true
		r, err := client.Get(p.address + path)
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		text, err := io.ReadAll(r.Body)
		r.Body.Close()
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		if r.StatusCode >= 500 || r.StatusCode == http.StatusNotFound && path != "/nowhere" {
			t.Errorf("%s as %s: status %d", path, v.who, r.StatusCode)
		}
		if !strings.HasPrefix(r.Header.Get("Content-Type"), "text/html") {
			continue
		}
		if at := r.Request.URL.RequestURI(); at != path && seen[kind(at)] {
			continue // led on to a page that is known
		} else if at != path {
			seen[kind(at)] = true
			path = at
		}
		found = append(found, path)
		todo = append(todo, links(t, string(text))...)
	}
	return found
}

// links returns the paths on this server that a page links to.
func links(t *testing.T, page string) []string {
	t.Helper()
	document, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	var paths []string
	for n := range document.Descendants() {
		if n.Data != "a" {
			continue
		}
		for _, a := range n.Attr {
			path, _, _ := strings.Cut(a.Val, "#")
			if a.Key == "href" && strings.HasPrefix(path, "/") && !strings.HasPrefix(path, "//") {
				paths = append(paths, path)
			}
		}
	}
	return paths
}

// The crawl is not worth much if it ends early.
func TestEverybodyReachesTheirPages(t *testing.T) {
	p := demo(t)
	for _, v := range visitors {
		began := time.Now()
		kinds := []string{}
		for _, path := range v.pages(t, p) {
			kinds = append(kinds, kind(path))
		}
		want := map[string][]string{
			"nobody":  {"/sign-in", "/join", "/help", "/nowhere"},
			"owner":   {"/today", "/classes", "/classes/new", "/athletes"},
			"coach":   {"/today", "/classes/{id}", "/classes/{id}/tests", "/classes/{id}/import", "/classes/{id}/cards", "/athletes/{id}", "/plans/{id}"},
			"athlete": {"/me", "/me/rates", "/me/result", "/me/debrief", "/today"},
		}[v.who]
		for _, path := range want {
			if !slices.Contains(kinds, path) {
				t.Errorf("%s does not reach %s by links; found %v", v.who, path, kinds)
			}
		}
		t.Logf("%s: %d pages in %s", v.who, len(kinds), time.Since(began).Round(time.Millisecond))
	}
}
