package tongue

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// hissing is a made-up language of a few texts.
func hissing() *Language {
	return &Language{
		Tag: "x-hiss", Dir: "ltr", Days: strings.Fields("mi ti wi di fi si ni"), Months: strings.Fields("ja fe ma ap mi jn jl au se ok no de"), Date: "{day}. {month}, {weekday}",
		Decimal: ",",
		Texts: map[string]string{
			"Save": "Ssave", "{1} here, {2} away": "{2} sselsewhere, {1} ssere", "1 test": "ssone tesst", "{1} tests": "{1} tesssts",
			"Rest": "Resst", "Came to {1}.": "Wass at {1}.", "{1} and {2}": "{1} ss {2}", "counted by the {1}": "by the {1} ssummed", "coach": "cosh",
			"Since {1}": "Ssince {1}", "One double, then stop": "One ss, then sstop", "{1} more {2} {3}": "{3} {2} {1} sstill", "attempt at “{1}”": "try of “{1}”", "with {1} good tries": "of {1} ssood",
		},
	}
}

func TestTextsAreSaid(t *testing.T) {
	l := hissing()
	for english, want := range map[string]string{
		"Save":                   "Ssave",
		"  Save\n":               "  Ssave ",
		"save":                   "ssave",
		"rest":                   "resst",
		"12 here, 2 away":        "2 sselsewhere, 12 ssere",
		"1 test":                 "ssone tesst",
		"3 tests":                "3 tesssts",
		"Came to 3 tests.":       "Wass at 3 tesssts.",
		"Came to Amara’s. Rest.": "Wass at Amara’s. Resst.",
		"Rest · counted by the coach · 30\u00a0s":    "Resst · by the cosh ssummed · 30\u00a0s",
		"10 · One double, then stop":                 "10 · One ss, then sstop",
		"Since Thu 5 Nov":                            "Ssince 5. no, di",
		"2 more attempt at “Rest” with 3 good tries": "of 3 ssood try of “Resst” 2 sstill",
		"Nobody said this before":                    "Nobody said this before",
		"87":                                         "87",
		"0.28 s":                                     "0,28 s",
		"1.5":                                        "1,5",
		"Came to 2.5 and 7.":                         "Wass at 2,5 ss 7.",
		"v1.2 at 127.0.0.1, 1.2.3":                   "v1.2 at 127.0.0.1, 1.2.3",
		"":                                           "",
	} {
		if got := l.Text(english); got != want {
			t.Errorf("%q is said as %q, want %q", english, got, want)
		}
	}
}

func TestPagesAreSaid(t *testing.T) {
	l := hissing()
	var got bytes.Buffer
	err := l.Page(&got, []byte(`<!DOCTYPE html><html lang="en" dir="ltr" data-theme="dark"><head><title>Rest</title><script>let Save = "Save"</script></head>`+
		`<body><h1>Rest</h1><p>Came to <bdi>Save</bdi></p><p translate="no">Save<br>Save</p><input type="submit" value="Save"><input value="Save">`+
		`<a title="Save" href="/Save" data-words="{&#34;n&#34;:&#34;{here} here, {away} away&#34;}">3 tests &amp; more</a><noscript><p>Save</p></noscript><textarea>Save</textarea><p lang="ja">Save</p><p lang="en">Save</p></body></html>`))
	if err != nil {
		t.Fatal(err)
	}
	want := `<!DOCTYPE html><html lang="x-hiss" dir="ltr" data-theme="dark"><head><title>Resst</title><script>let Save = "Save"</script></head>` +
		`<body><h1>Resst</h1><p>Came to <bdi>Save</bdi></p><p translate="no">Save<br>Save</p><input type="submit" value="Ssave"><input value="Save">` +
		`<a title="Ssave" href="/Save" data-words="{&#34;n&#34;:&#34;{away} sselsewhere, {here} ssere&#34;}">3 tests &amp; more</a><noscript><p>Ssave</p></noscript><textarea>Save</textarea><p lang="ja">Save</p><p lang="x-hiss">Ssave</p></body></html>`
	if got.String() != want {
		t.Errorf("got  %s\nwant %s", got.String(), want)
	}
}

// A language without texts changes nothing but the page's own language.
func TestNothingIsLost(t *testing.T) {
	empty := &Language{Tag: "en", Dir: "ltr"}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		if got := empty.Text(text); got != text {
			t.Fatalf("%q became %q", text, got)
		}
		full := hissing()
		value := rapid.StringMatching(`[A-Z][a-z]{3,9}(-[A-Z][a-z]{2,5})?`).Filter(func(s string) bool { return full.Texts[s] == "" && full.Texts[capital(s)] == "" }).Draw(t, "name")
		if got := full.Text("Came to " + value + "."); got != "Wass at "+value+"." {
			t.Fatalf("the name %q became %q", value, got)
		}
	})
}

func FuzzPage(f *testing.F) {
	f.Add([]byte(`<p>Save</p><bdi>Rest`))
	f.Add([]byte(`<noscript><p title="Rest">3 tests</noscript></p>`))
	f.Fuzz(func(t *testing.T, page []byte) {
		var got bytes.Buffer
		if err := hissing().Page(&got, page); err != nil {
			return // what the tokenizer refuses is no page
		}
	})
}
