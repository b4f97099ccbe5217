package part

import (
	"context"
	"flag"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/a-h/templ"

	"ropewalk.example/web"
)

// go test ./web/part -run TestGallery -gallery DIR writes the gallery with all
// static files to DIR, to be looked at in a browser.
var galleryDir = flag.String("gallery", "", "folder to write the gallery to")

// inside puts children into a part that takes them.
func inside(parent templ.Component, children ...templ.Component) templ.Component {
	return templ.ComponentFunc(func(ctx context.Context, w io.Writer) error {
		return parent.Render(templ.WithChildren(ctx, templ.Join(children...)), w)
	})
}

func html(s string) templ.Component { return templ.Raw(s) }

// rows puts parts into a list, one a row.
func rows(items ...templ.Component) templ.Component {
	all := []templ.Component{html(`<ul class="rows">`)}
	for _, item := range items {
		all = append(all, html(`<li>`), item, html(`</li>`))
	}
	return templ.Join(append(all, html(`</ul>`))...)
}

func section(id, heading string, children ...templ.Component) templ.Component {
	all := []templ.Component{html(`<section aria-labelledby="` + id + `"><h2 id="` + id + `">` + heading + `</h2>`)}
	return templ.Join(append(append(all, children...), html(`</section>`))...)
}

// splitSession is a warm-up and four sets of a 20/10 split.
func splitSession() []Tread {
	treads := []Tread{{Kind: Steady, RPM: 110, Seconds: 120, Part: "Warm-up"}, {Kind: Rest, Seconds: 60}}
	for range 4 {
		for range 5 {
			treads = append(treads,
				Tread{Kind: Steady, RPM: 140, Seconds: 8.6, Reps: 20},
				Tread{Kind: Burst, RPM: 172, Seconds: 3.5, Reps: 10})
		}
		treads = append(treads, Tread{Kind: Rest, Seconds: 90})
	}
	return treads
}

// longSession has more than a hundred treads of four kinds.
func longSession() []Tread {
	treads := splitSession()
	for range 6 {
		for range 8 {
			treads = append(treads,
				Tread{Kind: Steady, RPM: 132, Seconds: 1.4, Reps: 3},
				Tread{Kind: Double, RPM: 160, Seconds: .75, Reps: 1})
		}
		treads = append(treads, Tread{Kind: Rest, Seconds: 45})
	}
	return treads
}

func reserve() []Level {
	levels := []Level{{0, 1}, {120, .95}, {180, 1}}
	at := 180.0
	for i := range 4 {
		levels = append(levels, Level{at + 60, .48 - .03*float64(i)}, Level{at + 150, .96 - .04*float64(i)})
		at += 150.5
	}
	return levels
}

func termChart() Chart {
	weeks := []float64{1, 3, 5, 7, 9}
	words := []string{"Week 1", "Week 3", "Week 5", "Week 7", "Week 9"}
	turning, whole := []float64{118, 121, 127, 133, 136}, []float64{92, 94, 110, 122, 129}
	var series [2]Series
	series[0].Name, series[1].Name = "Turning", "Whole test"
	var ticks []Tick
	for i, week := range weeks {
		series[0].Points = append(series[0].Points, Point{At: week, When: words[i], Value: turning[i], Low: turning[i] - 6, High: turning[i] + 6})
		series[1].Points = append(series[1].Points, Point{At: week, When: words[i], Value: whole[i]})
		ticks = append(ticks, Tick{week, words[i][len("Week "):]})
	}
	return Chart{
		ID: "term", Title: "Rate over the term", When: "Week",
		Finding: "The turning rate rose by 18 rpm since week 1. The whole-test rate rose by 37 rpm: most of that is fewer catches.",
		Series:  series[:], Ticks: ticks, Goals: []Goal{{140, "Gate to stage 6"}},
	}
}

func rosterTable() templ.Component {
	people := []struct{ name, lang, rate, change, catches string }{
		{"Amara Oyelaran-Fisk", "en", "134", "+6", "1"},
		{"نور الحلواني", "ar", "128", "+2", "0"},
		{"Wilhelmina Featherstonehaugh-Abernathy-Okafor", "en", "151", "−3", "2"},
		{"李晓澜", "zh", "96", "0", "4"},
		{"Jo Ek", "sv", "143", "+11", "0"},
	}
	body := []templ.Component{html(`<thead><tr><th scope="col">Name</th><th scope="col" class="num">rpm</th><th scope="col" class="num">since week 3</th><th scope="col" class="num">catches in 30 s</th><th scope="col">Gate</th></tr></thead><tbody>`)}
	for i, p := range people {
		state := GateMet
		if i%2 == 1 {
			state = NotYet
		}
		body = append(body, html(`<tr><th scope="row"><a href="/athlete">`), Name(p.name, p.lang),
			html(`</a></th><td class="num">`+p.rate+`</td><td class="num">`+p.change+`</td><td class="num">`+p.catches+`</td><td>`), StateWord(state), html(`</td></tr>`))
	}
	return inside(TableRegion("roster", "Tuesday Starters, week 9"), append(body, html(`</tbody>`))...)
}

func states() templ.Component {
	var all []templ.Component
	for s := SavedHere; s <= NotYet; s++ {
		all = append(all, StateWord(s))
	}
	return rows(all...)
}

// gallery is a page with every part on it, as m's audience would see it.
func gallery(m Meta) templ.Component {
	return inside(Layout(m),
		ErrorSummary([]FieldError{
			{"rotations", "Rotations must be a whole number from 0 to 999. You typed 8700."},
			{"kind", "Choose how the test was counted."},
		}),
		PageHead("Tuesday Starters · Tue 3 Nov", "Timed test"),
		html(`<p class="lead">Everyone turns for 30 seconds. Then type what each person made.</p>`),
		section("h-plan", "Plan",
			Steps(StepLine{ID: "plan", Title: "Plan for Amara", Treads: splitSession(), Balance: reserve()}),
			inside(Actions(), html(`<button class="go">Send to phones</button><a class="button quiet" href="/print">Print the plan</a>`))),
		section("h-long", "A long session", Steps(StepLine{ID: "long", Title: "Long session", Treads: longSession()})),
		section("h-short", "A short one",
			Steps(StepLine{
				ID: "short", Title: "Test and gate", Gates: []Moment{{110, "gate"}}, Catches: []float64{22, 104},
				Treads: []Tread{{Kind: Steady, RPM: 130, Seconds: 40}, {Kind: Rest, Seconds: 30}, {Kind: Burst, RPM: 168, Seconds: 10}, {Kind: Rest, Seconds: 20}, {Kind: Double, RPM: 150, Seconds: 20, Reps: 25}},
			})),
		section("h-live", "Going on", Steps(StepLine{ID: "live", Title: "Session", Live: true, Now: 342, Treads: splitSession()})),
		section("h-lists", "In lists", rows(
			templ.Join(html(`<span>`), Name("Amara Oyelaran-Fisk", "en"), html(`</span>`), StepThumb(splitSession(), ""), StateText(NotSent, "Not sent yet (3)")),
			templ.Join(html(`<span>`), Name("อ. สุดา ใจงาม", "th"), html(`</span>`), StepThumb(longSession(), "Long session"), StateWord(Sent)),
			templ.Join(html(`<span>`), Name("אורי לבנון", "he"), html(`</span>`), StepThumb(nil, "")),
		)),
		section("h-chart", "Rates", inside(BigFacts(),
			BigFact("Turning rate", "136 ± 5", "rpm", "from 3 tests"), BigFact("Whole test", "129", "rpm", "week 9"), BigFact("Catches", "0.8", "in 30 s", "−1.4 since week 3")),
			RateChart(termChart())),
		section("h-fields", "Form", html(`<form method="post" action="/results">`),
			Field(Input{Kind: WholeNumber, Name: "rotations", Label: "Rotations", Hint: "Count one foot and double it.", Value: "8700", Unit: "in 30 s", Chars: 5, Error: "Rotations must be a whole number from 0 to 999. You typed 8700.", EnterKey: "next"}),
			Field(Input{Name: "who", Label: "Name", Autocomplete: "name", Optional: true}),
			Field(Input{Kind: Date, Name: "day", Label: "Day", Value: "2026-11-03"}),
			Field(Input{Kind: Select, Name: "rope", Label: "Rope", Value: "b4", Options: []Option{{Value: "b4", Text: "B4 · beaded, 2.6 m"}, {Value: "p1", Text: "P1 · cord, 2.8 m"}}}),
			Field(Input{Kind: Radios, Name: "kind", Label: "How was it counted?", Error: "Choose how the test was counted.", Options: []Option{{Value: "taps", Text: "By taps", Hint: "On a phone or tablet."}, {Value: "typed", Text: "By ear, then typed"}}}),
			Field(Input{Kind: Radios, Name: "effort", Label: "How hard was it?", InRow: true, Value: "right", Options: []Option{{Value: "easy", Text: "Easy"}, {Value: "right", Text: "Right"}, {Value: "hard", Text: "Hard"}}}),
			Field(Input{Kind: Checks, Name: "days", Label: "Days", InRow: true, Values: []string{"tue"}, Options: []Option{{Value: "mon", Text: "Mon"}, {Value: "tue", Text: "Tue"}, {Value: "wed", Text: "Wed"}}}),
			Field(Input{Kind: Checkbox, Name: "pain", Label: "Something hurts", Hint: "Your coach and you can see this."}),
			Field(Input{Kind: LongText, Name: "note", Label: "Note", Optional: true}),
			Field(Input{Kind: File, Name: "roster-file", Label: "Roster", Hint: "A CSV file with one name a line."}),
			html(`<p class="buttons"><button>Save result</button> <button class="quiet">Take off last tap</button> <button class="stop">Stop: it hurts</button> <button class="link">Undo</button> <button disabled>Saved</button></p></form>`)),
		section("h-table", "Table", Progress(17, 24, "17 of 24 typed"), rosterTable(),
			inside(Facts(), inside(Fact("Stage"), html("6 · bursts")), inside(Fact("Base rate"), Rate(128, 5, 3)), inside(Fact("Change"), Change(-4, "since week 3")), inside(Fact("Rope"), html("B4, beaded, 2.6 m")))),
		section("h-states", "States", states(),
			inside(Notice(ToneLook), html("<p>Check: 480? Last time 118.</p>")),
			inside(Notice(ToneStop), html("<p>Bea said that her knee hurts. Her plan is held until you let it go on.</p>")),
			inside(Notice(ToneDone), html("<p>Everyone is in. 24 of 24 saved.</p>"))),
		section("h-empty", "Nothing yet", Empty("No tests yet.", "A first test takes 30 seconds.", Link{"Give a timed test", "/tests/new"})),
		section("h-problem", "Away", ProblemPage("This page is not here", "The address may be old. Go back to Today.", Link{"Today", "/"})),
	)
}

func coachMeta() Meta {
	return Meta{
		Title: "Timed test", Audience: Coach, GymName: "Tallowmere Rope Hall", Who: "Marit Okonjo-Lindqvist", Path: "/gallery", Demo: true, Error: true,
		Nav: []NavItem{{"Today", "/", IconToday, true}, {"Roster", "/roster", IconRoster, false}, {"Stages", "/stages", IconStages, false}, {"Plans", "/plans", IconPlans, false}},
	}
}

func render(t *testing.T, c templ.Component) string {
	t.Helper()
	var b strings.Builder
	if err := c.Render(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestGallery(t *testing.T) {
	page := render(t, gallery(coachMeta()))
	if *galleryDir != "" {
		writeGallery(t, page)
	}

	for _, banned := range []string{" style=", "<style", "onclick=", "javascript:"} {
		if strings.Contains(page, banned) {
			t.Errorf("the page has %q, which the content security policy blocks", banned)
		}
	}

	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(`\sid="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if ids[m[1]] {
			t.Errorf("id %q is there twice", m[1])
		}
		ids[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`\s(?:for|aria-labelledby|aria-describedby)="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		for _, id := range strings.Fields(m[1]) {
			if !ids[id] {
				t.Errorf("%s points at nothing", strings.TrimSpace(m[0]))
			}
		}
	}
	for _, m := range regexp.MustCompile(`href="#([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if !ids[m[1]] {
			t.Errorf("the link to #%s leads nowhere", m[1])
		}
	}

	for _, want := range []string{
		`<html lang="en" dir="ltr" data-theme="system">`,
		`<title>Error: Timed test · Tallowmere Rope Hall</title>`,
		`<div id="say" role="status" aria-live="polite">`,
		`<div id="alert" role="alert">`,
		`<bdi class="name" dir="auto" lang="ar">`,
		`aria-current="page"`,
		`inputmode="numeric"`,
		`aria-invalid="true"`,
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	if strings.Contains(page, `type="number"`) {
		t.Error("a number is asked for with type=number")
	}
}

func TestEveryPictureSpeaks(t *testing.T) {
	page := render(t, gallery(coachMeta()))
	pictures := regexp.MustCompile(`<svg[^>]*role="img"[^>]*>`).FindAllString(page, -1)
	if len(pictures) == 0 {
		t.Fatal("the gallery has no pictures")
	}
	for _, picture := range pictures {
		if !strings.Contains(picture, "aria-label") {
			t.Errorf("a picture has no words: %s", picture)
		}
	}
}

func writeGallery(t *testing.T, page string) {
	t.Helper()
	write := func(name string, body []byte) {
		name = filepath.Join(*galleryDir, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, body, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for path, file := range web.Files() {
		write(path, file.Body)
	}
	write("index.html", []byte(page))
	for _, theme := range []Theme{Light, Dark, Bright} {
		m := coachMeta()
		m.Theme = theme
		write(string(theme)+".html", []byte(render(t, gallery(m))))
	}
	m := coachMeta()
	m.Lang = "ar"
	write("rtl.html", []byte(render(t, gallery(m))))
}
