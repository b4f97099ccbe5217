package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/report"
	"ropewalk.example/internal/store"
)

// An owner asks for all data, and can come back to the file's page.
func TestOwnerAsksForAllData(t *testing.T) {
	h := newHall(t, "Ana")
	owner := h.as(h.owner)
	page := owner.get("/data").is(200).says("Take all data along", "Passwords, PINs and codes are not in it")
	asked := owner.post("/data/files", page.form("/data/files"))
	owner.follow(asked).is(200).says("All data of the gym", "Waiting for its turn")
	owner.get("/data").is(200).says("All data of the gym")
	h.as(h.coach).get(asked.Header.Get("Location")).is(http.StatusForbidden)
	var files []gym.Report
	h.read(h.id, store.Reports("", store.Page{Most: 50}, &files))
	if len(files) != 1 || files[0].Kind != gym.ReportGymData {
		t.Errorf("asked for is %+v", files)
	}
}

// token makes a token and returns it.
func (h *hall) token() string {
	h.t.Helper()
	owner := h.as(h.owner)
	form := owner.get("/data").is(200).form("/data/tokens")
	form.Set("name", "our own web page")
	made := owner.post("/data/tokens", form).is(200).says("not shown again")
	token := regexp.MustCompile(`rw_[0-9a-f]{32}_[\w-]{43}`).FindString(made.Text)
	owner.post("/data/tokens", form).is(http.StatusConflict).lacks(token)
	owner.get("/data").is(200).says("our own web page").lacks(token)
	return token
}

func (h *hall) program(token string) *browser {
	b := h.open()
	b.headers = map[string]string{"Authorization": "Bearer " + token}
	return b
}

// A token reads what reports show, from its own gym, until an owner ends it.
func TestProgramsReadByToken(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "نور")
	other := h.addHall("Elm Row", "Zoe")
	ids := h.belongings()
	token := h.token()
	program := h.program(token)
	program.get("/api/v1/gym").is(200).has(t, `"name":"Ash Lane"`)
	program.get("/api/v1/terms").is(200).has(t, `"name":"Autumn"`)
	program.get("/api/v1/classes").is(200).has(t, h.class.String())
	names := program.get("/api/v1/athletes").is(200).has(t, "Ana", "Ben", "نور").lacksRaw(t, "Zoe")
	if kind := names.Header.Get("Content-Type"); !strings.HasPrefix(kind, "application/json") || !strings.HasPrefix(names.Header.Get("Content-Disposition"), "attachment") {
		t.Errorf("the answer is %s", kind)
	}
	term := "/api/v1/terms/" + ids["term"].String()
	for _, table := range report.Tables() {
		var answer struct{ Items []map[string]any }
		text := program.get(term + "/" + table.Name).is(200).Text
		if err := json.Unmarshal([]byte(text), &answer); err != nil || answer.Items == nil {
			t.Errorf("%s: %v in %s", table.Name, err, text)
		}
		for _, item := range answer.Items {
			if len(item) != len(table.Columns) {
				t.Errorf("%s has %d keys, want %d", table.Name, len(item), len(table.Columns))
			}
		}
	}
	count := func(path string) int {
		var answer struct{ Items []any }
		if err := json.Unmarshal([]byte(program.get(path).is(200).Text), &answer); err != nil {
			t.Fatal(err)
		}
		return len(answer.Items)
	}
	if all, class, one := count(term+"/athletes"), count(term+"/athletes?class="+h.class.String()), count(term+"/athletes?athlete="+h.athletes[0].AthleteID.String()); all < 3 || class != 3 || one != 1 {
		t.Errorf("%d athletes of the gym, %d of the class, %d of one", all, class, one)
	}
	if n := count(term + "/athletes?athlete=" + other.athletes[0].AthleteID.String()); n != 0 {
		t.Errorf("%d athletes of another gym", n)
	}
	program.get("/api/v1/terms/" + newID().String() + "/athletes").is(http.StatusNotFound)
	program.get("/api/v1/terms/moon/athletes").is(http.StatusUnprocessableEntity)
	for _, method := range []string{"POST", "PUT", "PATCH", "DELETE"} {
		program.do(method, "/api/v1/athletes", "application/json", strings.NewReader("{}")).is(http.StatusMethodNotAllowed)
	}
	for _, wrong := range []string{"", "rw_", token + "x"} {
		if got := h.program(wrong).get("/api/v1/gym").is(http.StatusUnauthorized).Header.Get("WWW-Authenticate"); !strings.HasPrefix(got, "Bearer") {
			t.Errorf("%q is answered with %q", wrong, got)
		}
	}
	var tokens []gym.Token
	h.read(h.id, store.Tokens(&tokens))
	h.as(h.owner).post("/data/tokens/"+tokens[0].TokenID.String()+"/end", nil).leadsTo("/data")
	program.get("/api/v1/gym").is(http.StatusUnauthorized)
}

// has and lacksRaw look at an answer as it came: JSON is no page.
func (a *answer) has(t *testing.T, texts ...string) *answer {
	t.Helper()
	for _, text := range texts {
		if !strings.Contains(a.Text, text) {
			t.Errorf("%s lacks %s: %s", a.what, text, a.Text)
		}
	}
	return a
}

func (a *answer) lacksRaw(t *testing.T, text string) *answer {
	t.Helper()
	if strings.Contains(a.Text, text) {
		t.Errorf("%s says %s: %s", a.what, text, a.Text)
	}
	return a
}

// The description lists every question and the columns of every table.
func TestDescriptionOfTheAPI(t *testing.T) {
	s := newSite(t)
	var described struct {
		OpenAPI string `json:"openapi"`
		Paths   map[string]map[string]struct {
			Responses map[string]struct {
				Content map[string]struct {
					Schema struct {
						Properties map[string]struct {
							Items struct{ Properties map[string]any }
						}
					}
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(s.open().get("/api/openapi.json").is(200).Text), &described); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(described.OpenAPI, "3.1") {
		t.Errorf("described as OpenAPI %s", described.OpenAPI)
	}
	for _, route := range routesOf(t, s) {
		if path, ours := strings.CutPrefix(route, "GET /api/v1/"); ours && described.Paths["/api/v1/"+path]["get"].Responses == nil {
			t.Errorf("%s is not described", route)
		}
	}
	for path, methods := range described.Paths {
		if len(methods) != 1 || methods["get"].Responses == nil {
			t.Errorf("%s can be asked in %d ways, want reading alone", path, len(methods))
		}
	}
	for _, table := range report.Tables() {
		got := described.Paths["/api/v1/terms/{term}/"+table.Name]["get"].Responses["200"].Content["application/json"].Schema.Properties["items"].Items.Properties
		for _, c := range table.Columns {
			if got[c.Key] == nil {
				t.Errorf("%s: column %s is not described", table.Name, c.Key)
			}
		}
	}
}

// What reports and programs ask of the database does not grow with the class.
func TestReportsCostAsMuchForAnyClass(t *testing.T) {
	count := func(names int) []int64 {
		h := newHall(t)
		for n := range names {
			h.addAthletes(fmt.Sprintf("Athlete %d", n))
			h.counted(n, "base", 100+n, 60, 7)
		}
		ids := h.belongings()
		coach, program := h.as(h.coach), h.program(h.token())
		term := ids["term"].String()
		paths := []string{"/reports", "/reports/" + term + "/gym", "/reports/" + term + "/classes/" + h.class.String(),
			"/reports/" + term + "/classes/" + h.class.String() + "/athletes", "/reports/" + term + "/classes/" + h.class.String() + "/comments",
			"/reports/" + term + "/athletes/" + h.athletes[0].AthleteID.String(), "/api/v1/terms/" + term + "/results"}
		trips := make([]int64, len(paths))
		for i, path := range paths {
			b := coach
			if strings.HasPrefix(path, "/api/") {
				b = program
			}
			b.get(path).is(200) // warm: statements are prepared once
			before := h.trips.Load()
			b.get(path).is(200)
			trips[i] = h.trips.Load() - before
		}
		return trips
	}
	few, many := count(2), count(20)
	if !slices.Equal(few, many) {
		t.Errorf("round trips for 2 athletes %v, for 20 %v", few, many)
	}
}

// A comment is kept as it is typed, and put into the report by a press.
func TestCommentIsKeptAsTyped(t *testing.T) {
	h := newHall(t, "Ana")
	ids := h.belongings()
	coach := h.as(h.coach)
	report := "/reports/" + ids["term"].String() + "/athletes/" + h.athletes[0].AthleteID.String()
	typed := coach.get(report + "/comment").is(200).form(report + "/comment")
	typed.Set("comment", "Lands softly now.")
	coach.headers["HX-Request"] = "true"
	coach.post(report+"/comment", typed).is(200).says("Draft kept. Not in the report yet")
	coach.post(report+"/comment", typed).is(http.StatusConflict).says("Somebody else wrote here")
	delete(coach.headers, "HX-Request")
	coach.get(report).is(200).lacks("Lands softly now.")
	press := coach.get(report + "/comment").is(200).form(report + "/comment")
	press.Set("show", "yes")
	coach.follow(coach.post(report+"/comment", press)).is(200).says("In the report")
	coach.get(report).is(200).says("Lands softly now.")
	press = coach.get(report + "/comment").form(report + "/comment")
	press.Set("comment", strings.Repeat("a", 701))
	coach.post(report+"/comment", press).is(http.StatusUnprocessableEntity).says("700 letters or fewer")
}

// A file is sent under its name, whatever the script, and can be stopped and
// made again.
func TestFilesOfAReport(t *testing.T) {
	h := newHall(t, "Ana")
	ids := h.belongings()
	coach := h.as(h.coach)
	form := coach.get("/reports").is(200).form("/reports/" + ids["term"].String() + "/files")
	form.Set("what", "class:"+h.class.String())
	form.Set("format", "pdf:a4")
	asked := coach.post("/reports/"+ids["term"].String()+"/files", form)
	file := asked.Header.Get("Location")
	coach.follow(asked).is(200).says("Waiting for its turn")
	coach.get(file + "/download").is(http.StatusNotFound)
	coach.follow(coach.post(file+"/stop", nil)).says("Somebody stopped this file")
	coach.follow(coach.post(file+"/again", nil)).says("Waiting for its turn")
	form.Set("format", "pdf:letter")
	form.Set("language", "es")
	form.Set("id", newID().String())
	h.spanish()
	spanish := h.as(h.coach)
	spanish.follow(spanish.post("/reports/"+ids["term"].String()+"/files", form)).says("PDF, Letter · Español")
	spanish.get("/reports").is(200).has(t, `<option value="es" lang="es">Español</option>`)
	spanish.cookies[languageCookie] = "es"
	spanish.get("/reports").is(200).has(t, `<option value="es" lang="es" selected>Español</option>`)
	form.Set("format", "moon")
	form.Set("id", newID().String())
	coach.post("/reports/"+ids["term"].String()+"/files", form).is(http.StatusUnprocessableEntity).says("Choose a format from the list.")
	done := "/files/" + ids["report"].String()
	coach.get(done).is(200).says("Save the file")
	got := coach.get(done + "/download").is(200)
	if got.Text != "rows" || !strings.Contains(got.Header.Get("Content-Disposition"), "report.xlsx") || got.Header.Get("Content-Length") != "4" {
		t.Errorf("sent is %q with %v", got.Text, got.Header)
	}
	h.now = h.now.Add(time.Minute)
	other := h.addHall("Elm Row")
	h.as(other.owner).get(done).is(http.StatusNotFound)
}
