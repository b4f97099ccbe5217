// Package part holds the pieces pages are made of: the layout, fields, tables,
// words for states, and the pictures. It formats what it is given and works
// out where lines go; it computes no rate, plan or judgement. It imports only
// package web and the standard library.
package part

import (
	"slices"
	"strings"

	"ropewalk.example/web"
)

// Meta is what the layout needs to know about a page.
type Meta struct {
	Title    string // what the page is about, as its heading says it
	Lang     string // BCP 47 tag; "en" if empty
	Theme    Theme
	Audience Audience
	Nav      []NavItem
	GymName  string
	Who      string   // name of the person signed in; empty: nobody is
	Account  string   // address of that person's own account; empty: has none
	Path     string   // address of this page, to come back to after changing the look
	Demo     bool     // invented data: says so on every page
	Error    bool     // the page carries a problem; its title says so
	Wide     bool     // boards, rosters and reports: use the whole width
	Paper    bool     // made to be printed
	Bare     bool     // no navigation and no footer: a session on a phone, sign-in
	Plain    bool     // only the scripts that are named: an athlete's pages
	Scripts  []string // static files beyond the two every page has, such as SSE
	Tongues  []Tongue // languages to choose from; none: only this one
	Refresh  int      // seconds after which a browser without scripts asks again; 0: never
}

// Audience is whom a page is for. It sets the size of everything one taps.
type Audience string

const (
	Nobody  Audience = "nobody"
	Coach   Audience = "coach"
	Athlete Audience = "athlete"
	Owner   Audience = "owner"
)

// Theme is the look a person chose.
type Theme string

const (
	System Theme = "system"
	Light  Theme = "light"
	Dark   Theme = "dark"
	Bright Theme = "bright" // bright light: black on white, no tints
)

// ThemeOf returns the theme called name, or System if there is none.
func ThemeOf(name string) Theme {
	switch theme := Theme(name); theme {
	case Light, Dark, Bright:
		return theme
	default:
		return System
	}
}

// Tongue is a language to choose.
type Tongue struct {
	Tag    string // BCP 47
	Name   string // in itself
	Chosen bool
	Unread bool // nobody who speaks it has looked at it yet
}

// NavItem is one place in the bar.
type NavItem struct {
	Text    string
	Href    string
	Icon    IconName
	Current bool
}

// Link is a way on: words and an address.
type Link struct {
	Text string
	Href string
}

// Scripts a page may add to Meta.Scripts.
const (
	SSE   = "vendor/htmx-ext-sse@2.2.4/sse.min.js"
	Morph = "vendor/idiomorph@0.8.0/idiomorph-ext.min.js"
)

const (
	styleSheet = "css/app.css"
	printSheet = "css/print.css"
	htmx       = "vendor/htmx.org@2.0.11/htmx.min.js"
	appScript  = "js/app.js"
	textFont   = "vendor/atkinson-hyperlegible-next@5.3.0/atkinson-hyperlegible-next-latin-wght-normal.woff2"
	figureFont = "vendor/sometype-mono@5.3.0/sometype-mono-latin-wght-normal.woff2"
)

// htmxConfig keeps htmx inside a strict content security policy, keeps no
// pages in the browser's storage, and shows the answers 409 and 422.
const htmxConfig = `{"allowEval":false,"includeIndicatorStyles":false,"allowScriptTags":false,` +
	`"selfRequestsOnly":true,"historyCacheSize":0,"refreshOnHistoryMiss":true,"scrollBehavior":"auto",` +
	`"responseHandling":[{"code":"204","swap":false},{"code":"[23]..","swap":true},` +
	`{"code":"422","swap":true},{"code":"409","swap":true},{"code":"[45]..","swap":false,"error":true}]}`

func (m Meta) lang() string {
	if m.Lang == "" {
		return "en"
	}
	return m.Lang
}

// dir is the writing direction of the page's language.
func (m Meta) dir() string {
	language, _, _ := strings.Cut(m.lang(), "-")
	switch language {
	case "ar", "fa", "he", "ur", "yi":
		return "rtl"
	default:
		return "ltr"
	}
}

func (m Meta) title() string {
	title := m.Title
	if m.Error {
		title = wordError + ": " + title
	}
	if m.GymName != "" {
		return title + " · " + m.GymName
	}
	return title + " · " + wordApp
}

// bodyClass tells the style sheet whom the page is for.
func (m Meta) bodyClass() string {
	class := "for-" + string(m.Audience)
	if m.Audience == "" {
		class = "for-" + string(Nobody)
	}
	if m.Bare || len(m.Nav) == 0 {
		class += " no-nav"
	}
	if m.Wide {
		class += " wide"
	}
	return class
}

// unread tells whether the language chosen still needs a reader.
func (m Meta) unread() bool {
	return slices.ContainsFunc(m.Tongues, func(t Tongue) bool { return t.Chosen && t.Unread })
}

func (m Meta) theme() string { return string(ThemeOf(string(m.Theme))) }

// isModule reports whether the script called name is one of ours; vendored
// files are classic scripts.
func isModule(name string) bool { return !strings.HasPrefix(name, "vendor/") }

func asset(name string) string { return web.Asset(name) }
