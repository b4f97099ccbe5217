// Package archtest checks the shape of the project: who may import whom, that
// the pure packages read no clock, file or random source, and that main stays
// small. It holds tests only.
package archtest

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const (
	module = "ropewalk.example/"
	root   = "../.."
)

// pure packages compute the trade's answers, the bottom first.
var pure = []string{
	"internal/stats", "internal/rate", "internal/capacity", "internal/cleanrun",
	"internal/rhythm", "internal/ladder", "internal/planner", "internal/floor", "internal/progress",
}

// nouns are what the gym consists of.
var nouns = []string{"internal/gym"}

// under joins lists of packages.
func under(lists ...[]string) []string { return slices.Concat(lists...) }

// useCases are the verbs of the job, one package per area.
var useCases = []string{"internal/account", "internal/roster", "internal/measuring", "internal/deciding", "internal/coaching", "internal/reporting", "internal/receiving", "internal/leading", "internal/privacy"}

// shown is what pages may put into words: nouns and computed answers.
var shown = under(pure, nouns, []string{"internal/level", "internal/standing", "internal/finding", "internal/review", "internal/calendar"})

// verbs is what a use case stands on.
var verbs = under(shown, []string{"internal/problem", "internal/store"})

// allowed lists, for each package of ours, the packages of ours it may import.
var allowed = map[string][]string{
	"internal/stats":    {},
	"internal/rate":     {"internal/stats"},
	"internal/capacity": {"internal/stats", "internal/rate"},
	"internal/cleanrun": {"internal/stats"},
	"internal/rhythm":   {},
	"internal/ladder":   {},
	"internal/planner":  {"internal/capacity", "internal/rhythm"},
	"internal/progress": {"internal/stats"},
	"internal/floor":    {"internal/planner"},

	"internal/level":    {"internal/gym", "internal/rate", "internal/capacity"},
	"internal/finding":  under(pure, nouns, []string{"internal/level"}),
	"internal/standing": {"internal/gym", "internal/level", "internal/ladder", "internal/rate"},
	"internal/calendar": {"internal/gym", "internal/planner"},
	"internal/review":   under(pure, nouns, []string{"internal/level", "internal/standing", "internal/finding"}),
	"internal/gym":      {},
	"internal/problem":  {},
	"internal/config":   {},
	"internal/demo":     {},
	"internal/metrics":  {},
	"internal/faults":   {}, // tests only
	"migrations":        {},
	"docs":              {},

	"internal/store":       {"internal/gym", "internal/problem", "migrations"},
	"internal/localpg":     {"internal/problem"},
	"internal/certificate": {"internal/problem"},
	"internal/backup":      {"internal/gym", "internal/problem", "internal/store", "internal/localpg"},
	"internal/testdb":      {"internal/store", "internal/localpg", "migrations"},

	"internal/account":   verbs,
	"internal/roster":    under(verbs, []string{"internal/account"}), // athletes' codes and PINs
	"internal/measuring": verbs,
	"internal/privacy":   verbs,
	"internal/deciding":  verbs,
	"internal/coaching":  under(verbs, []string{"internal/measuring", "internal/deciding"}), // a plan starts from measured rates
	"internal/leading":   under(verbs, []string{"internal/measuring", "internal/coaching"}), // a class hour tests, plans and hears
	"internal/reporting": under(verbs, []string{"internal/account", "internal/coaching"}),   // codes of classes that come in; the gym's sweep
	"internal/receiving": under(verbs, []string{"internal/measuring", "internal/coaching"}), // what phones kept goes to whoever keeps it
	"internal/paper":     {},
	"internal/report":    under(shown, []string{"internal/problem", "internal/paper"}),
	"internal/calc":      under(pure, []string{"internal/problem"}),
	"internal/jobs":      under(useCases, verbs, []string{"internal/metrics", "internal/report", "internal/paper"}),

	"web":        {},
	"web/tongue": {},
	"web/part":   {"web"},
	"web/page":   under(shown, []string{"web", "web/part"}),

	"internal/server":   under(useCases, verbs, []string{"internal/certificate", "internal/metrics", "internal/report", "internal/paper", "internal/jobs", "docs", "web", "web/page", "web/part", "web/tongue"}),
	"internal/demoseed": under(useCases, verbs, []string{"internal/demo"}),
	"internal/app": under(useCases, verbs, []string{"internal/backup", "internal/certificate", "internal/config", "internal/demo", "internal/demoseed", "internal/jobs", "internal/localpg", "internal/metrics",
		"internal/calc", "internal/report", "internal/server", "web/page", "web/tongue"}), // page: the demo's sign-ins
	"cmd/ropewalk":   {"internal/app", "internal/calc", "internal/problem"},
	"internal/bench": under(verbs, []string{"internal/account", "internal/app", "internal/coaching", "internal/localpg", "internal/roster"}),
	"cmd/bench":      {"internal/bench"},
}

// thirdParty lists, for each module of others, who may import it. What is not
// here is not imported outside of tests.
var thirdParty = map[string][]string{
	"filippo.io/age":                              {"internal/backup"},
	"gonum.org/v1/gonum":                          pure,
	"github.com/google/uuid":                      under(useCases, nouns, []string{"internal/bench", "internal/backup", "internal/calendar", "internal/finding", "internal/review", "internal/standing", "internal/store", "internal/server", "internal/app", "internal/jobs", "internal/demoseed", "web/page"}),
	"golang.org/x/net":                            {"internal/certificate", "web/tongue"}, // idna; html
	"golang.org/x/sync":                           {"internal/coaching"},                  // errgroup: each athlete of a class at once
	"golang.org/x/text":                           under(useCases, nouns, []string{"internal/store", "internal/paper", "internal/report", "internal/server", "web/page", "web/part"}),
	"github.com/jackc/pgx/v5":                     {"internal/bench", "internal/store", "internal/testdb", "internal/app", "internal/jobs", "internal/metrics"},
	"github.com/jackc/pgxlisten":                  {"internal/store"},
	"github.com/arran4/golang-ical":               {"internal/calendar"},
	"github.com/golang-migrate/migrate/v4":        {"internal/store"},
	"github.com/alexedwards/argon2id":             {"internal/account"},
	"github.com/pquerna/otp":                      {"internal/account"},
	"github.com/go-chi/chi/v5":                    {"internal/server", "internal/app"},
	"github.com/alexedwards/scs/v2":               {"internal/server", "internal/app"},
	"github.com/a-h/templ":                        {"web", "web/page", "web/part", "internal/server"},
	"github.com/go-text/typesetting":              {"internal/paper"},
	"golang.org/x/image":                          {"internal/paper"}, // numbers of package typesetting
	"github.com/xuri/excelize/v2":                 {"internal/report"},
	"github.com/prometheus/client_golang":         {"internal/metrics", "internal/app"},
	"github.com/riverqueue/river":                 {"internal/jobs"},
	"github.com/danielgtaylor/huma/v2":            {"internal/server"},
	"rsc.io/qr":                                   {"internal/server", "internal/app", "web/part"},
	"golang.org/x/crypto":                         {"internal/certificate"}, // autocert
	"github.com/go-json-experiment/json":          {"internal/calc"},
	"github.com/testcontainers/testcontainers-go": {"internal/testdb"},
	"github.com/moby/moby":                        {"internal/testdb"},
	"github.com/peterldowns/pgtestdb":             {"internal/testdb"},
}

// standard lists who may import packages of the standard library that only
// some layers are to know.
var standard = map[string][]string{
	"net/http":     {"internal/server", "internal/app", "internal/bench", "web"},
	"database/sql": {"internal/store", "internal/testdb"},
	"os/exec":      {"internal/localpg", "internal/testdb", "internal/app", "internal/backup", "internal/bench"},
}

func TestImports(t *testing.T) {
	for _, f := range sources(t) {
		permitted, listed := allowed[f.pkg]
		if !listed {
			t.Errorf("%s: package %s is not in the import table; add it there and to DEVELOPERS.md", f.path, f.pkg)
			continue
		}
		for _, imported := range f.imports {
			if ours, isOurs := strings.CutPrefix(imported, module); isOurs {
				if !slices.Contains(permitted, ours) {
					t.Errorf("%s: %s may not import %s", f.path, f.pkg, ours)
				}
				continue
			}
			if who, restricted := standard[imported]; restricted && !slices.Contains(who, f.pkg) {
				t.Errorf("%s: %s may not import %s; only %s may", f.path, f.pkg, imported, strings.Join(who, ", "))
			}
			if isStandard(imported) {
				continue
			}
			who, known := moduleOf(imported)
			switch {
			case !known:
				t.Errorf("%s: %s is in no table of modules; add it there and say in docs/decisions why it is needed", f.path, imported)
			case !slices.Contains(who, f.pkg):
				t.Errorf("%s: %s may not import %s; only %s may", f.path, f.pkg, imported, strings.Join(who, ", "))
			}
		}
	}
}

// The table itself must not allow what the architecture forbids.
func TestImportTableHasNoCircles(t *testing.T) {
	var visit func(pkg string, path []string)
	visit = func(pkg string, path []string) {
		if slices.Contains(path, pkg) {
			t.Errorf("the table allows a circle: %s", strings.Join(append(path, pkg), " → "))
			return
		}
		for _, below := range allowed[pkg] {
			visit(below, append(slices.Clone(path), pkg))
		}
	}
	for pkg, list := range allowed {
		visit(pkg, nil)
		if slices.Contains(list, "internal/server") && pkg != "internal/app" {
			t.Errorf("only app may import server, not %s", pkg)
		}
		if slices.Contains(list, "internal/testdb") {
			t.Errorf("only tests may import testdb, not %s", pkg)
		}
	}
}

func isStandard(imported string) bool {
	first, _, _ := strings.Cut(imported, "/")
	return !strings.Contains(first, ".")
}

// moduleOf returns who may import the module that holds a package.
func moduleOf(imported string) (who []string, known bool) {
	for name, who := range thirdParty {
		if imported == name || strings.HasPrefix(imported, name+"/") {
			return who, true
		}
	}
	return nil, false
}

// A source is one Go file of ours that is not a test.
type source struct {
	path, pkg string
	imports   []string
}

// sources reads the files themselves, not the answer of go list, so that the
// test cache notices a changed import.
func sources(t *testing.T) []source {
	t.Helper()
	var found []source
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() {
			if name := entry.Name(); name == "var" || name == "node_modules" || name == "testdata" || len(name) > 2 && name[0] == '.' {
				return fs.SkipDir // data, not code
			}
			return nil
		}
		if filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		dir, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		s := source{path: path, pkg: filepath.ToSlash(dir)}
		for _, spec := range file.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			s.imports = append(s.imports, imported)
		}
		found = append(found, s)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(found) == 0 {
		t.Fatal("no source file found")
	}
	return found
}

// The picture of the packages shows all of them.
func TestPictureShowsEveryPackage(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(root, "docs/architecture.svg"))
	if err != nil {
		t.Fatal(err)
	}
	for pkg := range allowed {
		name := strings.TrimPrefix(pkg, "internal/")
		if name == "web" || name == "migrations" || name == "docs" {
			continue // folders of files, with what reads them
		}
		if !strings.Contains(string(data), ">"+name+"<") {
			t.Errorf("docs/architecture.svg does not show %s", pkg)
		}
	}
}

// What lies at the top is found at a glance.
func TestTopStaysSmall(t *testing.T) {
	entries, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	known := strings.Fields("cmd internal web migrations deploy testdata docs go.mod go.sum Makefile Dockerfile README.md DEVELOPERS.md")
	made := []string{"bin", "var"} // by the make targets, never committed
	for _, entry := range entries {
		if name := entry.Name(); !strings.HasPrefix(name, ".") && !slices.Contains(known, name) && !slices.Contains(made, name) {
			t.Errorf("%s lies at the top; it belongs below one of %s", name, strings.Join(known, ", "))
		}
	}
}
