package faults

import (
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
)

// Whoever starts this program on a released one's backup finds the gym as it
// was: the main pages open, and a result is recorded.
func TestPagesAfterAnUpgradeFromEveryRelease(t *testing.T) {
	files, err := filepath.Glob("../../testdata/upgrade/*.tar")
	if err != nil || len(files) == 0 {
		t.Fatalf("no backup of a release is there (%v)", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".tar"), func(t *testing.T) {
			dir := t.TempDir()
			said, err := run(t, []string{"restore", file}, "ROPEWALK_DATA="+dir)
			if err != nil {
				t.Fatalf("restoring: %v: %s", err, said)
			}
			p := serve(t, "ROPEWALK_DATA="+dir)
			p.ready()
			h := found(t, cluster(t, dir).URL("postgres"))
			opened := h.openPages(p.address)
			status, err := h.hands(p.address).record(t.Context(), newID())
			if status != http.StatusSeeOther {
				t.Errorf("recording a result: status %d, %v", status, err)
			}
			sentence, _, _ := strings.Cut(said, ". ")
			t.Logf("%s; %d pages opened", sentence, opened)
		})
	}
}

// found is the invented gym in a database that is filled already.
func found(t *testing.T, address string) *hall {
	t.Helper()
	h := &hall{t: t, address: address}
	h.gym = ask[uuid.UUID](h, `SELECT gym_id FROM gym WHERE invented`)
	h.athletes = ask[[]uuid.UUID](h, `SELECT array_agg(athlete_id) FROM athlete WHERE gym_id = $1 AND archived_at IS NULL`, h.gym)
	h.person = ask[uuid.UUID](h, `SELECT person_id FROM membership WHERE gym_id = $1 AND role = 'owner' LIMIT 1`, h.gym)
	h.openStore()
	h.coach = h.signIn(map[string]string{"role": string(gym.Owner), "name": "Owner", "person": h.person.String()})
	return h
}

// openPages opens the main pages as an owner and as an athlete, and returns how
// many there are.
func (h *hall) openPages(address string) int {
	h.t.Helper()
	class := ask[uuid.UUID](h, `SELECT class_id FROM enrolment WHERE gym_id = $1 AND until IS NULL LIMIT 1`, h.gym)
	athlete := ask[uuid.UUID](h, `SELECT athlete_id FROM result WHERE gym_id = $1 GROUP BY athlete_id ORDER BY count(*) DESC LIMIT 1`, h.gym)
	name := ask[string](h, `SELECT name FROM athlete WHERE gym_id = $1 AND athlete_id = $2`, h.gym, athlete)
	term := ask[uuid.UUID](h, `SELECT term_id FROM term WHERE gym_id = $1 ORDER BY starts_on LIMIT 1`, h.gym)
	plan := ask[uuid.UUID](h, `SELECT plan_id FROM plan WHERE gym_id = $1 LIMIT 1`, h.gym)
	pages := []string{"/today", "/classes", "/athletes", "/stages", "/reports", "/gym", "/people", "/privacy", "/log", "/data", "/incidents", "/rules", "/ropes", "/ladders",
		"/classes/" + class.String(), "/classes/" + class.String() + "/tests", "/classes/" + class.String() + "/plans", "/classes/" + class.String() + "/check-in",
		"/athletes/" + athlete.String(), "/athletes/" + athlete.String() + "/gate", "/athletes/" + athlete.String() + "/health", "/plans/" + plan.String(),
		"/reports/" + term.String(), "/reports/" + term.String() + "/gym", "/reports/" + term.String() + "/athletes/" + athlete.String()}
	for _, path := range pages {
		h.opens(address+path, h.coach, "")
	}
	h.opens(address+"/athletes/"+athlete.String(), h.coach, name)
	jumper := h.signIn(map[string]string{"role": string(gym.Jumper), "name": name, "athlete": athlete.String()})
	own := []string{"/me", "/me/rates", "/me/results", "/me/stage", "/me/session", "/me/test"}
	for _, path := range own {
		h.opens(address+path, jumper, "")
	}
	return len(pages) + len(own) + 1
}

// opens asks for a page, which must be there and say what it should.
func (h *hall) opens(address, cookie, says string) {
	h.t.Helper()
	request, err := http.NewRequest(http.MethodGet, address, nil)
	if err != nil {
		h.t.Fatal(err)
	}
	request.Header.Set("Cookie", cookie)
	answer, err := http.DefaultTransport.RoundTrip(request)
	if err != nil {
		h.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK || !strings.Contains(string(text), says) {
		h.t.Errorf("%s: status %d, %v; want the page with %q", address, answer.StatusCode, err, says)
	}
}
