package ladder

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
)

// A Problem is one thing in a ladder file that must be mended.
type Problem struct {
	Line int    // from 1
	Path string // JSON pointer to the part, such as /stages/5/gate/clauses/0/days
	Text string // plain sentences: what is wrong and what to do
}

// A FileError reports that a ladder file was not accepted, with what to mend, in
// order of lines. There is at least one problem and at most maxProblems.
type FileError struct{ Problems []Problem }

const maxProblems = 20

// Error names the first problem with its line.
func (e *FileError) Error() string {
	first := e.Problems[0]
	return fmt.Sprintf("line %d: %s", first.Line, first.Text)
}

// Parse reads a ladder file: JSON as docs/ladder.schema.json describes it, and
// strictly so. Nothing is guessed: a part that is not known, given twice, of the
// wrong kind or out of its range is a problem. The error is a [*FileError].
func Parse(data []byte) (Ladder, error) {
	root, problem := parseTree(data)
	if problem != nil {
		return Ladder{}, &FileError{[]Problem{*problem}}
	}
	r := &reader{}
	l := r.ladder(root)
	if len(r.problems) > 0 {
		slices.SortStableFunc(r.problems, func(a, b Problem) int { return a.Line - b.Line })
		return Ladder{}, &FileError{r.problems[:min(len(r.problems), maxProblems)]}
	}
	return l, nil
}

// Encode returns l as a ladder file, two spaces a level. Parse reads it back to
// an equal ladder if l passes [Ladder.Check].
func (l Ladder) Encode() ([]byte, error) {
	var file bytes.Buffer
	encoder := json.NewEncoder(&file)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(l); err != nil {
		return nil, fmt.Errorf("ladder %s as a file: %w", l.Key, err)
	}
	return file.Bytes(), nil
}

// Check returns nil if l would be accepted as a file, else a [*FileError] whose
// problems have the Path of the part to mend; their lines are those of Encode.
func (l Ladder) Check() error {
	data, err := l.Encode()
	if err != nil {
		return err
	}
	_, err = Parse(data)
	return err
}
