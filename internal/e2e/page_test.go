package e2e

import (
	_ "embed"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

//go:embed testdata/axe-core@4.14.1/axe.min.js
var axe string

var shots = flag.String("shots", "", "folder for a picture of every page")

// A finding is what axe says of one place on a page.
type finding struct {
	Rule, Help, Where string
}

// Axe's rules for WCAG 2.2, A and AA. What a look or a width can change is
// asked again for each; the rest depends on neither.
const (
	allRules  = `{runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}`
	lookRules = `{runOnly: {type: "rule", values: ["color-contrast", "link-in-text-block", "target-size", "scrollable-region-focusable"]}}`
)

func (b *tab) axe(options string) []finding {
	b.Helper()
	return value[[]finding](b, `axe.run(document, {...`+options+`, resultTypes: ["violations"]}).then(r => r.violations.flatMap(v =>
		v.nodes.map(n => ({Rule: v.id, Help: v.help, Where: n.html.slice(0, 160) + " " + (n.any[0]?.message ?? "")}))))`)
}

// tooSmall lists what one touches that is lower than 44 pixels, the floor that
// this project took (WCAG 2.2, 2.5.5), or narrower than 24 (2.5.8). Links in
// running text, the skip link of keyboards and what is out of sight do not count.
const tooSmall = `[...document.querySelectorAll("a, button, input:not([type=hidden]), select, textarea, summary, [role=button]")].flatMap(e => {
	const box = (e.type === "checkbox" || e.type === "radio" ? e.labels[0] ?? e : e).getBoundingClientRect(); // a label is pressed as well
	const inText = e.tagName === "A" && getComputedStyle(e).display === "inline" || e.matches(".skip");
	const hidden = box.width === 0 || box.height === 0 || !e.checkVisibility({visibilityProperty: true, opacityProperty: true}) || box.right <= 0 || box.bottom <= 0 && box.top < -500;
	return inText || hidden || box.width >= 24 && box.height >= 43.5 ? [] : [e.outerHTML.slice(0, 120) + " is " + Math.round(box.width) + " by " + Math.round(box.height)];
})`

// overflowing names what sticks out at the side, unless the page as a whole
// does not scroll sideways.
const overflowing = `document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("main *, header *, footer *")]
	.filter(e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest("[tabindex='0'], .table-region, svg")).slice(0, 4).map(e => e.outerHTML.slice(0, 120)).concat("width " + document.documentElement.scrollWidth)`

// ownWords lists what would make the browser object to a form by itself.
const ownWords = `[...document.querySelectorAll("form:not([novalidate]) :is([required], [pattern], [min], [max], [type=email], [type=number], [type=url])")].map(e => e.outerHTML.slice(0, 120))`

// inline lists what the content security policy would not run.
const inline = `[...document.querySelectorAll("[style], script:not([src])")].map(e => e.outerHTML.slice(0, 120))
	.concat([...document.querySelectorAll("*")].flatMap(e => [...e.attributes].filter(a => a.name.startsWith("on")).map(a => a.name + " on " + e.tagName)))`

// Every page that anybody reaches by links is accessible in each look at phone
// and desk width, fits a narrow phone, and draws no complaint of the browser.
func TestPages(t *testing.T) {
	p := demo(t)
	seen := map[string]bool{} // a page that the owner and the coach share is looked at once
	for _, v := range visitors {
		var halves [2][]string
		for _, path := range v.pages(t, p) {
			if !seen[kind(path)] {
				halves[len(seen)%2] = append(halves[len(seen)%2], path)
				seen[kind(path)] = true
			}
		}
		for _, half := range halves {
			t.Run(v.who, func(t *testing.T) {
				t.Parallel()
				b := newTab(t, p, 360, 800)
				if v.signIn != nil {
					v.signIn(b)
				}
				for _, path := range half {
					b.look(v.who, path)
				}
			})
		}
	}
}

// look checks one page.
func (b *tab) look(who, path string) {
	b.Helper()
	page := who + " at " + kind(path)
	b.do(chromedp.EmulateViewport(360, 800))
	b.open(path)
	complain := func(what string, list []string) {
		for _, text := range list {
			b.Errorf("%s: %s: %s", page, what, text)
		}
	}
	complain("inline", value[[]string](b, inline))
	complain("the browser would object by itself", value[[]string](b, ownWords))
	complain("too small to touch", value[[]string](b, tooSmall))
	for _, width := range []int64{640, 320} { // 1280 CSS pixels at 200 % and 400 % (WCAG 2.2, 1.4.4 and 1.4.10)
		b.do(chromedp.EmulateViewport(width, 568))
		complain(fmt.Sprintf("wider than %d", width), value[[]string](b, overflowing))
	}
	value[bool](b, axe+`;true`)
	for _, width := range []int64{360, 1280} {
		b.do(chromedp.EmulateViewport(width, 800))
		for _, look := range []string{"light", "dark", "bright"} {
			value[bool](b, `document.documentElement.dataset.theme = "`+look+`", true`)
			rules := allRules
			if look != "light" {
				rules = lookRules
			}
			for _, f := range b.axe(rules) {
				b.Errorf("%s, %s, %d px: %s (%s): %s", page, look, width, f.Rule, f.Help, f.Where)
			}
			b.shoot(who, path, look, width)
		}
	}
}

// shoot takes a picture of the whole page where pictures are asked for.
func (b *tab) shoot(who, path, look string, width int64) {
	b.Helper()
	if *shots == "" || look == "bright" || look == "dark" && width == 1280 {
		return
	}
	picture, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.Fatal(err)
	}
	if err := os.MkdirAll(*shots, 0o755); err != nil {
		b.Fatal(err)
	}
	name := strings.Trim(strings.NewReplacer("/", "_", "?", "_", "{id}", "id", "=", "").Replace(kind(path)), "_")
	if err := os.WriteFile(filepath.Join(*shots, fmt.Sprintf("%s-%s-%d-%s.png", who, name, width, look)), picture, 0o644); err != nil {
		b.Fatal(err)
	}
}
