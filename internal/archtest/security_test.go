package archtest

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// level2 counts, by section, the items of OWASP ASVS 4.0.3 that level 2 asks for:
// each number up to the last, without those left out, which were deleted or belong
// to level 3 alone. Source: the standard's own list in its repository.
var level2 = []struct {
	section string
	last    int
	without []int
}{
	{"V1.1", 7, nil}, {"V1.2", 4, nil}, {"V1.4", 5, []int{2, 3}}, {"V1.5", 4, nil}, {"V1.6", 4, nil}, {"V1.7", 2, nil}, {"V1.8", 2, nil},
	{"V1.9", 2, nil}, {"V1.10", 1, nil}, {"V1.11", 2, nil}, {"V1.12", 2, []int{1}}, {"V1.14", 6, nil},
	{"V2.1", 12, nil}, {"V2.2", 3, nil}, {"V2.3", 3, nil}, {"V2.4", 6, nil}, {"V2.5", 7, nil}, {"V2.6", 3, nil}, {"V2.7", 6, nil},
	{"V2.8", 7, nil}, {"V2.9", 3, nil}, {"V2.10", 4, nil},
	{"V3.1", 1, nil}, {"V3.2", 4, nil}, {"V3.3", 4, nil}, {"V3.4", 5, nil}, {"V3.5", 3, nil}, {"V3.7", 1, nil},
	{"V4.1", 5, []int{4}}, {"V4.2", 2, nil}, {"V4.3", 3, nil},
	{"V5.1", 5, nil}, {"V5.2", 8, nil}, {"V5.3", 10, nil}, {"V5.4", 3, nil}, {"V5.5", 4, nil},
	{"V6.1", 3, nil}, {"V6.2", 6, nil}, {"V6.3", 2, nil}, {"V6.4", 2, nil},
	{"V7.1", 4, nil}, {"V7.2", 2, nil}, {"V7.3", 4, []int{2}}, {"V7.4", 3, nil},
	{"V8.1", 4, nil}, {"V8.2", 3, nil}, {"V8.3", 8, nil},
	{"V9.1", 3, nil}, {"V9.2", 4, nil},
	{"V10.2", 2, nil}, {"V10.3", 3, nil},
	{"V11.1", 8, nil},
	{"V12.1", 3, nil}, {"V12.2", 1, nil}, {"V12.3", 6, nil}, {"V12.4", 2, nil}, {"V12.5", 2, nil}, {"V12.6", 1, nil},
	{"V13.1", 5, []int{2}}, {"V13.2", 6, []int{4}}, {"V13.3", 2, nil}, {"V13.4", 2, nil},
	{"V14.1", 4, nil}, {"V14.2", 6, nil}, {"V14.3", 3, []int{1}}, {"V14.4", 7, nil}, {"V14.5", 4, nil},
}

var securityRow = regexp.MustCompile(`(?m)^\| (V\d+\.\d+\.\d+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$`)

// Each item of the standard has one row in docs/security.md, and each row names
// tests that there are, or what to read instead.
func TestEverySecurityRowIsShown(t *testing.T) {
	var want []string
	for _, section := range level2 {
		for n := 1; n <= section.last; n++ {
			if !slices.Contains(section.without, n) {
				want = append(want, fmt.Sprintf("%s.%d", section.section, n))
			}
		}
	}
	tests := testNames(t)
	var got []string
	for _, row := range securityRow.FindAllStringSubmatch(read(t, "docs/security.md"), -1) {
		item, shown := row[1], row[4]
		got = append(got, item)
		if text, isText := strings.CutPrefix(shown, "Read: "); isText {
			if text == "" {
				t.Errorf("%s does not say what to read", item)
			}
			continue
		}
		for name := range strings.SplitSeq(shown, ", ") {
			if !slices.Contains(tests, strings.Trim(name, "`")) {
				t.Errorf("%s is shown by %s, which is no test", item, name)
			}
		}
	}
	if !slices.Equal(got, want) {
		for _, item := range want {
			if !slices.Contains(got, item) {
				t.Errorf("%s has no row", item)
			}
		}
		t.Errorf("docs/security.md has %d rows, want each of %d items once, in order", len(got), len(want))
	}
}

// Nothing that a row of docs/security.md tells to read is missing.
func TestWhatToReadIsThere(t *testing.T) {
	for _, row := range securityRow.FindAllStringSubmatch(read(t, "docs/security.md"), -1) {
		text, isText := strings.CutPrefix(row[4], "Read: ")
		if !isText || text == "this page" || text == "the repository's history" {
			continue
		}
		if _, inDocs := os.Stat(filepath.Join("../../docs", text)); inDocs != nil {
			if _, err := os.Stat(filepath.Join("../..", text)); err != nil {
				t.Errorf("%s: %v", row[1], err)
			}
		}
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("../..", path))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

var testFunc = regexp.MustCompile(`(?m)^func ((?:Test|Fuzz)[A-Z]\w*)\(`)

// testNames lists the tests of the whole module.
func testNames(t *testing.T) []string {
	t.Helper()
	var names []string
	for _, root := range []string{"../../internal", "../../web", "../../migrations", "../../cmd"} {
		err := filepath.WalkDir(root, func(path string, _ os.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, "_test.go") {
				return err
			}
			text, err := os.ReadFile(path)
			for _, match := range testFunc.FindAllStringSubmatch(string(text), -1) {
				names = append(names, match[1])
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return names
}
