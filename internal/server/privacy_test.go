package server

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// askFor makes the gym ask a guardian of everybody under an age.
func (h *hall) askFor(age int) {
	h.t.Helper()
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error { return tx.SetConsentAge(ctx, age) })
}

// agree notes that a guardian of the n-th athlete agrees, as a coach does.
func (h *hall) agree(n int, do string, purposes ...string) *answer {
	h.t.Helper()
	path := "/athletes/" + h.athletes[n].AthleteID.String() + "/consents"
	h.now = h.now.Add(time.Minute) // the newest word counts
	f := form("id", newID().String(), "do", do, "by_name", "Dora", "how", "paper")
	for _, purpose := range purposes {
		f.Add("purpose", purpose)
	}
	return h.as(h.coach).post(path, f)
}

// Without consent nothing of a minor is kept, and the pages say so.
func TestNothingIsKeptWithoutConsent(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.askFor(16)
	coach := h.as(h.coach)
	ana := "/athletes/" + h.athletes[0].AthleteID.String()
	record := func(who *browser) *answer {
		f := who.get(ana + "/tests/new").is(200).form(ana + "/tests")
		f.Set("rotations", "118")
		return who.post(ana+"/tests", f)
	}
	const says = "Nothing more is kept of Ana"
	record(coach).is(403).says(says)
	debrief := coach.get(ana + "/debrief").form(ana + "/debrief")
	coach.post(ana+"/debrief", debrief).is(403).says(says)
	sheet := coach.get(h.path("/tests")).is(200).form(h.path("/tests"))
	for field := range sheet {
		if strings.HasPrefix(field, "rotations-") {
			sheet.Set(field, "100")
		}
	}
	coach.post(h.path("/tests"), sheet)
	var results []gym.Result
	h.read(h.id, store.ResultsOfClass(h.class, h.now.AddDate(-1, 0, 0), &results))
	if len(results) != 0 {
		t.Errorf("%d results are kept without consent", len(results))
	}
	h.open().post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", pin)).is(403).says("asks a parent or guardian")
	coach.get(h.path("/consents")).is(200).says("2 consents are missing.", "missing")
	coach.get(ana + "/consents").is(200).says("Nothing more is kept of this athlete")
	h.plan("2026-11-05")
	coach.get(h.path("/plans?day=2026-11-05")).is(200).says("A guardian has not agreed", "Ana", "Ben")

	h.agree(0, "give").is(303) // no purpose stands for all
	record(coach).is(303)
	h.agree(0, "take back", "phone").is(303)
	record(coach).is(303)
	h.open().post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", pin)).is(403)
	h.agree(0, "give", "phone").is(303)
	phone := h.open()
	phone.post("/join", form("code", h.code, "athlete", h.athletes[0].AthleteID.String(), "pin", pin)).leadsTo("/me")
	h.agree(0, "take back", "records").is(303)
	phone.get("/me").leadsTo("/sign-in?next=%2Fme") // at once
	record(coach).is(403).says(says)
	coach.get(ana+"/consents").is(200).says("taken back", "agreed", "Dora", "On paper", "Cleo")
}

func TestConsentsOfAClassAtOnce(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Cai")
	h.askFor(16)
	coach := h.as(h.coach)
	coach.post(h.path("/consents"), form("id", newID().String(), "how", "paper", "everybody", "yes")).is(422).says("Type the name of the parent or guardian.")
	f := form("id", newID().String(), "how", "paper", "everybody", "yes", "by_all", "As on the signed forms")
	for range 2 { // sent twice, kept once
		coach.post(h.path("/consents"), f).is(303)
	}
	var consents []gym.Consent
	h.read(h.id, store.ConsentsOf(h.athletes[1].AthleteID, &consents))
	if len(consents) != 2 {
		t.Fatalf("%d consents of one athlete, want one for each purpose", len(consents))
	}
	if c := consents[0]; !c.Given || c.ByName != "As on the signed forms" || c.How != "paper" || c.NotedBy != h.coach.PersonID || len(c.Version()) != 8 || c.Wording == "" {
		t.Errorf("the consent is %+v", c)
	}
	coach.get(h.path("/consents")).is(200).lacks("missing.").says("records and phone")
}

// hurt reports pain of the n-th athlete with words that stand nowhere else.
func (h *hall) hurt(n int) {
	h.t.Helper()
	path := "/athletes/" + h.athletes[n].AthleteID.String() + "/debrief"
	coach := h.as(h.coach)
	f := coach.get(path).is(200).form(path)
	f.Set("pain", "6")
	f.Set("pain_place", "heel")
	f.Add("pain_signs", "limping")
	f.Set("note", planted)
	coach.post(path, f).is(303)
}

// planted stands in health notes and incidents alone.
const planted = "Quixmoor told of it"

// Health notes are for coaches and the owner, and each look is in the log.
func TestHealthNotesAreSeenByFewAndLogged(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.hurt(0)
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.AddIncident(ctx, gym.Incident{IncidentID: newID(), ClassID: h.class, AthleteID: h.athletes[0].AthleteID, HappenedAt: h.now, Place: "Hall",
			What: planted, SeenBy: "Asa", Done: "Cooled", RecordedAt: h.now, RecordedBy: h.coach.PersonID})
		return err
	})
	ids := h.belongings()
	looks := func() int {
		var lines []gym.AuditLine
		h.read(h.id, store.AuditLines(store.AuditFilter{Action: "looked at"}, store.Page{Most: 500}, &lines))
		return len(lines)
	}
	for role, b := range h.everyRole() {
		for _, route := range routesOf(t, h.site) {
			method, pattern, _ := strings.Cut(route, " ")
			if method != "GET" || strings.HasPrefix(pattern, "/static") {
				continue
			}
			before := looks()
			a := b.do("GET", addressed(t, pattern, ids), "", nil)
			if !strings.Contains(a.Text, planted) {
				continue
			}
			own := role == gym.Guardian || role == gym.Jumper // what was said, to whom it is about
			switch {
			case !own && role != gym.Coach && role != gym.Owner:
				t.Errorf("%s by %q shows health notes", route, role)
			case !own && looks() == before:
				t.Errorf("%s by %q: the look is not in the log", route, role)
			}
		}
	}
	health := "/athletes/" + h.athletes[0].AthleteID.String() + "/health"
	h.as(h.coach).get(health).is(200).says(planted, "heel", "limp")
	h.as(h.assistant).get(health).is(403)
	h.as(h.jumper(1)).get("/me").is(200).lacks(planted)
}

func TestHealthQuestions(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	health := "/athletes/" + h.athletes[0].AthleteID.String() + "/health"
	coach.get(health).is(200).says("Nobody has answered the questions yet.")
	coach.post(health+"/questions", form("yes", "moon")).is(422)
	coach.post(health+"/questions", form("yes", "breath", "note", "asthma spray in the bag")).leadsTo(health)
	coach.get(health).is(200).says("There is a yes.", "trouble breathing", "asthma spray in the bag")
	coach.post(health+"/talk", form("talk", "Spoke with the father.")).leadsTo(health)
	coach.get(health).is(200).says("Spoke with the father.").lacks("There is a yes.")
}

// A guardian learns of pain and of an incident on the day, and the coach sees
// whether she did.
func TestGuardianLearnsTheSameDay(t *testing.T) {
	h := newHall(t, "Ana")
	health := "/athletes/" + h.athletes[0].AthleteID.String() + "/health"
	h.hurt(0)
	coach := h.as(h.coach)
	coach.get(health).is(200).says("No guardian knows of the hold")
	guardian := h.everyRole()[gym.Guardian]
	guardian.get("/child").is(200).says("Ana spoke of pain.", "on hold").lacks(planted)
	coach.get(health).is(200).lacks("No guardian knows").says("Gus read of a hold on the own page.")
	incident := newID()
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.AddIncident(ctx, gym.Incident{IncidentID: incident, AthleteID: h.athletes[0].AthleteID, HappenedAt: h.now, Place: "Hall", What: "Fell", SeenBy: "Asa", Done: "Cooled", RecordedAt: h.now, RecordedBy: h.coach.PersonID})
		return err
	})
	f := coach.get(health).is(200).says("No guardian knows of the incident").form(health + "/told")
	coach.post(health+"/told", f).leadsTo(health)
	coach.get(health).is(200).lacks("No guardian knows").says("Cleo told a guardian of an incident.")
	guardian.get("/child").is(200).says("Fell", "Cooled")
	var lines []gym.AuditLine
	h.read(h.id, store.AuditLines(store.AuditFilter{Action: "learned"}, store.Page{Most: 500}, &lines))
	if len(lines) != 1 {
		t.Errorf("%d lines of the log say that a guardian was told, want 1", len(lines))
	}
}

// A guardian gives and takes back consent on the own phone, takes the data
// along and asks that the child be forgotten.
func TestGuardiansRights(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.counted(0, "base", 118, 60, 1)
	h.counted(1, "base", 77, 60, 1)
	h.askFor(16)
	guardian := h.everyRole()[gym.Guardian]
	guardian.get("/child").is(200).says("not agreed", "Ana")
	guardian.post("/child/consent", form("do", "give")).is(422).says("Tick what you mean.")
	guardian.post("/child/consent", form("do", "give", "purpose", "records", "purpose", "phone")).leadsTo("/child")
	var consents []gym.Consent
	h.read(h.id, store.ConsentsOf(h.athletes[0].AthleteID, &consents))
	if len(consents) != 2 || consents[0].ByName != "Gus" || consents[0].GuardianID == uuid.Nil || consents[0].How != "phone" {
		t.Fatalf("the consents are %+v", consents)
	}
	guardian.post("/child/questions", form("yes", "pain")).leadsTo("/child")

	taken := guardian.post("/child/data", nil).is(200)
	archive, err := zip.NewReader(bytes.NewReader([]byte(taken.Text)), int64(len(taken.Text)))
	if err != nil {
		t.Fatal(err)
	}
	all := ""
	for _, file := range archive.File {
		part, err := file.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(part)
		if err != nil {
			t.Fatal(err)
		}
		all += string(text)
	}
	for _, own := range []string{"Ana", "118", h.athletes[0].AthleteID.String()} {
		if !strings.Contains(all, own) {
			t.Errorf("the data lack %s", own)
		}
	}
	for _, foreign := range []string{"Ben", h.athletes[1].AthleteID.String(), "argon2id"} {
		if strings.Contains(all, foreign) {
			t.Errorf("the data hold %s", foreign)
		}
	}

	guardian.post("/child/forget", nil).is(422)
	guardian.post("/child/forget", form("sure", "yes")).is(200).says("in no list of the gym any more")
	guardian.get("/child").leadsTo("/sign-in?next=%2Fchild")
	h.as(h.owner).get("/privacy").is(200).says("Ana", "a guardian asked")
}

// Forgetting takes an athlete out of the lists at once, can be undone for 30
// days, and then leaves nothing, even after an older backup came back.
func TestForgetAnAthlete(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.server.Privacy.Tombstones = filepath.Join(t.TempDir(), "erased")
	h.counted(0, "base", 118, 60, 1)
	ana := h.athletes[0].AthleteID
	owner := h.as(h.owner)
	data := "/athletes/" + ana.String() + "/data"
	erase := "/athletes/" + ana.String() + "/erase"
	owner.post(erase, nil).is(422).says("Choose who wants it.", "Tick that you are sure.")
	f := owner.get(data).is(200).form(erase)
	f.Set("for", "gym")
	f.Set("sure", "yes")
	owner.post(erase, f).leadsTo("/privacy")
	owner.get("/athletes").is(200).lacks("Ana")
	owner.get(data).is(404)
	page := owner.get("/privacy").is(200).says("Ana", "Undo")
	owner.post(formAction(page, "/undo"), nil).leadsTo("/privacy")
	owner.get("/athletes").is(200).says("Ana")
	f.Set("id", newID().String())
	owner.post(erase, f).leadsTo("/privacy")

	run := func() {
		t.Helper()
		if err := h.server.Privacy.Run(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	h.now = h.now.AddDate(0, 0, 29)
	run()
	owner.get("/privacy").is(200).says("Ana")
	h.now = h.now.AddDate(0, 0, 2)
	run()
	owner.get("/privacy").is(200).lacks("Ana").says("an athlete, with all that was kept")
	owner.get("/log").is(200).lacks("Ana").says("erased an athlete", "the gym's own rules")
	if left := h.count(`SELECT count(*) FROM result WHERE athlete_id = $1`, ana) + h.count(`SELECT count(*) FROM athlete WHERE athlete_id = $1`, ana); left != 0 {
		t.Errorf("%d rows are left", left)
	}
	h.ownerDoes(`INSERT INTO athlete (gym_id, athlete_id, name, name_key, created_at) VALUES ($1, $2, 'Ana', 'ana', now())`, h.id, ana) // an older backup
	if again, err := h.server.Privacy.Reapply(t.Context()); err != nil || again != 1 {
		t.Errorf("Reapply = %d, %v; want 1", again, err)
	}
	if again, err := h.server.Privacy.Reapply(t.Context()); err != nil || again != 0 {
		t.Errorf("Reapply once more = %d, %v", again, err)
	}
}

// The gym's own rules ask to forget whom nothing was heard of, and say before
// whom they will.
func TestRetention(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	owner := h.as(h.owner)
	owner.post("/privacy/keeping", form("keep_athlete", "x", "keep_health", "5", "keep_incident", "0", "keep_audit", "999")).is(422).says(
		"Months must be a whole number from 1 to 120.", "from 6 to 120", "from 1 to 300")
	owner.post("/privacy/keeping", form("keep_athlete", "3", "keep_health", "6", "keep_incident", "12", "keep_audit", "6")).leadsTo("/privacy")
	h.now = h.now.AddDate(0, 2, 15)
	h.counted(1, "base", 77, 60, 0) // Ben goes on
	owner.get("/privacy").is(200).says("1 athlete of whom nothing was heard for long", "Ana").lacks("Ben")
	run := func() {
		t.Helper()
		if err := h.server.Privacy.Run(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	run()
	owner.get("/athletes").is(200).says("Ana")
	h.now = h.now.AddDate(0, 1, 0)
	run()
	owner.get("/athletes").is(200).lacks("Ana").says("Ben")
	owner.get("/privacy").is(200).says("nothing was heard for long", "athletes put on the list to be forgotten")
	owner.post(formAction(owner.get("/privacy"), "/undo"), nil).leadsTo("/privacy")
	run() // what was undone is not asked again at once
	owner.get("/athletes").is(200).says("Ana", "Ben")
}

func TestForgetFormerStaff(t *testing.T) {
	h := newHall(t)
	owner := h.as(h.owner)
	owner.post("/privacy/people/"+h.coach.PersonID.String()+"/erase", nil).is(404) // works here
	owner.post("/people/"+h.coach.PersonID.String()+"/end", nil).is(303)
	owner.post("/privacy/people/"+h.coach.PersonID.String()+"/erase", nil).leadsTo("/privacy")
	h.now = h.now.AddDate(0, 0, 31)
	if err := h.server.Privacy.Run(t.Context()); err != nil {
		t.Fatal(err)
	}
	if names := h.count(`SELECT count(*) FROM person WHERE name = 'Cleo'`); names != 0 {
		t.Error("the name stays")
	}
	owner.get("/privacy").is(200).says("the name of a person who worked here")
}

func TestLog(t *testing.T) {
	h := newHall(t, "Ana", "=1+1")
	owner, coach := h.as(h.owner), h.as(h.coach)
	for _, n := range []int{0, 1} {
		coach.get("/athletes/" + h.athletes[n].AthleteID.String() + "/health").is(200)
	}
	owner.post("/privacy/consent-age", form("years", "14")).is(303)
	owner.get("/log").is(200).says("looked at health notes", "Cleo", "Ana", "set the age of consent", "Mara")
	owner.get("/log?what=health").is(200).says("Cleo").lacks("age of consent")
	owner.get("/log?by=" + h.owner.PersonID.String()).is(200).lacks("looked at health notes")
	owner.get("/log?about=" + h.athletes[0].AthleteID.String()).is(200).says("Ana").lacks("=1+1")
	owner.get("/log?from=2026-11-05").is(200).says("No lines like that.")
	owner.get("/log?from=2026-11-04&to=2026-11-04").is(200).says("Ana")
	owner.get("/log?from=moon&by=moon&before=moon").is(200).says("Ana")

	taken := owner.get("/log.csv?what=health").is(200)
	rows, err := csv.NewReader(strings.NewReader(taken.Text)).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatalf("%d rows, %v; want a heading and two", len(rows), err)
	}
	for _, row := range rows {
		for _, cell := range row {
			if strings.HasPrefix(cell, "=") {
				t.Errorf("a spreadsheet would compute %q", cell)
			}
		}
	}
	if !strings.HasPrefix(taken.Header.Get("Content-Disposition"), "attachment") {
		t.Error("the log is shown instead of saved")
	}
	owner.get("/log").is(200).says("took the log along")
}

// The log is read in pages, newest first, and nothing is left out or twice.
func TestLogIsReadInPages(t *testing.T) {
	h := newHall(t)
	owner := h.as(h.owner)
	for range 240 {
		h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
			return tx.Note(ctx, newID(), h.now, h.owner.PersonID, "did "+newID().String()[24:], "gym", h.id)
		})
		h.now = h.now.Add(time.Second)
	}
	seen := map[string]bool{}
	path := "/log?what=did"
	for range 4 {
		a := owner.get(path).is(200)
		for _, word := range strings.Fields(a.words()) {
			if len(word) == 12 {
				if seen[word] {
					t.Errorf("%s stands on two pages", word)
				}
				seen[word] = true
			}
		}
		next := linkTo(a, "/log?")
		if next == "" {
			break
		}
		path = next
	}
	if len(seen) != 240 {
		t.Errorf("%d lines were shown, want 240", len(seen))
	}
}

// linkTo returns the address of "Older lines".
func linkTo(a *answer, prefix string) string {
	for n := range a.document().Descendants() {
		if to, _ := attribute(n, "href"); n.Data == "a" && strings.HasPrefix(to, prefix) && strings.Contains(to, "before=") {
			return to
		}
	}
	return ""
}

// formAction returns the action of the first form that ends like that.
func formAction(a *answer, suffix string) string {
	a.t.Helper()
	for n := range a.document().Descendants() {
		if to, _ := attribute(n, "action"); n.Data == "form" && strings.HasSuffix(to, suffix) {
			return to
		}
	}
	a.t.Fatalf("%s: there is no form to …%s", a.what, suffix)
	return ""
}
