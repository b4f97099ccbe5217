package bench

import (
	"bytes"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

var noon = time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)

func TestIDsBeginWithTheirTime(t *testing.T) {
	seen := map[uuid.UUID]bool{}
	var last uuid.UUID
	for minute := range 300 {
		for kind := range 3 {
			id := idOf(noon.Add(time.Duration(minute)*time.Minute), kind, minute, 7)
			if id.Version() != 7 || id.Variant() != uuid.RFC4122 || seen[id] {
				t.Fatalf("%s: version %d, seen before: %t", id, id.Version(), seen[id])
			}
			if bytes.Compare(id[:6], last[:6]) < 0 {
				t.Fatalf("%s comes after %s", id, last)
			}
			seen[id], last = true, id
		}
	}
}

func TestGymsOfEachSize(t *testing.T) {
	for percent, gyms := range map[int]int{1: 1, 10: 1, 100: 31} {
		f := newFilling(Database{Percent: percent, Made: noon})
		athletes := 0
		for _, h := range f.halls {
			athletes += len(h.athletes)
			if want := (len(h.athletes) + classSize - 1) / classSize; len(h.classes) != want {
				t.Errorf("%d %%: a gym of %d athletes has %d classes, want %d", percent, len(h.athletes), len(h.classes), want)
			}
		}
		if len(f.halls) != gyms || athletes != allAthletes*percent/100 {
			t.Errorf("%d %%: %d athletes in %d gyms, want %d gyms", percent, athletes, len(f.halls), gyms)
		}
	}
}

func TestMeetingsEndTheDayBefore(t *testing.T) {
	f := newFilling(Database{Percent: 1, Made: noon})
	turns, newest := 0, time.Time{}
	for turn := range f.turns() {
		turns++
		if turn.starts.After(newest) {
			newest = turn.starts
		}
	}
	if turns != 100*meetings || !newest.Before(noon.Truncate(24*time.Hour)) || newest.Before(noon.AddDate(0, 0, -2)) {
		t.Errorf("%d turns up to %s", turns, newest)
	}
}

// What a request made is made anew each time, everything else is as it was.
func TestReplayMakesFreshIDs(t *testing.T) {
	old, made := idOf(noon.AddDate(0, 0, -1), ofPlan, 1, 1), uuid.Must(uuid.NewV7())
	began := time.Now().Add(-time.Minute)
	args := []any{old, made, []uuid.UUID{made, old}, pgx.StrictNamedArgs{"id": made, "text": "kept"}}
	ids := madeSince([]trip{{{sql: "", args: args}}}, began.Unix(), 0)
	if !ids[made] || ids[old] {
		t.Fatalf("made are %v", ids)
	}
	fresh := map[uuid.UUID]uuid.UUID{}
	got := renew(args, ids, fresh)
	list, named := got[2].([]uuid.UUID), got[3].(pgx.StrictNamedArgs)
	if got[0] != old || got[1] == made || list[0] != got[1] || list[1] != old || named["id"] != got[1] || named["text"] != "kept" {
		t.Errorf("renewed are %v", got)
	}
	if again := renew(args, ids, map[uuid.UUID]uuid.UUID{}); again[1] == got[1] {
		t.Error("the second time brings the same id")
	}
}

func TestLoad(t *testing.T) {
	var paths []string
	seen := make(chan string, 100)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		seen <- r.Method + " " + r.URL.Path + " " + r.PostFormValue("id") + " " + r.Header.Get("Cookie")
		_, _ = w.Write(make([]byte, 10_000))
	}))
	defer server.Close()
	load := Load{Address: strings.TrimPrefix(server.URL, "http://"), Connections: 2, Times: 3, Want: http.StatusOK,
		Requests: []Request{{Method: http.MethodGet, Path: "/a", Cookie: "c=1"}, {Method: http.MethodPost, Path: "/b", Body: "id=$id"}}}
	m, err := load.run()
	if err != nil {
		t.Fatal(err)
	}
	if m.Answers != 6 || m.Bytes != 60_000 || len(m.Each) != 6 || m.Median() <= 0 || m.PerSecond() <= 0 {
		t.Errorf("measured %+v", m)
	}
	ids := map[string]bool{}
	for range 6 {
		fields := strings.Split(<-seen, " ")
		paths = append(paths, fields[1])
		if fields[0] == http.MethodPost {
			ids[fields[2]] = true
		} else if fields[3] != "c=1" {
			t.Errorf("the cookie is %q", fields[3])
		}
	}
	if strings.Count(strings.Join(paths, ""), "/b") != 3 || len(ids) != 3 {
		t.Errorf("paths %v, ids %v", paths, ids)
	}
	load.Want = http.StatusSeeOther
	if _, err := load.run(); err == nil || !strings.Contains(err.Error(), "200 OK") {
		t.Errorf("an answer that is not wanted: %v", err)
	}
}

func TestExponent(t *testing.T) {
	for _, test := range []struct {
		name    string
		seconds []float64
		want    float64
	}{
		{"as the data do", []float64{0.01, 0.1, 1}, 1},
		{"not at all", []float64{0.3, 0.3, 0.3}, 0},
		{"as their root", []float64{1, math.Sqrt(10), 10}, 0.5},
	} {
		if got := (curve{percent: []int{1, 10, 100}, seconds: test.seconds}).exponent(); math.Abs(got-test.want) > 1e-9 {
			t.Errorf("%s: exponent %g, want %g", test.name, got, test.want)
		}
	}
}

func TestFiguresOfABenchmark(t *testing.T) {
	line := "BenchmarkThousandReportsPDF-2   \t       1\t         0 ns/op\t         3.021 bare-cpu-s\t         1.087 own/bare\t         3.284 own-cpu-s\t       121.0 peak-MB"
	found := reportLine.FindStringSubmatch(line)
	if found == nil || inWords(found[1]) != "thousand reports PDF" {
		t.Fatalf("read %q", found)
	}
	figures := figuresIn(found[0])
	if figures["own/bare"] != 1.087 || figures["own-cpu-s"] != 3.284 || figures["peak-MB"] != 121 {
		t.Errorf("figures are %v", figures)
	}
}

func TestPictureOfGrowth(t *testing.T) {
	picture := growthPicture([]curve{{"class page", []int{1, 10, 100}, []float64{0.004, 0.004, 0.005}}})
	for _, want := range []string{"<svg ", "class page, exponent", "1 ms", "10 ms", "100 %", "</svg>"} {
		if !strings.Contains(picture, want) {
			t.Errorf("the picture lacks %q", want)
		}
	}
}

func TestDocumentNeedsAPlace(t *testing.T) {
	file := filepath.Join(t.TempDir(), "speed.md")
	if err := os.WriteFile(file, []byte("# Speed\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := (&bench{}).document(file); err == nil || !strings.Contains(err.Error(), "no place") {
		t.Errorf("error = %v", err)
	}
}

func TestMedianAndSpread(t *testing.T) {
	if m := median([]float64{3, 1, 2}); m != 2 {
		t.Errorf("median %g", m)
	}
	if m := median([]float64{4, 1, 2, 3}); m != 2.5 {
		t.Errorf("median %g", m)
	}
	if s := spread([]float64{0.9, 0.7, 0.8}); s != "0.70–0.90" {
		t.Errorf("spread %s", s)
	}
}
