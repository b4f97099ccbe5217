package docs

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var (
	linked  = regexp.MustCompile(`\]\(([^)\s]+)\)|(?:src|href)="([^"]+)"`)
	heading = regexp.MustCompile(`(?m)^#+ +(.*)$`)
	notSlug = regexp.MustCompile(`[^\p{L}\p{N} _-]`)
)

// slugs returns what links call a page's headings, as GitHub does.
func (d document) slugs() []string {
	var all []string
	for _, found := range heading.FindAllStringSubmatch(d.text, -1) {
		all = append(all, strings.ReplaceAll(notSlug.ReplaceAllString(strings.ToLower(found[1]), ""), " ", "-"))
	}
	return all
}

func TestLinksLeadSomewhere(t *testing.T) {
	all := documents(t)
	links := 0
	for _, d := range all {
		for _, found := range linked.FindAllStringSubmatch(d.text, -1) {
			target := found[1] + found[2]
			if regexp.MustCompile(`^[a-z]+:`).MatchString(target) {
				continue // another place
			}
			links++
			path, part, _ := strings.Cut(target, "#")
			to := d.path
			if path != "" {
				to = filepath.Join(filepath.Dir(d.path), path)
			}
			if _, err := os.Stat(filepath.Join(root, to)); err != nil {
				t.Errorf("%s links to %s, which is not there", d.path, target)
				continue
			}
			i := slices.IndexFunc(all, func(d document) bool { return d.path == to })
			if part != "" && (i < 0 || !slices.Contains(all[i].slugs(), part)) {
				t.Errorf("%s links to %s: %s has no such heading", d.path, target, to)
			}
		}
	}
	if links < 10 {
		t.Errorf("only %d links were found", links)
	}
}

// Whoever reads one page finds the others: every page is linked from README.md or
// from a page that is.
func TestEveryPageIsReached(t *testing.T) {
	all := documents(t)
	reached := map[string]bool{"README.md": true}
	for range all {
		for _, d := range all {
			for _, found := range linked.FindAllStringSubmatch(d.text, -1) {
				path, _, _ := strings.Cut(found[1], "#")
				to := filepath.Join(filepath.Dir(d.path), path)
				if path == "decisions" || strings.HasSuffix(to, "docs/decisions") {
					to = filepath.Join(to, "README.md")
				}
				reached[to] = reached[to] || reached[d.path]
			}
		}
	}
	for _, d := range all {
		if !reached[d.path] {
			t.Errorf("no page leads to %s", d.path)
		}
	}
}

// Pictures are shown by some page, and light enough to load all at once.
func TestPictures(t *testing.T) {
	files, err := filepath.Glob("screens/*")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d pictures, %v", len(files), err)
	}
	var text strings.Builder
	for _, d := range documents(t) {
		text.WriteString(d.text)
	}
	for _, file := range files {
		info, err := os.Stat(file)
		if err != nil {
			t.Fatal(err)
		}
		const most = 150_000 // bytes
		if info.Size() > most {
			t.Errorf("%s is %d bytes, more than %d", file, info.Size(), most)
		}
		if !strings.Contains(text.String(), file) {
			t.Errorf("no page shows %s", file)
		}
	}
}
