package localpg

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestChoose(t *testing.T) {
	pg13 := Programs{Dir: "/old", Major: 13}
	pg15 := Programs{Dir: "/fifteen", Major: 15}
	pg17 := Programs{Dir: "/seventeen", Major: 17}
	tests := []struct {
		name  string
		found []Programs
		major int
		want  Programs
		says  string
	}{
		{"none at all", nil, 0, Programs{}, "apt-get install postgresql"},
		{"first found, for new data", []Programs{pg15, pg17}, 0, pg15, ""},
		{"the ones that made the data", []Programs{pg17, pg15}, 15, pg15, ""},
		{"none that made the data", []Programs{pg17, pg13}, 15, Programs{}, "only PostgreSQL 17 and 13"},
		{"none for any data", nil, 15, Programs{}, "apt-get install postgresql"},
		{"too old passed over", []Programs{pg13, pg17}, 0, pg17, ""},
		{"too old only", []Programs{pg13}, 0, Programs{}, "15 or newer is needed"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := choose(test.found, test.major)
			if got != test.want || (err == nil) != (test.says == "") {
				t.Fatalf("choose = %v, %v", got, err)
			}
			if err != nil && !strings.Contains(err.Error(), test.says) {
				t.Errorf("it says %q, want %q in it", err, test.says)
			}
		})
	}
}

func TestNoPrograms(t *testing.T) {
	_, err := Start(t.Context(), Options{Dir: t.TempDir(), Programs: t.TempDir()})
	if err == nil || !strings.Contains(err.Error(), "not on this machine") || !strings.Contains(err.Error(), "DATABASE_URL") {
		t.Errorf("start without programs: %v", err)
	}
}

func TestProgramsIn(t *testing.T) {
	tests := []struct {
		name, version string
		want          int
		found         bool
	}{
		{"Debian", "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)", 15, true},
		{"plain", "postgres (PostgreSQL) 17.2", 17, true},
		{"beta", "postgres (PostgreSQL) 19beta1", 19, true},
		{"something else", "not a database", 0, false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			script := "#!/bin/sh\necho '" + test.version + "'\n"
			for _, name := range []string{"initdb", "postgres"} {
				if err := os.WriteFile(filepath.Join(dir, name), []byte(script), 0o755); err != nil {
					t.Fatal(err)
				}
			}
			got, found := programsIn(dir)
			if found != test.found || got.Major != test.want {
				t.Errorf("programsIn = %v, %v; want major %d, %v", got, found, test.want, test.found)
			}
		})
	}
}

func TestVersionIn(t *testing.T) {
	for path, want := range map[string]int{
		"/usr/lib/postgresql/15/bin":          15,
		"/usr/pgsql-9.6/bin":                  6,
		"/opt/homebrew/opt/postgresql@17/bin": 17,
		"/usr/local/pgsql/bin":                0,
	} {
		if got := versionIn(path); got != want {
			t.Errorf("versionIn(%s) = %d, want %d", path, got, want)
		}
	}
}
