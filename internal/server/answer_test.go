package server

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// An answer is a page as a browser gets it.
type answer struct {
	t      *testing.T
	what   string
	Code   int
	Header http.Header
	Text   string
}

// is ends the test unless the status is as wanted.
func (a *answer) is(status int) *answer {
	a.t.Helper()
	if a.Code != status {
		a.t.Fatalf("%s: status %d, want %d; the page says: %s", a.what, a.Code, status, a.words())
	}
	return a
}

// leadsTo checks that the answer sends the browser to a path.
func (a *answer) leadsTo(path string) *answer {
	a.t.Helper()
	a.is(http.StatusSeeOther)
	if to := a.Header.Get("Location"); to != path {
		a.t.Errorf("%s: leads to %s, want %s", a.what, to, path)
	}
	return a
}

// says checks that the page's words hold each text.
func (a *answer) says(texts ...string) *answer {
	a.t.Helper()
	words := a.words()
	for _, text := range texts {
		if !strings.Contains(words, text) {
			a.t.Errorf("%s: the page does not say %q; it says: %s", a.what, text, words)
		}
	}
	return a
}

// lacks checks that the page's words hold none of the texts.
func (a *answer) lacks(texts ...string) *answer {
	a.t.Helper()
	words := a.words()
	for _, text := range texts {
		if strings.Contains(words, text) {
			a.t.Errorf("%s: the page says %q; it says: %s", a.what, text, words)
		}
	}
	return a
}

func (a *answer) document() *html.Node {
	a.t.Helper()
	document, err := html.Parse(strings.NewReader(a.Text))
	if err != nil {
		a.t.Fatalf("%s: %v", a.what, err)
	}
	return document
}

// words returns the text of the page's main part, with single spaces.
func (a *answer) words() string {
	a.t.Helper()
	root := a.document()
	for n := range root.Descendants() {
		if n.Data == "main" {
			root = n
		}
	}
	var words []string
	for n := range root.Descendants() {
		if n.Type == html.TextNode && n.Parent.Data != "script" && n.Parent.Data != "style" {
			words = append(words, strings.Fields(n.Data)...)
		}
	}
	return strings.Join(words, " ")
}

func attribute(n *html.Node, key string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val, true
		}
	}
	return "", false
}

// form returns what a browser would post with the form of that action, as it
// stands on the page.
func (a *answer) form(action string) url.Values {
	a.t.Helper()
	if found := a.forms(action); len(found) > 0 {
		return found[0]
	}
	a.t.Fatalf("%s: there is no form for %s", a.what, action)
	return nil
}

// forms returns every form of that action.
func (a *answer) forms(action string) []url.Values {
	a.t.Helper()
	var found []url.Values
	for n := range a.document().Descendants() {
		to, _ := attribute(n, "action")
		if method, _ := attribute(n, "method"); n.Data == "form" && to == action && method == "post" {
			found = append(found, fields(n))
		}
	}
	return found
}

func fields(form *html.Node) url.Values {
	values := url.Values{}
	for n := range form.Descendants() {
		name, named := attribute(n, "name")
		if !named || name == "" {
			continue
		}
		value, _ := attribute(n, "value")
		switch n.Data {
		case "input":
			kind, _ := attribute(n, "type")
			_, checked := attribute(n, "checked")
			if kind == "file" || kind == "submit" || (kind == "checkbox" || kind == "radio") && !checked {
				continue
			}
			values.Add(name, value)
		case "textarea":
			if n.FirstChild != nil {
				values.Add(name, n.FirstChild.Data)
			} else {
				values.Add(name, "")
			}
		case "select":
			values.Add(name, chosen(n))
		}
	}
	return values
}

// chosen returns the value of the selected option, else of the first one.
func chosen(list *html.Node) string {
	first, any := "", false
	for n := range list.Descendants() {
		if n.Data != "option" {
			continue
		}
		value, _ := attribute(n, "value")
		if _, selected := attribute(n, "selected"); selected {
			return value
		}
		if !any {
			first, any = value, true
		}
	}
	return first
}
