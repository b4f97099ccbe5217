package archtest

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"testing"
)

// outside lists the packages through which a computation would read or change
// the world around it. Pure packages import none of them.
var outside = []string{
	"os", "os/exec", "os/user", "io/fs", "io/ioutil", "net", "net/http", "syscall", "database/sql", "log", "log/slog",
	"math/rand", "math/rand/v2", "crypto/rand", "context", "sync", "runtime", "testing", "unsafe",
}

// clocks are the functions of package time that read the clock or wait.
var clocks = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer"}

func TestPurePackagesKnowNoOutside(t *testing.T) {
	for _, f := range sources(t) {
		if !slices.Contains(pure, f.pkg) {
			continue
		}
		for _, imported := range f.imports {
			if slices.Contains(outside, imported) {
				t.Errorf("%s: %s is pure and may not import %s", f.path, f.pkg, imported)
			}
		}
		file, err := parser.ParseFile(token.NewFileSet(), f.path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if pkg, ok := call.X.(*ast.Ident); ok && pkg.Name == "time" && slices.Contains(clocks, call.Sel.Name) {
				t.Errorf("%s: %s is pure and may not call time.%s", f.path, f.pkg, call.Sel.Name)
			}
			return true
		})
	}
}

func TestMainIsShort(t *testing.T) {
	text, err := os.ReadFile(root + "/cmd/ropewalk/main.go")
	if err != nil {
		t.Fatal(err)
	}
	if lines := bytes.Count(text, []byte("\n")); lines >= 80 {
		t.Errorf("main.go has %d lines; under 80 keep the wiring in internal/app", lines)
	}
}
