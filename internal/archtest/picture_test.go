package archtest

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// drawn is a row's heading or a package's name in the picture of the packages.
var drawn = regexp.MustCompile(`<text class="([tn])"[^>]*>([^<]*)</text>`)

// The picture shows every package, and none imports one from a row above it.
func TestPictureShowsThePackages(t *testing.T) {
	text, err := os.ReadFile(root + "/docs/architecture.svg")
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	row := map[string]int{} // from the top
	for _, found := range drawn.FindAllStringSubmatch(string(text), -1) {
		if found[1] == "t" {
			rows++
			continue
		}
		row[found[2]] = rows
	}
	around := rows // the last row stands around all others
	for pkg := range allowed {
		if row[inPicture(pkg)] == 0 {
			t.Errorf("docs/architecture.svg does not show %s", pkg)
		}
	}
	for _, f := range sources(t) {
		from := row[inPicture(f.pkg)]
		if from == around {
			continue
		}
		for _, imported := range f.imports {
			ours, isOurs := strings.CutPrefix(imported, module)
			if to := row[inPicture(ours)]; isOurs && to < from {
				t.Errorf("%s: %s imports %s, which docs/architecture.svg draws above it", f.path, f.pkg, ours)
			}
		}
	}
	tests := []string{"archtest", "e2e"} // packages of tests only
	for name := range row {
		if _, listed := allowed["internal/"+name]; !listed && !slices.Contains(tests, name) {
			if _, listed = allowed[name]; !listed {
				t.Errorf("docs/architecture.svg shows %s, which is not there", name)
			}
		}
	}
}

// inPicture is what the picture calls a package.
func inPicture(pkg string) string { return strings.TrimPrefix(pkg, "internal/") }
