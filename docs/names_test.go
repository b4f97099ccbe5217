package docs

import (
	"path/filepath"
	"regexp"
	"testing"
)

// named is a file or folder of the project as a page names it.
var named = regexp.MustCompile("`((?:\\.ci|cmd|deploy|docs|internal|migrations|testdata|web)/[\\w./*@-]+)`")

// A page that names a file names one that is there.
func TestNamedFilesAreThere(t *testing.T) {
	names := 0
	for _, d := range documents(t) {
		for _, found := range named.FindAllStringSubmatch(d.text, -1) {
			if regexp.MustCompile(`000N|name@version`).MatchString(found[1]) {
				continue // one that is still to be added
			}
			names++
			there, err := filepath.Glob(filepath.Join(root, found[1]))
			if err != nil || len(there) == 0 {
				t.Errorf("%s names %s, which is not there", d.path, found[1])
			}
		}
	}
	if names < 40 {
		t.Errorf("only %d names were found", names)
	}
}
