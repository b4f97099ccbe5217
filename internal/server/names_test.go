package server

import (
	"slices"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/net/html"
)

// A name of another script is set apart from the words beside it, so that a
// line that runs the other way does not garble them, and says its language where
// it stands as a name (WCAG 2.2, 3.1.2, exempts names; a reader aloud still says
// them better so).
func TestNamesKeepTheirDirection(t *testing.T) {
	const name = "אורי לבנון"
	h := newHall(t, name)
	h.ownerDoes(`UPDATE athlete SET lang = 'he' WHERE gym_id = $1`, h.id)
	ids := h.belongings()
	h.hurt(0)
	seen := 0
	for role, b := range h.everyRole() {
		for _, route := range routesOf(t, h.site) {
			method, pattern, _ := strings.Cut(route, " ")
			if method != "GET" || strings.HasPrefix(pattern, "/static") {
				continue
			}
			a := b.do("GET", addressed(t, pattern, ids), "", nil)
			if !strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") {
				continue
			}
			for n := range a.document().Descendants() {
				if n.Type != html.TextNode || !strings.Contains(n.Data, name) || unseen(n) {
					continue
				}
				seen++
				beside := strings.ContainsFunc(strings.ReplaceAll(n.Data, name, ""), unicode.IsLetter)
				if beside && !apart(n) {
					t.Errorf("%s as %q: %q is not set apart", route, role, strings.TrimSpace(n.Data))
				}
				if lang, _ := attribute(n.Parent, "lang"); n.Parent.Data == "bdi" && lang != "he" && !inFooter(n) {
					t.Errorf("%s as %q: the name does not say its language: %q", route, role, strings.TrimSpace(n.Data))
				}
			}
		}
	}
	if seen < 30 {
		t.Errorf("the name is on %d places, want at least 30", seen)
	}
}

// unseen reports whether n is only read aloud, or stands where no tags can.
func unseen(n *html.Node) bool {
	for p := n.Parent; p != nil; p = p.Parent {
		class, _ := attribute(p, "class")
		if slices.Contains(strings.Fields(class), "unseen") || slices.Contains([]string{"title", "option", "script", "textarea"}, p.Data) {
			return true
		}
	}
	return false
}

// inFooter reports whether n says who is signed in, which is oneself.
func inFooter(n *html.Node) bool {
	for p := n.Parent; p != nil; p = p.Parent {
		if p.Data == "footer" {
			return true
		}
	}
	return false
}

// apart reports whether n runs in a direction of its own.
func apart(n *html.Node) bool {
	for p := n.Parent; p != nil && p.Data != "body"; p = p.Parent {
		if _, directed := attribute(p, "dir"); directed || p.Data == "bdi" {
			return true
		}
	}
	return false
}
