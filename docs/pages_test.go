package docs

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// root is the project's folder.
const root = ".."

// A document is one page of Markdown, with what stands between fences apart.
type document struct {
	path   string // from root
	text   string // without the blocks
	blocks []block
}

// A block stands between fences, such as commands of a shell.
type block struct{ lang, text string }

// documents reads README.md, DEVELOPERS.md and everything below docs.
func documents(t *testing.T) []document {
	t.Helper()
	var all []document
	for _, path := range []string{"README.md", "DEVELOPERS.md"} {
		all = append(all, parse(path, read(t, path)))
	}
	eachFile(t, "docs", ".md", func(path, text string) { all = append(all, parse(path, text)) })
	return all
}

func parse(path, text string) document {
	d := document{path: path}
	within := false
	for line := range strings.Lines(text) {
		trimmed := strings.TrimSpace(line)
		switch {
		case strings.HasPrefix(trimmed, "```"):
			if within = !within; within {
				d.blocks = append(d.blocks, block{lang: strings.TrimPrefix(trimmed, "```")})
			}
		case within:
			d.blocks[len(d.blocks)-1].text += line
		default:
			d.text += line
		}
	}
	return d
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, path))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// eachFile calls visit with every file below folder whose name ends so.
func eachFile(t *testing.T, folder, end string, visit func(path, text string)) {
	t.Helper()
	err := fs.WalkDir(os.DirFS(root), folder, func(path string, _ fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(path, end) {
			visit(path, read(t, path))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
