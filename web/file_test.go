package web

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

func TestLoad(t *testing.T) {
	files, err := load(static)
	if err != nil {
		t.Fatal(err)
	}
	paths := map[string]string{}
	for name, file := range files {
		if other, twice := paths[file.Path]; twice {
			t.Errorf("%s and %s share the address %s", name, other, file.Path)
		}
		paths[file.Path] = name
		if file.Type == "" {
			t.Errorf("%s has no media type", name)
		}
		if file.Gzip == nil {
			continue
		}
		r, err := gzip.NewReader(bytes.NewReader(file.Gzip))
		if err != nil {
			t.Fatal(err)
		}
		if body, err := io.ReadAll(r); err != nil || !bytes.Equal(body, file.Body) {
			t.Errorf("%s does not unpack to itself: %v", name, err)
		}
	}
	css := files["css/app.css"]
	for _, name := range regexp.MustCompile(`/static/[^")]+`).FindAllString(string(css.Body), -1) {
		if paths[name] == "" {
			t.Errorf("the style sheet names %s, which is not served", name)
		}
	}
}

func TestAddressFollowsContent(t *testing.T) {
	const sheet = `a { background: url("/static/dot.svg") }`
	before, err := load(fstest.MapFS{
		"static/app.css": {Data: []byte(sheet)},
		"static/dot.svg": {Data: []byte("<svg/>")},
	})
	if err != nil {
		t.Fatal(err)
	}
	after, err := load(fstest.MapFS{
		"static/app.css": {Data: []byte(sheet)},
		"static/dot.svg": {Data: []byte("<svg></svg>")},
	})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(before["app.css"].Body), before["dot.svg"].Path) {
		t.Errorf("the sheet does not name the address of dot.svg: %s", before["app.css"].Body)
	}
	if before["app.css"].Path == after["app.css"].Path {
		t.Error("the sheet keeps its address though a file it names has changed")
	}
}

func TestLoadRefuses(t *testing.T) {
	tests := map[string]struct {
		files fstest.MapFS
		want  string
	}{
		"missing file": {fstest.MapFS{"static/a.css": {Data: []byte(`"/static/b.css"`)}}, "b.css"},
		"circle": {fstest.MapFS{
			"static/a.js": {Data: []byte(`import "/static/b.js"`)},
			"static/b.js": {Data: []byte(`import "/static/a.js"`)},
		}, "refers to itself"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := load(test.files)
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("error = %v, want one with %q", err, test.want)
			}
		})
	}
}

// TestVendor holds other people's files to the sums they were taken in with,
// and to having their licence beside them.
func TestVendor(t *testing.T) {
	list, err := os.Open("vendor.sha256")
	if err != nil {
		t.Fatal(err)
	}
	defer list.Close()
	want := map[string]string{}
	lines := bufio.NewScanner(list)
	for lines.Scan() {
		sum, name, _ := strings.Cut(lines.Text(), "  ")
		want["static/vendor/"+name] = sum
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	err = fs.WalkDir(static, "static/vendor", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		body, err := static.ReadFile(name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(body)
		if got := hex.EncodeToString(sum[:]); got != want[name] {
			t.Errorf("%s has sum %s, listed is %q", name, got, want[name])
		}
		delete(want, name)
		if _, err := static.ReadFile(path.Dir(name) + "/LICENSE"); err != nil {
			t.Errorf("%s has no licence beside it", name)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range want {
		t.Errorf("%s is listed but not there", name)
	}
}

func TestSlim(t *testing.T) {
	for sheet, want := range map[string]string{
		"/* Why. */\na {\n  color: red;\n}\n":               "a{color:red}",
		"a, b > c { margin: 0 auto }":                       "a,b > c{margin:0 auto}",
		".x:not(a :hover) { inline-size: calc(1px + 2%); }": ".x:not(a :hover){inline-size:calc(1px + 2%)}",
		"a::before { content: \"→ \"; }":                    "a::before{content:\"→ \"}",
		"@media (min-width: 2em) {\n  a { top: 0; }\n}":     "@media (min-width:2em){a{top:0}}",
	} {
		if got := string(slim([]byte(sheet))); got != want {
			t.Errorf("%q becomes %q, not %q", sheet, got, want)
		}
	}
}

// No text in quotes is touched, since none holds what [slim] takes out.
func TestSlimLeavesTextsAlone(t *testing.T) {
	sheets, err := fs.Glob(static, "static/css/*.css")
	if err != nil {
		t.Fatal(err)
	}
	quoted := regexp.MustCompile(`"[^"]*"`)
	all := 0
	for _, name := range sheets {
		sheet, err := static.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		texts := quoted.FindAllString(string(comment.ReplaceAll(sheet, nil)), -1)
		if after := quoted.FindAllString(string(slim(sheet)), -1); !slices.Equal(texts, after) {
			t.Errorf("%s: texts in quotes were %q and are %q", name, texts, after)
		}
		all += len(texts)
	}
	if all == 0 {
		t.Error("no sheet holds a text in quotes")
	}
}

// A sheet goes out with its parts in it, in the order in which it names them.
func TestSheetsAreJoined(t *testing.T) {
	files, err := load(fstest.MapFS{
		"static/all.css": {Data: []byte("/* Parts. */\n@import \"/static/b.css\";\n@import \"/static/a.css\";\n")},
		"static/a.css":   {Data: []byte("a { top: 0; }\n")},
		"static/b.css":   {Data: []byte("b { background: url(\"/static/dot.svg\"); }\n")},
		"static/dot.svg": {Data: []byte("<svg/>")},
	})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := string(files["all.css"].Body), `b{background:url("`+files["dot.svg"].Path+`")}a{top:0}`; got != want {
		t.Errorf("the sheet is %s, want %s", got, want)
	}
}

// TestBudgets keeps a first visit small enough for a slow mobile
// network.
func TestBudgets(t *testing.T) {
	tests := map[string]int{ // bytes, packed
		"css/app.css": 14_000,
		"js/app.js":   4_000,
	}
	for name, limit := range tests {
		if got := len(Named(name).Gzip); got == 0 || got > limit {
			t.Errorf("%s is %d bytes packed, limit %d", name, got, limit)
		}
	}
}

func TestStyleSheet(t *testing.T) {
	css := string(Named("css/app.css").Body)
	// Left and right would be wrong in a language written the other way.
	physical := regexp.MustCompile(`[{;](margin|padding|border)-(left|right|top|bottom)|[{;](left|right|top|bottom|width|height):|text-align:(left|right)`)
	if found := physical.FindAllString(css, -1); len(found) > 0 {
		t.Errorf("properties tied to one writing direction: %q", found)
	}
}

// Scripts go out without what only their readers need, and with everything else.
func TestScriptsLoseRemarks(t *testing.T) {
	script := "// What it is.\nconst a = \"http://x\"; // known\n  // why\n  let b = \"a // b\"; // it's so\n"
	if got, want := string(remark.ReplaceAll([]byte(script), nil)), "const a = \"http://x\";\nlet b = \"a // b\"; // it's so\n"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	names, err := fs.Glob(static, "static/js/*.js")
	if err != nil || len(names) == 0 {
		t.Fatal(names, err)
	}
	for _, name := range names {
		script, err := static.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for line := range bytes.Lines(remark.ReplaceAll(script, nil)) {
			if bytes.Count(line, []byte("`"))%2 != 0 {
				t.Errorf("%s: a text runs over the end of the line %q", name, line)
			}
		}
	}
}
