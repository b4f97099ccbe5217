package localpg

import (
	"cmp"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"ropewalk.example/internal/problem"
)

// oldestMajor is the oldest PostgreSQL that the schema runs on: its views
// check the rights of whoever reads them (security_invoker, new in 15).
const oldestMajor = 15

const howToGet = "On Debian or Ubuntu: apt-get install postgresql. On a Mac: brew install postgresql. " +
	"Or set DATABASE_URL to a PostgreSQL server that runs already."

// Programs are the server programs of one PostgreSQL installation.
type Programs struct {
	Dir   string // folder of initdb, postgres, pg_dump
	Major int    // 15, 16, ...
}

// FindPrograms returns the server programs in dir, or, if dir is empty, those
// on this machine: the ones on PATH first, then the newest. If major is above
// zero they must be of that major version, the one that made the data.
func FindPrograms(dir string, major int) (Programs, error) {
	folders := []string{dir}
	if dir == "" {
		folders = programFolders()
	}
	var found []Programs
	for _, folder := range folders {
		if p, ok := programsIn(folder); ok && !slices.Contains(found, p) {
			found = append(found, p)
		}
	}
	return choose(found, major)
}

func choose(found []Programs, major int) (Programs, error) {
	if len(found) == 0 {
		return Programs{}, problem.New(problem.Unavailable, "PostgreSQL's server programs (initdb and postgres) are not on this machine. %s", howToGet)
	}
	if major > 0 {
		for _, p := range found {
			if p.Major == major {
				return p, nil
			}
		}
		return Programs{}, problem.New(problem.Unavailable, "The data was made by PostgreSQL %d, but this machine has only PostgreSQL %s. "+
			"Install PostgreSQL %d again, or move the data with pg_upgrade. Nothing was changed.", major, majors(found), major)
	}
	for _, p := range found {
		if p.Major >= oldestMajor {
			return p, nil
		}
	}
	return Programs{}, problem.New(problem.Unavailable, "This machine has PostgreSQL %s, but version %d or newer is needed. %s", majors(found), oldestMajor, howToGet)
}

func majors(found []Programs) string {
	var list []string
	for _, p := range found {
		if text := strconv.Itoa(p.Major); !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	return strings.Join(list, " and ")
}

// programFolders lists the folders that may hold server programs: what PATH
// points to, then the usual places, newest version first.
func programFolders() []string {
	var folders []string
	if postgres, err := exec.LookPath("postgres"); err == nil {
		if real, err := filepath.EvalSymlinks(postgres); err == nil {
			folders = append(folders, filepath.Dir(real))
		}
	}
	if out, err := exec.Command("pg_config", "--bindir").Output(); err == nil {
		folders = append(folders, strings.TrimSpace(string(out)))
	}
	var usual []string
	for _, pattern := range []string{
		"/usr/lib/postgresql/*/bin",          // Debian, Ubuntu
		"/usr/pgsql-*/bin",                   // PostgreSQL's own RPMs
		"/usr/lib/postgresql*/bin",           // SUSE, Alpine's older packages
		"/usr/libexec/postgresql*",           // Alpine
		"/opt/homebrew/opt/postgresql@*/bin", // Homebrew on Apple silicon
		"/usr/local/opt/postgresql@*/bin",    // Homebrew on Intel
		"/home/linuxbrew/.linuxbrew/opt/postgresql@*/bin",
		"/usr/local/pgsql/bin", // built from source
	} {
		matches, _ := filepath.Glob(pattern) // an error is a bad pattern only
		usual = append(usual, matches...)
	}
	slices.SortStableFunc(usual, func(a, b string) int { return cmp.Compare(versionIn(b), versionIn(a)) })
	return append(folders, usual...)
}

// versionIn returns the last number in a folder's path, 0 if there is none.
func versionIn(path string) int {
	version := 0
	for _, digits := range strings.FieldsFunc(path, func(r rune) bool { return r < '0' || r > '9' }) {
		version, _ = strconv.Atoi(digits)
	}
	return version
}

// programsIn asks the programs in a folder for their version.
func programsIn(folder string) (Programs, bool) {
	if _, err := os.Stat(filepath.Join(folder, "initdb")); err != nil {
		return Programs{}, false
	}
	out, err := exec.Command(filepath.Join(folder, "postgres"), "--version").Output()
	if err != nil {
		return Programs{}, false
	}
	_, version, _ := strings.Cut(string(out), "(PostgreSQL) ") // "postgres (PostgreSQL) 15.18 (Debian ...)"
	digits := version[:len(version)-len(strings.TrimLeft(version, "0123456789"))]
	major, err := strconv.Atoi(digits)
	return Programs{Dir: folder, Major: major}, err == nil
}
