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
	s := speaker{Language: l, tokens: html.NewTokenizer(bytes.NewReader(page))}
	s.out.Grow(len(page) + len(page)/4)
	for {
		switch kind := s.tokens.Next(); kind {
		case html.ErrorToken:
			if err := s.tokens.Err(); err != io.EOF {
				return err
			}
			_, err := w.Write(s.out.Bytes())
			return err
		case html.TextToken:
			s.text(s.tokens.Raw())
		case html.StartTagToken, html.SelfClosingTagToken:
			s.begin(kind)
		case html.EndTagToken:
			s.end()
		default:
			s.out.Write(s.tokens.Raw())
		}
	}
}

// A speaker says one page, token by token.
type speaker struct {
	*Language
	tokens *html.Tokenizer
	out    bytes.Buffer
	quiet  []string // open elements from the outermost that is left alone
	begins bool     // nothing stands yet in a block of text
}

func (s *speaker) text(raw []byte) {
	text := html.UnescapeString(string(raw))
	first := s.begins
	s.begins = s.begins && strings.TrimSpace(text) == ""
	if len(s.quiet) > 0 {
		s.out.Write(raw)
		return
	}
	said := s.Text(text)
	if said == text {
		s.out.Write(raw)
		return
	}
	if first {
		said = asWritten(text, said)
	}
	s.out.WriteString(html.EscapeString(said))
}

func (s *speaker) begin(kind html.TokenType) {
	raw := bytes.Clone(s.tokens.Raw()) // reading the token changes it
	token := s.tokens.Token()
	s.begins = s.begins || slices.Contains(blocks, token.DataAtom)
	if token.DataAtom == atom.Noscript {
		s.tokens.NextIsNotRawText()
	}
	switch {
	case token.DataAtom == atom.Html:
		s.out.WriteString(s.open(token))
	case len(s.quiet) > 0 || s.leavesAlone(token):
		if kind != html.SelfClosingTagToken && !slices.Contains(void, token.DataAtom) {
			s.quiet = append(s.quiet, token.Data)
		}
		s.out.Write(raw)
	case s.attributes(&token):
		s.out.WriteString(token.String())
	default:
		s.out.Write(raw)
	}
}

func (s *speaker) end() {
	s.out.Write(s.tokens.Raw())
	name, _ := s.tokens.TagName()
	s.begins = s.begins && !slices.Contains(blocks, atom.Lookup(name))
	if at := lastIndex(s.quiet, string(name)); at >= 0 {
		s.quiet = s.quiet[:at]
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
