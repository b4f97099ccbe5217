package app_test

import (
	"io"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"
)

// Prometheus finds on the private listener what the alerts ask for, and nobody
// finds it anywhere else.
func TestFigures(t *testing.T) {
	p := start(t, []string{"ROPEWALK_DATA=" + t.TempDir(), "ROPEWALK_METRICS=0", "ROPEWALK_TLS=own", "ROPEWALK_LISTEN=127.0.0.1"}, "serve")
	private := p.await(`Figures are at (http://127\.0\.0\.1:\d+)/metrics`)[1]
	p.makeGym()
	p.get("/today")
	p.post("/sign-in", "name", "mara@gym.example", "password", "guessed at")

	status, figures := fetch(t, private+"/metrics")
	if status != http.StatusOK {
		t.Fatalf("scraping: status %d", status)
	}
	for _, want := range []string{
		`(?m)^ropewalk_http_requests_total\{method="POST",route="/setup",status="3xx"\} 1$`,
		`(?m)^ropewalk_http_request_duration_seconds_count\{method="GET",route="/today"\} [1-9]`,
		`(?m)^ropewalk_database_trip_duration_seconds_count\{kind="batch"\} [1-9]`,
		`(?m)^ropewalk_database_queries_total [1-9]`,
		`(?m)^ropewalk_pool_connections\{pool="pages",state="(?:idle|acquired)"\} [1-9]`,
		`(?m)^ropewalk_pool_connections_max\{pool="jobs"\} 3$`,
		`(?m)^ropewalk_pool_waits_total\{pool="pages"\} \d`,
		`(?m)^ropewalk_sign_ins_total\{outcome="refused"\} 1$`,
		`(?m)^ropewalk_jobs_waiting \d`,
		`(?m)^ropewalk_database_up 1$`,
		`(?m)^ropewalk_disk_free_bytes [1-9]`,
		`(?m)^ropewalk_certificate_end_timestamp_seconds 2\.`,
		`(?m)^ropewalk_build_info\{goversion="go[^"]+",version="[^"]+"\} 1$`,
		`(?m)^go_goroutines [1-9]`,
	} {
		if !regexp.MustCompile(want).MatchString(figures) {
			t.Errorf("the figures lack %s", want)
		}
	}
	if status, text := fetch(t, private+"/debug/pprof/goroutine?debug=1"); status != http.StatusOK || !strings.Contains(text, "goroutine profile") {
		t.Errorf("profiles: status %d", status)
	}
	for _, path := range []string{"/healthz", "/readyz"} {
		if status, _ := fetch(t, private+path); status != http.StatusOK {
			t.Errorf("%s on the private listener: status %d", path, status)
		}
	}
	if status, _ := fetch(t, private+"/today"); status != http.StatusNotFound {
		t.Errorf("a page on the private listener: status %d", status)
	}
	for _, path := range []string{"/metrics", "/debug/pprof/", "/debug/pprof/cmdline"} {
		if status, text, _ := p.get(path); status != http.StatusNotFound || strings.Contains(text, "goroutine") {
			t.Errorf("%s among the pages: status %d", path, status)
		}
	}
	if exit := p.stop(); exit != 0 {
		t.Errorf("exit code %d: %s", exit, p.log)
	}
	for line := range strings.Lines(p.log.String()) {
		if !strings.HasPrefix(line, `{"time":"2`) || !strings.Contains(line, `Z",`) {
			t.Errorf("a line of the log is no JSON in UTC: %s", line)
		}
	}
	if !strings.Contains(p.log.String(), `"msg":"request","route":"/setup","method":"POST","status":303`) {
		t.Errorf("the log does not tell of a request: %s", p.log)
	}
}

func fetch(t *testing.T, address string) (int, string) {
	t.Helper()
	r, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return r.StatusCode, string(text)
}

// Every figure that an alert asks for is one of ours.
func TestAlertsAskForFiguresThatExist(t *testing.T) {
	read := func(path string) string {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	ours := read("../metrics/metrics.go") + read("../metrics/state.go") + read("../metrics/database.go")
	alerts := read("../../docs/alerts.yml")
	asked := regexp.MustCompile(`ropewalk_(?:pool_)?(\w+)`).FindAllStringSubmatch(alerts, -1)
	if len(asked) < 10 {
		t.Fatalf("the alerts ask for %d figures only", len(asked))
	}
	for _, name := range asked {
		if !strings.Contains(ours, `"`+strings.TrimSuffix(name[1], "_bucket")+`"`) {
			t.Errorf("an alert asks for %s, which is not shown", name[0])
		}
	}
	if pairs := strings.Count(alerts, "        expr:"); pairs != strings.Count(alerts, "          do: ") || pairs != strings.Count(alerts, "- alert: ") {
		t.Error("an alert does not say what to do")
	}
}

func TestFiguresAreNotForEverybody(t *testing.T) {
	for _, settings := range [][]string{{"ROPEWALK_METRICS=0.0.0.0:0"}, {"ROPEWALK_METRICS=[::]:0"}, {"ROPEWALK_METRICS=203.0.113.7:9100"}} {
		exit, _, stderr := once(t, append(settings, "ROPEWALK_DATA="+t.TempDir()), "serve")
		if exit != 1 || !strings.Contains(stderr, "ROPEWALK_METRICS_OPEN=yes") {
			t.Errorf("%v: exit %d: %s", settings, exit, stderr)
		}
	}
}
