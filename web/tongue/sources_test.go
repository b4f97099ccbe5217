package tongue

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	templ "github.com/a-h/templ/parser/v2"
)

// spoken are the folders whose texts people read. Texts of package store,
// of the programs an operator starts and of the logs stay English.
var spoken = []string{
	"web/page", "web/part", "internal/server", "internal/problem", "internal/account", "internal/roster", "internal/measuring",
	"internal/deciding", "internal/coaching", "internal/leading", "internal/reporting", "internal/receiving", "internal/privacy",
	"internal/report", "internal/finding", "internal/review", "internal/standing", "internal/level", "internal/calendar", "internal/gym",
	"internal/planner", "internal/ladder", "internal/rate", "internal/progress", "internal/floor",
}

// pages are the folders in which even a single word is read by people.
var pages = []string{"web/page", "web/part"}

// nouns are the folders and files that hold single words for things.
var nouns = []string{"web/page", "web/part", "internal/gym", "internal/rate", "internal/report/picture.go", "internal/report/athletepage.go", "internal/report/grouppage.go"}

// A gatherer collects the texts of the sources, with the places that say them.
type gatherer struct {
	folder string
	words  bool // the file holds nothing but words
	texts  map[string]bool
}

// gather returns every text that people read, sorted.
func gather(t *testing.T) []string {
	t.Helper()
	g := gatherer{texts: map[string]bool{}}
	for _, text := range joints {
		g.texts[text] = true
	}
	for _, folder := range spoken {
		g.folder = folder
		err := filepath.WalkDir(filepath.Join("../..", folder), func(path string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case strings.HasSuffix(path, ".json") && !strings.Contains(path, "testdata"):
				return g.json(path)
			case strings.HasSuffix(path, ".templ"):
				return g.templ(path)
			case strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go"):
				return g.source(path)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return slices.Sorted(maps.Keys(g.texts))
}

// json collects the texts of a file of words: all values that are no codes.
func (g *gatherer) json(path string) error {
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	var value any
	if err := json.Unmarshal(data, &value); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	var walk func(any)
	walk = func(value any) {
		switch value := value.(type) {
		case map[string]any:
			for _, one := range value {
				walk(one)
			}
		case []any:
			for _, one := range value {
				walk(one)
			}
		case string:
			text := unnamed(value)
			if code.MatchString(text) && filepath.Base(filepath.Dir(path)) != "words" {
				return
			}
			g.add(text, true)
		}
	}
	walk(value)
	return nil
}

// unnamed numbers holes that have names.
func unnamed(text string) string {
	holes := 0
	return named.ReplaceAllStringFunc(text, func(string) string {
		holes++
		return fmt.Sprintf("{%d}", holes)
	})
}

var (
	code = regexp.MustCompile(`^[a-z0-9]+(?:[-_][a-z0-9]+)*$`)
)

// templ collects the texts between the tags of a page; its expressions are in
// the code generated from it.
func (g *gatherer) templ(path string) error {
	file, err := templ.Parse(path)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	for _, node := range file.Nodes {
		if component, ok := node.(*templ.HTMLTemplate); ok {
			g.siblings(component.Children)
		}
	}
	return nil
}

// siblings joins neighbouring texts and expressions to one text.
func (g *gatherer) siblings(nodes []templ.Node) {
	var run strings.Builder
	holes := 0
	end := func() {
		if strings.Trim(run.String(), " {}0123456789") != "" {
			g.add(run.String(), true)
		}
		run.Reset()
		holes = 0
	}
	for _, node := range nodes {
		switch node := node.(type) {
		case *templ.Text:
			run.WriteString(node.Value + string(node.TrailingSpace))
			continue
		case *templ.StringExpression:
			holes++
			fmt.Fprintf(&run, "{%d}%s", holes, node.TrailingSpace)
			continue
		case *templ.Whitespace:
			run.WriteString(" ")
			continue
		case *templ.Element:
			end()
			if node.Name == "script" || node.Name == "style" {
				continue
			}
			for _, attribute := range node.Attributes {
				if constant, ok := attribute.(*templ.ConstantAttribute); ok && slices.Contains(spokenAttributes, constant.Key.String()) {
					g.add(constant.Value, true)
				}
			}
			g.siblings(node.Children)
		case *templ.IfExpression:
			end()
			g.siblings(node.Then)
			for _, other := range node.ElseIfs {
				g.siblings(other.Then)
			}
			g.siblings(node.Else)
		case *templ.ForExpression:
			end()
			g.siblings(node.Children)
		case *templ.SwitchExpression:
			end()
			for _, c := range node.Cases {
				g.siblings(c.Children)
			}
		case *templ.TemplElementExpression:
			end()
			g.siblings(node.Children)
		default:
			end()
		}
	}
	end()
}

// source collects the string literals of a Go file that read like words for
// people: constants, formats and sums.
func (g *gatherer) source(path string) error {
	name := strings.TrimPrefix(filepath.ToSlash(path), "../../")
	g.words = (slices.Contains(nouns, g.folder) || slices.Contains(nouns, name)) && !strings.HasSuffix(path, "_templ.go")
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
	if err != nil {
		return err
	}
	ast.Inspect(file, g.inspect)
	return nil
}

func (g *gatherer) inspect(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.ImportSpec:
		return false
	case *ast.Field:
		return n.Tag == nil
	case *ast.CallExpr:
		g.counted(n)
		return !g.silent(n)
	case *ast.CaseClause:
		for _, statement := range n.Body {
			ast.Inspect(statement, g.inspect)
		}
		return false
	case *ast.IndexExpr:
		ast.Inspect(n.X, g.inspect)
		return false
	case *ast.BinaryExpr:
		if n.Op != token.ADD {
			if n.Op == token.EQL || n.Op == token.NEQ {
				return false
			}
			return true
		}
		text, holes := g.sum(n, 0)
		if holes < 0 {
			return true
		}
		g.add(text, false)
		return false
	case *ast.BasicLit:
		if n.Kind == token.STRING {
			text, err := strconv.Unquote(n.Value)
			if err == nil {
				g.add(format(unnamed(text)), false)
			}
		}
	}
	return true
}

// sum writes a sum of strings as one text with holes for its values.
func (g *gatherer) sum(e ast.Expr, holes int) (string, int) {
	switch e := e.(type) {
	case *ast.BinaryExpr:
		if e.Op == token.ADD {
			left, n := g.sum(e.X, holes)
			right, m := g.sum(e.Y, n)
			return left + right, m
		}
	case *ast.ParenExpr:
		return g.sum(e.X, holes)
	case *ast.BasicLit:
		if e.Kind == token.STRING {
			text, _ := strconv.Unquote(e.Value)
			return text, holes
		}
	}
	ast.Inspect(e, g.inspect)
	holes++
	return fmt.Sprintf("{%d}", holes), holes
}

// counted collects what Count writes for one and for many of a thing.
func (g *gatherer) counted(call *ast.CallExpr) {
	name := ""
	switch f := call.Fun.(type) {
	case *ast.Ident:
		name = f.Name
	case *ast.SelectorExpr:
		name = f.Sel.Name
	}
	if !strings.EqualFold(name, "count") && name != "counted" || len(call.Args) != 3 {
		return
	}
	if one, ok := literal(call.Args[1]); ok {
		g.add("1 "+one, true)
	}
	if many, ok := literal(call.Args[2]); ok {
		g.add("{1} "+many, true)
	}
}

func literal(e ast.Expr) (string, bool) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(lit.Value)
	return text, err == nil
}

// silent tells calls whose texts nobody but a programmer reads.
func (g *gatherer) silent(call *ast.CallExpr) bool {
	selector, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	on, name := "", selector.Sel.Name
	switch x := selector.X.(type) {
	case *ast.Ident:
		on = x.Name
	case *ast.SelectorExpr:
		on = x.Sel.Name
	}
	switch on {
	case "errors", "regexp", "slog", "Log", "log", "filepath", "url", "hex", "template", "asset":
		return true
	case "templruntime":
		return name == "WriteString"
	case "fmt":
		return name == "Errorf"
	case "strings":
		return !slices.Contains([]string{"Join", "Repeat", "ToUpper"}, name)
	}
	return slices.Contains([]string{"Set", "Get", "Parse", "Format", "Method", "Route", "Register", "PostFormValue", "FormValue", "PathValue", "URLParam"}, name)
}

var (
	verb    = regexp.MustCompile(`%[-+#0]*(?:\[\d+\])?[\d*]*(?:\.[\d*]+)?[a-zA-Z]`)
	lexical = regexp.MustCompile(`\p{L}{2,}`)
)

// format writes the verbs of a format as holes.
func format(text string) string {
	holes := 0
	text = verb.ReplaceAllStringFunc(text, func(string) string {
		holes++
		return fmt.Sprintf("{%d}", holes)
	})
	return strings.ReplaceAll(text, "%%", "%")
}

// numbered makes one hole of holes side by side and numbers them anew.
func numbered(text string) string {
	n := 0
	return beside.ReplaceAllStringFunc(text, func(string) string {
		n++
		return fmt.Sprintf("{%d}", n)
	})
}

var beside = regexp.MustCompile(`(?:\{\d+\})+`)

// add keeps a text if it reads like words.
func (g *gatherer) add(text string, sure bool) {
	text = numbered(strings.TrimLeft(tidy(text), leading))
	if after := sentence.FindStringSubmatch(text); after != nil {
		g.add(after[1], sure)
	}
	if dangling.MatchString(text) && !strings.Contains(text, "{") {
		g.texts[text+" {1}"] = true
	}
	bare := hole.ReplaceAllString(text, "")
	if !lexical.MatchString(bare) || strings.Contains(text, "\x00") {
		return
	}
	if !sure && !g.readsLikeWords(bare, text) {
		return
	}
	g.texts[text] = true
	if short := numbered(optional.ReplaceAllString(text, "$1")); short != text {
		g.add(short, sure)
	}
}

// sentence is a text that comes behind whole sentences.
var sentence = regexp.MustCompile(`^\{1\} (\p{Lu}.*)$`)

// dangling is a text that a name or a thing is put behind.
var dangling = regexp.MustCompile(` (?:for|of|by|to)$`)

// optional are holes that stick to a word: what follows brings its own space, or
// is nothing.
var optional = regexp.MustCompile(`(\p{L})\{\d+\}`)

var drawing = regexp.MustCompile(`^[MHV][\d{ -]`) // the path of a picture

var plain = regexp.MustCompile(`^\p{Lu}\p{Ll}+$`)

func (g *gatherer) readsLikeWords(text, whole string) bool {
	first := []rune(text)[0]
	switch {
	case strings.ContainsAny(text, "<>=@{}|\\_") || strings.Contains(text, "://") || strings.Contains(text, "--"):
		return false
	case strings.HasPrefix(whole, "/") || strings.HasPrefix(whole, "#") || strings.HasPrefix(whole, "."):
		return false
	case drawing.MatchString(whole):
		return false
	case plain.MatchString(text):
		return true
	case !strings.ContainsAny(text, " \u00a0"):
		return g.words || slices.Contains(pages, g.folder) && (unicode.IsUpper(first) || strings.HasSuffix(text, "."))
	case slices.Contains(pages, g.folder):
		return true
	}
	return strings.Contains(strings.TrimSpace(text), " ") || whole != text
}
