package tongue

import (
	"bytes"
	"encoding/json"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// spokenAttributes are the attributes that people see or hear.
var spokenAttributes = []string{"alt", "aria-label", "aria-description", "aria-valuetext", "placeholder", "title",
	"data-words", "data-roll-words", "data-live-yes", "data-live-no", "data-wrong", "data-show", "data-hide"}

// Page writes an English page or a piece of one in the language. Names, code,
// what people typed and texts marked as being in another language are left alone.
func (l *Language) Page(w io.Writer, page []byte) error {
	tokens := html.NewTokenizer(bytes.NewReader(page))
	var out bytes.Buffer
	out.Grow(len(page) + len(page)/4)
	var quiet []string // open elements from the outermost that is left alone
	begins := false    // nothing stands yet in a block of text
	for {
		kind := tokens.Next()
		if kind == html.ErrorToken {
			if err := tokens.Err(); err != io.EOF {
				return err
			}
			_, err := w.Write(out.Bytes())
			return err
		}
		raw := tokens.Raw()
		switch kind {
		case html.TextToken:
			text := html.UnescapeString(string(raw))
			first := begins
			begins = begins && strings.TrimSpace(text) == ""
			if len(quiet) > 0 {
				out.Write(raw)
				continue
			}
			if said := l.Text(text); said != text {
				if first {
					said = asWritten(text, said)
				}
				out.WriteString(html.EscapeString(said))
			} else {
				out.Write(raw)
			}
		case html.StartTagToken, html.SelfClosingTagToken:
			raw = bytes.Clone(raw)
			token := tokens.Token()
			begins = begins || slices.Contains(blocks, token.DataAtom)
			if token.DataAtom == atom.Noscript {
				tokens.NextIsNotRawText()
			}
			if token.DataAtom == atom.Html {
				out.WriteString(l.open(token))
				continue
			}
			closes := kind == html.SelfClosingTagToken || slices.Contains(void, token.DataAtom)
			if len(quiet) > 0 {
				if !closes {
					quiet = append(quiet, token.Data)
				}
				out.Write(raw)
				continue
			}
			if l.leavesAlone(token) {
				if !closes {
					quiet = append(quiet, token.Data)
				}
				out.Write(raw)
				continue
			}
			if l.attributes(&token) {
				out.WriteString(token.String())
			} else {
				out.Write(raw)
			}
		case html.EndTagToken:
			out.Write(raw)
			name, _ := tokens.TagName()
			begins = begins && !slices.Contains(blocks, atom.Lookup(name))
			if len(quiet) > 0 {
				if at := lastIndex(quiet, string(name)); at >= 0 {
					quiet = quiet[:at]
				}
			}
		default:
			out.Write(raw)
		}
	}
}

// blocks are elements whose text begins with a capital where the English does: in
// many languages the name of a day has none of its own.
var blocks = []atom.Atom{atom.Title, atom.H1, atom.H2, atom.H3, atom.Caption, atom.Legend, atom.Figcaption, atom.Summary,
	atom.Th, atom.Dt, atom.P, atom.Li}

// asWritten gives what is said a capital if the English has one.
func asWritten(english, said string) string {
	core := strings.TrimLeft(said, " \t\r\n")
	if first, _ := utf8.DecodeRuneInString(strings.TrimSpace(english)); core == "" || !unicode.IsUpper(first) {
		return said
	}
	return said[:len(said)-len(core)] + capital(core)
}

var void = []atom.Atom{atom.Area, atom.Base, atom.Br, atom.Col, atom.Embed, atom.Hr, atom.Img, atom.Input, atom.Link, atom.Meta, atom.Source, atom.Track, atom.Wbr}

func lastIndex(names []string, name string) int {
	for i, one := range slices.Backward(names) {
		if one == name {
			return i
		}
	}
	return -1
}

// open writes the root of a page with the language's own tag and direction.
func (l *Language) open(token html.Token) string {
	token.Attr = slices.DeleteFunc(token.Attr, func(a html.Attribute) bool { return a.Key == "lang" || a.Key == "dir" })
	token.Attr = append([]html.Attribute{{Key: "lang", Val: l.Tag}, {Key: "dir", Val: l.Dir}}, token.Attr...)
	return token.String()
}

// leavesAlone tells elements whose text is nobody's to translate.
func (l *Language) leavesAlone(token html.Token) bool {
	switch token.DataAtom {
	case atom.Bdi, atom.Script, atom.Style, atom.Textarea, atom.Code, atom.Pre:
		return true
	}
	for _, a := range token.Attr {
		if a.Key == "translate" && a.Val == "no" || a.Key == "lang" && a.Val != "" && a.Val != English {
			return true
		}
	}
	return false
}

// attributes translates what is seen or heard of a tag; it tells whether
// anything was.
func (l *Language) attributes(token *html.Token) bool {
	changed := false
	button := token.DataAtom == atom.Input && slices.ContainsFunc(token.Attr, func(a html.Attribute) bool {
		return a.Key == "type" && (a.Val == "submit" || a.Val == "button" || a.Val == "reset")
	})
	for i, a := range token.Attr {
		if slices.Contains(spokenAttributes, a.Key) || button && a.Key == "value" {
			if said := l.attribute(a.Val); said != a.Val {
				token.Attr[i].Val = said
				changed = true
			}
		}
		if a.Key == "lang" && a.Val == English {
			token.Attr[i].Val = l.Tag
			changed = true
		}
	}
	return changed
}

var named = regexp.MustCompile(`\{\w+\}`)

// attribute says what an attribute holds: a text, or the words of a script as a
// JSON object, whose holes have names.
func (l *Language) attribute(english string) string {
	var words map[string]string
	if !strings.HasPrefix(english, "{\"") || json.Unmarshal([]byte(english), &words) != nil {
		return l.Text(english)
	}
	for key, text := range words {
		names := named.FindAllString(text, -1)
		n := 0
		own := l.Text(named.ReplaceAllStringFunc(text, func(string) string {
			n++
			return "{" + strconv.Itoa(n) + "}"
		}))
		words[key] = hole.ReplaceAllStringFunc(own, func(hole string) string {
			at, err := strconv.Atoi(strings.Trim(hole, "{}"))
			if err != nil || at > len(names) {
				return hole
			}
			return names[at-1]
		})
	}
	said, err := json.Marshal(words)
	if err != nil {
		return english
	}
	return string(said)
}
