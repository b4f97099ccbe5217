package server

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// next is the link to the rows that follow.
var next = regexp.MustCompile(`rel="next" href="([^"]+)"`)

// Long lists come page by page, without scripts, each row once; a page asks the
// database no more often than a short list does.
func TestLongListsGoOnPageByPage(t *testing.T) {
	h := newHall(t, "Ana")
	term := h.belongings()["term"].String()
	ana := h.athletes[0].AthleteID
	const rows = 130
	started := h.now.AddDate(-3, 0, 0)
	lists := []struct {
		path string
		who  gym.Who
		row  string // how the nth row reads
		add  func(ctx context.Context, tx *store.Tx, n int, at time.Time) error
	}{
		{"/athletes/" + ana.String() + "/results", h.coach, "%d rotations", func(ctx context.Context, tx *store.Tx, n int, at time.Time) error {
			rotations, seconds := 1000+n, 60.0
			_, err := tx.AddResult(ctx, gym.Result{ResultID: newID(), AthleteID: ana, Protocol: "base", Day: day(at), TakenAt: at, Rotations: &rotations, Seconds: &seconds,
				Step: "bounce", RopeKind: "beaded", CountedBy: "coach", Timing: "hand", KeptOdd: true, RecordedAt: at, RecordedBy: h.coach.PersonID})
			return err
		}},
		{"/incidents", h.coach, "fell over rope %d.", func(ctx context.Context, tx *store.Tx, n int, at time.Time) error {
			_, err := tx.AddIncident(ctx, gym.Incident{IncidentID: newID(), ClassID: h.class, HappenedAt: at, What: fmt.Sprintf("fell over rope %d.", 1000+n), Place: "hall",
				SeenBy: "nobody", Done: "ice", RecordedAt: at, RecordedBy: h.coach.PersonID})
			return err
		}},
		{"/reports/" + term, h.coach, "", func(ctx context.Context, tx *store.Tx, _ int, at time.Time) error {
			_, err := tx.AddReport(ctx, gym.Report{ReportID: newID(), Kind: gym.ReportGym, Format: gym.FormatCSV, AsOf: day(at), AskedAt: at, AskedBy: h.coach.PersonID})
			return err
		}},
		{"/data", h.owner, "", func(ctx context.Context, tx *store.Tx, _ int, at time.Time) error {
			_, err := tx.AddReport(ctx, gym.Report{ReportID: newID(), Kind: gym.ReportGymData, Format: gym.FormatZip, AsOf: day(at), AskedAt: at, AskedBy: h.owner.PersonID})
			return err
		}},
		{"/log", h.owner, "looked %d times", func(ctx context.Context, tx *store.Tx, n int, at time.Time) error {
			return tx.Note(ctx, newID(), at, h.coach.PersonID, fmt.Sprintf("looked %d times", 1000+n), "gym", h.id)
		}},
	}
	for _, l := range lists {
		reader := h.as(l.who)
		trips := func(path string) int64 {
			reader.get(path).is(http.StatusOK) // warm: statements are prepared once
			before := h.trips.Load()
			reader.get(path).is(http.StatusOK)
			return h.trips.Load() - before
		}
		few := trips(l.path)
		h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
			for n := range rows {
				if err := l.add(ctx, tx, n, started.Add(time.Duration(n)*time.Hour)); err != nil {
					return err
				}
			}
			return nil
		})
		if many := trips(l.path); many != few {
			t.Errorf("%s: %d round trips for a short list, %d for a long one", l.path, few, many)
		}
		seen, pages, files := map[string]int{}, 0, 0
		for path := l.path; path != ""; pages++ {
			body := reader.get(path).is(http.StatusOK).Text
			for n := range rows {
				row := fmt.Sprintf(l.row, 1000+n)
				seen[row] += strings.Count(body, row)
			}
			files += strings.Count(body, `href="/files/`)
			path = ""
			if link := next.FindStringSubmatch(body); link != nil {
				path = strings.ReplaceAll(link[1], "&amp;", "&")
			}
		}
		if pages < 2 {
			t.Errorf("%s: %d rows on one page", l.path, rows)
		}
		if l.row == "" {
			if files < rows {
				t.Errorf("%s: %d files on %d pages, want %d", l.path, files, pages, rows)
			}
			continue
		}
		for n := range rows {
			if row := fmt.Sprintf(l.row, 1000+n); seen[row] != 1 {
				t.Errorf("%s says %q %d times on %d pages", l.path, row, seen[row], pages)
			}
		}
	}
	log := h.as(h.owner).get("/log.csv").is(http.StatusOK).Text
	if n := strings.Count(log, "looked 1"); n != rows {
		t.Errorf("the log as a file has %d of %d lines", n, rows)
	}
}

// A gym of any size is told in parts: each athlete once, on the roster and to
// programs, with the rows that go with each.
func TestManyAthletesComeInParts(t *testing.T) {
	const many = 2100
	h := newHall(t, "Ana")
	term := h.belongings()["term"].String()
	fresh := make([]store.NewAthlete, many)
	for n := range fresh {
		name := fmt.Sprintf("Jumper %d.", 10000+n)
		fresh[n] = store.NewAthlete{Athlete: gym.Athlete{AthleteID: newID(), Name: name, BirthYear: 2012}, NameKey: name}
	}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		_, _, err := tx.AddAthletes(ctx, fresh, h.now)
		return err
	})
	program := h.program(h.token())
	for _, path := range []string{"/api/v1/athletes", "/api/v1/terms/" + term + "/athletes"} {
		seen, parts := map[string]int{}, 0
		for at := path; at != "" && parts < many; parts++ {
			var answer struct {
				Items []struct {
					ID string `json:"athlete_id"`
				}
				Next string
			}
			if err := json.Unmarshal([]byte(program.get(at).is(http.StatusOK).Text), &answer); err != nil {
				t.Fatal(err)
			}
			for _, item := range answer.Items {
				seen[item.ID]++
			}
			at = answer.Next
		}
		if parts < 3 || len(seen) < many {
			t.Errorf("%s: %d athletes in %d parts", path, len(seen), parts)
		}
		for id, times := range seen {
			if times != 1 {
				t.Errorf("%s: athlete %s comes %d times", path, id, times)
			}
		}
	}
	program.get("/api/v1/athletes?after=moon").is(http.StatusUnprocessableEntity)
	coach := h.as(h.coach)
	first := coach.get("/athletes").is(http.StatusOK).Text
	link := next.FindStringSubmatch(first)
	if link == nil {
		t.Fatal("the roster does not go on")
	}
	rest := coach.get(link[1]).is(http.StatusOK).Text
	for _, a := range fresh {
		if n := strings.Count(first, a.Name) + strings.Count(rest, a.Name); n != 1 {
			t.Fatalf("the roster names %s %d times", a.Name, n)
		}
	}
}
