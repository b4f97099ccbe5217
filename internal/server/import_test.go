package server

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// inLine are the names of the class in the order they stand in.
func (h *hall) inLine() []string {
	h.t.Helper()
	var athletes []gym.Athlete
	h.read(h.id, store.AthletesOf(h.class, &athletes))
	names := make([]string, len(athletes))
	for i, athlete := range athletes {
		names[i] = athlete.Name
	}
	return names
}

// file brings in a roster file as far as the preview.
func (h *hall) file(content string) *answer {
	h.t.Helper()
	return h.as(h.coach).upload(h.path("/import"), "file", "roster.csv", []byte(content), form("names", ""))
}

// confirm brings in what a preview shows.
func (h *hall) confirm(preview *answer) *answer {
	h.t.Helper()
	preview.is(http.StatusOK)
	coach := h.as(h.coach)
	return coach.follow(coach.post(h.path("/import/confirm"), preview.form(h.path("/import/confirm"))).leadsTo("/classes/" + h.class.String()))
}

// manyScripts are invented names in the scripts that a roster may bring.
var manyScripts = []string{"Zoë Ångström", "Łukasz Wąż", "Юрий Ветров", "أمل الحبال", "आशा रस्सी", "王小绳", "なわ はるか", "줄 하늘", "กระโดด ใจดี", "שירה חבל", "O'Neill-Smith, Bo"}

func TestImport(t *testing.T) {
	quoted := make([]string, len(manyScripts))
	for i, name := range manyScripts {
		quoted[i] = `"` + name + `"`
	}
	for _, test := range []struct {
		name, file string
		want       []string
	}{
		{"every script", "name\n" + strings.Join(quoted, "\n") + "\n", manyScripts},
		{"with a byte order mark", "\ufeffname,birth year\nAna,2014\nBen,2015\n", []string{"Ana", "Ben"}},
		{"semicolons and CRLF", "name;birth year;pin\r\nAna;2014;1234\r\nBen;2015;\r\n", []string{"Ana", "Ben"}},
		{"names alone, no heading", "Ana\nBen\n", []string{"Ana", "Ben"}},
		{"one bad line among good ones", "name,birth year\nAna,2014\nBen,long ago\nChidi,2012\n", []string{"Ana", "Chidi"}},
		{"a person twice", "name,birth year\nAna,2014\nBen,2012\nANA,2014\n", []string{"Ana", "Ben"}},
		{"two people of one name", "name,birth year\nAna,2014\nAna,2012\n", []string{"Ana", "Ana"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			h := newHall(t)
			preview := h.file(test.file)
			h.confirm(preview).says(fmt.Sprintf("%d in, %d of them new to the gym.", len(test.want), len(test.want)))
			if got := h.inLine(); !slices.Equal(got, test.want) {
				t.Errorf("in the class are %q, want %q", got, test.want)
			}
			again := h.file(test.file)
			h.confirm(again).says("Nobody was added")
			if got := h.inLine(); !slices.Equal(got, test.want) {
				t.Errorf("after the same file again there are %q", got)
			}
		})
	}
}

func TestImportNamesEveryBadLine(t *testing.T) {
	h := newHall(t)
	preview := h.file("name,birth year,pin\nAna,2014,1234\n,2013,\nBen,1700,\nChidi,2012,12\nDora,2011,5678\n")
	preview.is(200).says("Lines that are left out", "3 lines to mend", "1700", "12")
	for _, line := range []string{"3", "4", "5"} {
		preview.says(line)
	}
	h.confirm(preview).says("2 in, 2 of them new")
}

func TestImportOf5000Lines(t *testing.T) {
	h := newHall(t)
	var file strings.Builder
	file.WriteString("name,birth year\n")
	for n := range 5000 {
		fmt.Fprintf(&file, "Läufer %04d,%d\n", n, 2000+n%20)
	}
	h.confirm(h.file(file.String())).says("5000 in, 5000 of them new to the gym.")
	if n := len(h.inLine()); n != 5000 {
		t.Errorf("%d are in the class, want 5000", n)
	}
	h.confirm(h.file(file.String())).says("Nobody was added")
	h.file(file.String() + "One Too Many,2010\n").is(413).says("5,000")
}

func TestImportOfWhatCannotBeRead(t *testing.T) {
	for _, test := range []struct {
		name, file string
		status     int
		says       string
	}{
		{"an empty file", "", 422, "This file is empty."},
		{"a heading alone", "name,birth year\n", 422, "no athletes"},
		{"Latin-1", "name\nJos\xe9 Mu\xf1oz\n", 422, "UTF-8"},
		{"a picture", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", 422, ""},
		{"3 MB", strings.Repeat("Somebody With A Long Name\n", 3<<20/26), 413, "larger than 2 MB"},
		{"nothing but separators", ";;;\n,,,\n", 422, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			h := newHall(t, "Ana")
			a := h.file(test.file).is(test.status)
			a.says("There is a problem", test.says)
			a.form(h.path("/import")) // the form is there for another file
			if got := h.inLine(); len(got) != 1 {
				t.Errorf("in the class are %q, want nobody new", got)
			}
		})
	}
}

// A browser that is still sending must get the sentence, not a broken line.
func TestImportOf50MB(t *testing.T) {
	h := newHall(t)
	coach := h.as(h.coach)
	running := httptest.NewServer(h.routes)
	defer running.Close()
	body, boundary := &bytes.Buffer{}, "b0undary"
	fmt.Fprintf(body, "--%s\r\nContent-Disposition: form-data; name=\"file\"; filename=\"big.csv\"\r\nContent-Type: text/csv\r\n\r\n", boundary)
	body.Write(bytes.Repeat([]byte("Somebody,2012\n"), 50<<20/14))
	fmt.Fprintf(body, "\r\n--%s--\r\n", boundary)
	r, err := http.NewRequestWithContext(t.Context(), "POST", running.URL+h.path("/import"), body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "multipart/form-data; boundary="+boundary)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	for name, value := range coach.cookies {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	answered, err := running.Client().Do(r)
	if err != nil {
		t.Fatalf("the sender saw a broken line: %v", err)
	}
	defer answered.Body.Close()
	if answered.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("status %d, want 413", answered.StatusCode)
	}
}

func TestPastedNames(t *testing.T) {
	h := newHall(t)
	coach := h.as(h.coach)
	coach.get(h.path("")).is(200).says("This class has no athletes yet.", "Bring in names")
	page := coach.get(h.path("/import")).is(200)
	f := page.form(h.path("/import"))
	f.Set("names", "Ana, 2014\nБорис\n\n  Chidi  \n")
	h.confirm(coach.upload(h.path("/import"), "", "", nil, f)).says("3 in, 3 of them new to the gym.")

	f.Set("names", "")
	coach.upload(h.path("/import"), "", "", nil, f).is(422).says("Paste at least one name, or choose a file.")
	typed := "name,birth year\nAna,2014,extra\xe9\n"
	f.Set("names", typed)
	if a := coach.upload(h.path("/import"), "", "", nil, f); a.Code >= 500 {
		t.Errorf("broken text: status %d", a.Code)
	}
}

// Where nobody but a person can tell, the file's line is taken for the one who
// is here, unless the coach says that it is somebody else.
func TestImportAsksWhoSomebodyIs(t *testing.T) {
	for _, test := range []struct {
		name string
		tick bool
		want int
	}{{"the same person", false, 1}, {"somebody else", true, 2}} {
		t.Run(test.name, func(t *testing.T) {
			h := newHall(t, "Ana") // born 2012
			coach := h.as(h.coach)
			preview := h.file("name\nana\n").is(200).says("Is this the same person?", "born 2012")
			f := preview.form(h.path("/import/confirm"))
			if test.tick {
				f.Set("other", "2")
			}
			coach.post(h.path("/import/confirm"), f).is(303)
			if got := h.inLine(); len(got) != test.want {
				t.Errorf("in the class are %q, want %d", got, test.want)
			}
		})
	}
}

// The same name with a year on one line and without on another is one person,
// unless the coach says otherwise.
func TestImportAsksAboutTwoLinesOfOneFile(t *testing.T) {
	h := newHall(t)
	h.confirm(h.file("name,birth year\nAna,2014\nAna,\n"))
	if got := h.inLine(); len(got) != 1 {
		t.Errorf("in the class are %q, want one Ana", got)
	}
}

func TestImportIntoASecondClass(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	coach := h.as(h.coach)
	page := coach.get("/classes/new").is(200)
	f := page.form("/classes")
	f.Set("name", "Saturday Mix")
	f.Set("weekday", "6")
	f.Set("starts_at", "10:00")
	made := coach.post("/classes", f).is(303)
	h.class = parsed(strings.Split(made.Header.Get("Location"), "/")[2])
	h.confirm(h.file("name,birth year\nAna,2012\nChidi,2013\n")).says("2 in, 1 of them new to the gym.")
	coach.get("/athletes").is(200).says("Ana", "Ben", "Chidi")
}

func TestExampleRosterCanBeBroughtIn(t *testing.T) {
	h := newHall(t)
	example := h.as(h.coach).get("/roster-example.csv").is(200)
	h.confirm(h.file(example.Text)).lacks("Nobody was added")
}

func TestNewClass(t *testing.T) {
	h := newHall(t)
	coach := h.as(h.coach)
	f := coach.get("/classes/new").is(200).form("/classes")
	bad := coach.post("/classes", form("id", f.Get("id"), "name", " ", "weekday", "9", "starts_at", "noon", "minutes", "5")).is(422)
	bad.says("Type a name for the class", "Choose the day of the week.", "Type when the class starts", "from 10 to 240")
	if kept := bad.form("/classes"); kept.Get("starts_at") != "noon" || kept.Get("minutes") != "5" {
		t.Errorf("what was typed does not stay: %v", kept)
	}
	for key, value := range map[string]string{"name": "Starters", "weekday": "2", "starts_at": "17:00", "minutes": "45"} {
		f.Set(key, value)
	}
	for range 2 { // the form sent twice
		coach.post("/classes", f).leadsTo("/classes/" + f.Get("id") + "/import")
	}
	coach.get("/classes").is(200).says("Starters", "17:00")
	f.Set("id", newID().String())
	f.Set("name", "  STARTERS ")
	coach.post("/classes", f).is(422).says("There is a class with that name already.")
	var classes []gym.Class
	h.read(h.id, store.Classes(&classes))
	if len(classes) != 2 {
		t.Errorf("%d classes, want 2", len(classes))
	}
}
