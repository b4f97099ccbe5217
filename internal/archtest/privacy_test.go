package archtest

import (
	"regexp"
	"slices"
	"testing"
)

// Each table of the database is named once in docs/privacy.md: beside what is
// kept in it and for how long, or among the technical ones. A new table fails
// here until that is written.
func TestWhatIsKeptIsDescribed(t *testing.T) {
	tables := map[string]int{}
	for _, match := range regexp.MustCompile(`(?m)^CREATE TABLE (?:public|river)\.(\w+) \(`).FindAllStringSubmatch(read(t, "docs/schema.sql"), -1) {
		tables[match[1]] = 0
	}
	if len(tables) < 60 {
		t.Fatalf("%d tables are found in docs/schema.sql", len(tables))
	}
	text := read(t, "docs/privacy.md")
	for _, match := range regexp.MustCompile("`([a-z_]+)`").FindAllStringSubmatch(text, -1) {
		if _, known := tables[match[1]]; !known {
			t.Errorf("docs/privacy.md names %s, which is no table", match[1])
		}
		tables[match[1]]++
	}
	var wrong []string
	for table, times := range tables {
		if times != 1 {
			wrong = append(wrong, table)
		}
	}
	slices.Sort(wrong)
	for _, table := range wrong {
		t.Errorf("docs/privacy.md names %s %d times, want once", table, tables[table])
	}
}
