package archtest

import (
	"go/ast"
	"go/build/constraint"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// ownTargets mark tests that need more than the tests do and run by a make
// target of their own: check-science, screens, and how hard faults tries.
var ownTargets = []string{"//go:build science", "//go:build screens", "//go:build faults", "//go:build !faults"}

// skips are the calls by which a test leaves something out.
var skips = []string{"Skip", "Skipf", "SkipNow", "Short"}

// A skipped test reads as a passed one. What a test needs, make test installs.
func TestNothingIsSkipped(t *testing.T) {
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, group := range file.Comments {
			for _, comment := range group.List {
				if constraint.IsGoBuild(comment.Text) && !slices.Contains(ownTargets, comment.Text) {
					t.Errorf("%s: a build constraint hides tests", set.Position(comment.Pos()))
				}
			}
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				if fun, ok := call.Fun.(*ast.SelectorExpr); ok && slices.Contains(skips, fun.Sel.Name) {
					t.Errorf("%s: a test may not be skipped; make it run everywhere", set.Position(call.Pos()))
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
