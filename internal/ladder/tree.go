package ladder

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"unicode/utf8"
)

// A node is one value of a JSON file with the line it stands on.
type node struct {
	line   int
	path   string // JSON pointer
	kind   kind
	text   string // of a text or number
	flag   bool
	items  []node  // of a list
	fields []field // of an object, in the file's order
}

type field struct {
	name  string
	line  int
	value node
}

type kind int

const (
	nothing kind = iota
	isText
	isNumber
	isFlag
	isList
	isObject
)

// What a ladder file may hold, far above what a ladder needs.
const (
	maxFileBytes = 1 << 20
	maxDepth     = 12
)

// parseTree returns the value of a JSON file, or the one problem that keeps it
// from being read.
func parseTree(data []byte) (node, *Problem) {
	if len(data) > maxFileBytes {
		return node{}, &Problem{Line: 1, Text: "The file is larger than 1 MB. A ladder file is much smaller."}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if at := badUTF8(data); at >= 0 {
		return node{}, &Problem{Line: lineAt(data, at), Text: "These letters are not UTF-8. Save the file as UTF-8 text."}
	}
	var raw json.RawMessage
	if err := json.Unmarshal(data, &raw); err != nil {
		return node{}, syntaxProblem(data, err)
	}
	t := treeReader{data: data, decoder: json.NewDecoder(bytes.NewReader(data))}
	t.decoder.UseNumber()
	root := t.value("", 0)
	if t.tooDeep > 0 {
		return node{}, &Problem{Line: t.tooDeep, Text: "Brackets are nested too deep here. A ladder file needs far fewer."}
	}
	return root, nil
}

// syntaxProblem puts a syntax error into words.
func syntaxProblem(data []byte, err error) *Problem {
	var syntax *json.SyntaxError
	if !errors.As(err, &syntax) || int(syntax.Offset) > len(data) {
		return &Problem{Line: 1, Text: "The file cannot be read as JSON."}
	}
	at := max(int(syntax.Offset)-1, 0)
	if len(bytes.TrimSpace(data)) == 0 {
		return &Problem{Line: 1, Text: "The file is empty. Choose a ladder file."}
	}
	if len(bytes.TrimSpace(data[at:])) == 0 || syntax.Error() == "unexpected end of JSON input" {
		last := len(bytes.TrimRight(data, " \t\r\n"))
		return &Problem{Line: lineAt(data, last), Text: "The file ends too early. A bracket or a quote is still open."}
	}
	letter, _ := utf8.DecodeRune(data[at:])
	return &Problem{Line: lineAt(data, at), Text: fmt.Sprintf(
		"The file cannot be read on from %s here. Look for a missing comma, quote or bracket.", strconv.QuoteRune(letter))}
}

// badUTF8 returns the offset of the first byte that is not UTF-8, or −1.
func badUTF8(data []byte) int {
	for at := 0; at < len(data); {
		letter, size := utf8.DecodeRune(data[at:])
		if letter == utf8.RuneError && size == 1 {
			return at
		}
		at += size
	}
	return -1
}

func lineAt(data []byte, offset int) int { return 1 + bytes.Count(data[:offset], []byte("\n")) }

// A treeReader builds nodes from text that is known to be JSON.
type treeReader struct {
	data    []byte
	decoder *json.Decoder
	counted int // bytes whose lines are in line
	line    int // line breaks before counted
	tooDeep int // line of the first value nested too deep, 0 for none
}

// token returns the next token and the line on which it ends; none spans lines.
func (t *treeReader) token() (json.Token, int) {
	token, err := t.decoder.Token()
	if err != nil {
		return nil, t.line + 1 // cannot happen: the text is known to be JSON
	}
	end := int(t.decoder.InputOffset())
	t.line += bytes.Count(t.data[t.counted:end], []byte("\n"))
	t.counted = end
	return token, t.line + 1
}

func (t *treeReader) value(path string, depth int) node {
	token, line := t.token()
	n := node{line: line, path: path}
	if depth > maxDepth && t.tooDeep == 0 {
		t.tooDeep = line
	}
	switch token := token.(type) {
	case string:
		n.kind, n.text = isText, token
	case json.Number:
		n.kind, n.text = isNumber, token.String()
	case bool:
		n.kind, n.flag = isFlag, token
	case json.Delim:
		if token == '[' {
			n.kind = isList
			for i := 0; t.decoder.More(); i++ {
				n.items = append(n.items, t.value(path+"/"+strconv.Itoa(i), depth+1))
			}
		} else {
			n.kind = isObject
			for t.decoder.More() {
				name, at := t.token()
				f := field{name: name.(string), line: at}
				f.value = t.value(path+"/"+f.name, depth+1)
				n.fields = append(n.fields, f)
			}
		}
		t.token() // the closing bracket
	}
	return n
}
