package server

import (
	"bytes"
	"os/exec"
	"strings"
	"testing"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web/tongue"
)

// A family sees the own report of a term, as page and as file: with what the
// coach put into it, without drafts, and nothing of anybody else.
func TestFamiliesSeeTheOwnReport(t *testing.T) {
	h := newHall(t, "Ana Quill", "Ben Ashby")
	ids := h.belongings()
	term := ids["term"].String()
	h.counted(1, "base", 131, 60, 0)
	write := func(n int, comment, show string) {
		path := "/reports/" + term + "/athletes/" + h.athletes[n].AthleteID.String() + "/comment"
		f := h.as(h.coach).get(path).is(200).form(path)
		f.Set("comment", comment)
		f.Set("show", show)
		h.as(h.coach).post(path, f).is(303)
	}
	write(0, "Lands softly now.", "yes")
	write(0, "A thought that is not ready.", "")
	write(1, "Keeps the beat.", "yes")

	roles := h.everyRole()
	for from, family := range map[string]*browser{"/me": roles[gym.Jumper], "/child": roles[gym.Guardian]} {
		for _, path := range []string{from + "/report", from + "/report/" + term} {
			family.get(path).is(200).says("Ana Quill", "Lands softly now.", "Autumn", "Your gym and you can see this").
				lacks("Ben", "Keeps the beat.", "not ready", "Write the comment")
		}
		for paper, points := range map[string]string{"": "595.28 x 841.89 pts (A4)", "?paper=letter": "612 x 792 pts (letter)"} {
			a := family.get(from + "/report/" + term + "/pdf" + paper).is(200)
			if a.Header.Get("Content-Type") != "application/pdf" {
				t.Errorf("%s: the file is %s", from, a.Header.Get("Content-Type"))
			}
			text, about := poppler(t, []byte(a.Text), "pdftotext", "-", "-"), poppler(t, []byte(a.Text), "pdfinfo", "-")
			if !strings.Contains(text, "Ana Quill") || !strings.Contains(text, "Lands softly now.") || strings.Contains(text, "Ben") || strings.Contains(text, "not ready") {
				t.Errorf("%s: the file reads\n%s", from, text)
			}
			if !strings.Contains(about, "Pages:           1\n") || !strings.Contains(about, points) {
				t.Errorf("%s: want one page of %s\n%s", from, points, about)
			}
		}
		family.get(from + "/report/" + term + "/pdf?paper=moon").is(404)
		family.get(from + "/report/" + newID().String()).is(404)
		family.get(from + "/report/" + newID().String() + "/pdf").is(404)
		family.get("/reports/" + term + "/athletes/" + h.athletes[0].AthleteID.String()).is(403)
	}
	h.as(h.jumper(1)).get("/me/report").is(200).says("Ben Ashby", "Keeps the beat.").lacks("Ana", "Lands softly")
}

// A family reads the file in the language it reads pages in.
func TestTheOwnFileSpeaksTheFamilysLanguage(t *testing.T) {
	h := newHall(t, "Ana Quill")
	h.spanish()
	path := "/me/report/" + h.belongings()["term"].String() + "/pdf"
	reader := h.as(h.jumper(0))
	for language, want := range map[string]string{"": "Rates", "es": "Ritmos", "xx": "Rates"} {
		reader.cookies[languageCookie] = language
		if text := poppler(t, []byte(reader.get(path).is(200).Text), "pdftotext", "-", "-"); !strings.Contains(text, want) || !strings.Contains(text, "Ana Quill") {
			t.Errorf("language %q: the file does not say %q:\n%s", language, want, text)
		}
	}
}

// spanish lets the site speak Spanish beside English.
func (s *site) spanish() {
	s.t.Helper()
	languages, err := tongue.Load()
	if err != nil {
		s.t.Fatal(err)
	}
	s.server.Languages = languages
	s.routes = s.server.Routes()
}

// Before there is a term there is no report, and the page says so.
func TestNoTermNoReport(t *testing.T) {
	h := newHall(t, "Ana")
	h.as(h.jumper(0)).get("/me/report").is(200).says("No term yet.")
}

// poppler reads a PDF as another program does.
func poppler(t *testing.T, pdf []byte, name string, args ...string) string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), name, args...)
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return string(out)
}
