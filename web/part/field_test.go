package part

import (
	"strings"
	"testing"

	"github.com/a-h/templ"
)

func TestField(t *testing.T) {
	tests := []struct {
		name    string
		in      Input
		has     []string
		hasNone []string
	}{
		{
			"a count is typed as text with the number keys",
			Input{Kind: WholeNumber, Name: "rotations", Label: "Rotations", Value: "87", EnterKey: "next"},
			[]string{`type="text"`, `inputmode="numeric"`, `autocomplete="off"`, `enterkeyhint="next"`, `value="87"`, `<label for="rotations"`},
			[]string{`type="number"`, "aria-invalid", "aria-describedby"},
		},
		{
			"an error is tied to its field and says that it is one",
			Input{Name: "who", Label: "Name", Hint: "As on the list.", Error: "Type a name."},
			[]string{`aria-describedby="who-hint who-error"`, `aria-invalid="true"`, `id="who-error"`, "Error: </span>Type a name."},
			nil,
		},
		{
			"the id may differ from the name",
			Input{Name: "rotations", ID: "r-7-2", Label: "Rotations"},
			[]string{`id="r-7-2"`, `name="rotations"`, `for="r-7-2"`},
			nil,
		},
		{
			"what was typed is escaped",
			Input{Name: "who", Label: "Name", Value: `"><script>`},
			[]string{`&#34;&gt;&lt;script&gt;`},
			[]string{"<script>"},
		},
		{
			"the first choice carries the id of the question",
			Input{Kind: Radios, Name: "kind", Label: "Kind", Value: "b", Options: []Option{{Value: "a", Text: "A"}, {Value: "b", Text: "B"}}},
			[]string{"<fieldset", "<legend", `id="kind" name="kind" value="a"`, `id="kind-2" name="kind" value="b" checked`},
			nil,
		},
		{
			"several boxes keep what was ticked",
			Input{Kind: Checks, Name: "days", Label: "Days", Values: []string{"tue"}, Options: []Option{{Value: "mon", Text: "Mon"}, {Value: "tue", Text: "Tue"}}},
			[]string{`value="tue" checked`},
			[]string{`value="mon" checked`},
		},
		{
			"a list marks the choice",
			Input{Kind: Select, Name: "rope", Label: "Rope", Value: "p1", Options: []Option{{Value: "b1", Text: "B1"}, {Value: "p1", Text: "P1"}}},
			[]string{`<option value="p1" selected>`},
			[]string{`<option value="b1" selected>`},
		},
		{
			"a file is never filled in",
			Input{Kind: File, Name: "roster", Label: "Roster", Value: "x"},
			[]string{`type="file"`},
			[]string{`value="x"`},
		},
		{
			"a sign-in code can be filled in by the phone",
			Input{Kind: OneTimeCode, Name: "code", Label: "Code"},
			[]string{`autocomplete="one-time-code"`, `inputmode="numeric"`},
			nil,
		},
		{
			"attributes of the page's own",
			Input{Name: "rope", Label: "Rope", Attributes: templ.Attributes{"data-row": "7"}},
			[]string{`data-row="7"`},
			nil,
		},
		{
			"a ticked box",
			Input{Kind: Checkbox, Name: "pain", Label: "Something hurts", Checked: true},
			[]string{`type="checkbox"`, `value="yes"`, " checked", `<label for="pain"`},
			nil,
		},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			page := render(t, Field(test.in))
			for _, want := range test.has {
				if !strings.Contains(page, want) {
					t.Errorf("lacks %s:\n%s", want, page)
				}
			}
			for _, unwanted := range test.hasNone {
				if strings.Contains(page, unwanted) {
					t.Errorf("has %s:\n%s", unwanted, page)
				}
			}
		})
	}
}

func TestErrorSummaryOfNothingIsNothing(t *testing.T) {
	if page := render(t, ErrorSummary(nil)); page != "" {
		t.Errorf("got %q", page)
	}
}

func TestLayout(t *testing.T) {
	tests := []struct {
		name    string
		meta    Meta
		has     []string
		hasNone []string
	}{
		{
			"nobody is signed in", Meta{Title: "Sign in", Bare: true},
			[]string{`<body class="for-nobody no-nav">`, "<title>Sign in · Ropewalk</title>", `href="/help"`, `role="status"`},
			[]string{"<nav", "/sign-out", "/theme"},
		},
		{
			"a board that asks again without scripts", Meta{Title: "Board", Audience: Coach, Refresh: 20, Scripts: []string{SSE}},
			[]string{`<noscript><meta http-equiv="refresh" content="20"></noscript>`, "htmx-ext-sse", `class="for-coach no-nav"`},
			nil,
		},
		{
			"the chosen look", Meta{Title: "Today", Theme: "bright", Lang: "he"},
			[]string{`data-theme="bright"`, `dir="rtl"`, `<option value="bright" selected>`},
			nil,
		},
		{
			"a look that does not exist", Meta{Title: "Today", Theme: "neon"},
			[]string{`data-theme="system"`},
			[]string{"neon"},
		},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			page := render(t, Layout(test.meta))
			for _, want := range test.has {
				if !strings.Contains(page, want) {
					t.Errorf("lacks %s:\n%s", want, page)
				}
			}
			for _, unwanted := range test.hasNone {
				if strings.Contains(page, unwanted) {
					t.Errorf("has %s", unwanted)
				}
			}
		})
	}
}
