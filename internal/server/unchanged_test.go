package server

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
)

// again asks for what the browser has, by the tag of the answer that it has.
func (b *browser) again(path string, had *answer) *answer {
	b.t.Helper()
	b.headers["If-None-Match"] = had.Header.Get("ETag")
	defer delete(b.headers, "If-None-Match")
	return b.get(path)
}

func TestProgramsAreToldThatNothingChanged(t *testing.T) {
	h := newHall(t, "Ana")
	program := h.program(h.token())
	const path = "/api/v1/athletes"
	had := program.get(path).is(http.StatusOK)
	if again := program.again(path, had).is(http.StatusNotModified); again.Text != "" || again.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("the same answer again: %q, %v", again.Text, again.Header)
	}
	h.addAthletes("Ben")
	program.again(path, had).is(http.StatusOK).has(t, "Ana", "Ben")
	h.open().again(path, had).is(http.StatusUnauthorized)
	program.get("/api/v1/terms/" + newID().String() + "/athletes").is(http.StatusNotFound)
}

func TestAFileIsFetchedOnce(t *testing.T) {
	h := newHall(t, "Ana")
	path := "/files/" + h.belongings()["report"].String() + "/download"
	coach := h.as(h.coach)
	had := coach.get(path).is(http.StatusOK)
	if again := coach.again(path, had).is(http.StatusNotModified); again.Text != "" {
		t.Errorf("the file comes again: %q", again.Text)
	}
	h.as(h.addHall("Elm Row").owner).again(path, had).is(http.StatusNotFound)
}

// A board that is connected again is not sent what it shows.
func TestABoardThatComesAgainIsSentWhatChanged(t *testing.T) {
	h, session := running(t, 3)
	coach := h.as(h.coach)
	live := "/sessions/" + session.String() + "/live"
	first := coach.get(live).is(http.StatusOK).has(t, "event: board", "event: beat")
	coach.headers["Last-Event-ID"] = regexp.MustCompile(`(?m)^id: (.*)$`).FindStringSubmatch(first.Text)[1]
	if again := coach.get(live).is(http.StatusOK).has(t, "event: beat"); strings.Contains(again.Text, "event: board") {
		t.Errorf("the same board again:\n%s", again.Text)
	}
	h.press(session, 0, "start").is(http.StatusSeeOther)
	coach.get(live).is(http.StatusOK).has(t, "event: board", "gets ready")
}
