package ladder

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

//go:embed words/*.json
var wordFiles embed.FS

// Words is the catalogue of what this package's codes are called and which
// sentences say what a gate lacks, in one language. Names in curly brackets stand
// for values. To translate, copy words/en.json and leave the keys and brackets.
type Words struct {
	Lang         string                  `json:"lang"`
	Numbers      []string                `json:"numbers"` // from no and one on
	Measures     map[string]MeasureWords `json:"measures"`
	Frames       map[string]string       `json:"frames"`
	Hindrances   map[string]Plural       `json:"hindrances"`
	InStep       map[string]string       `json:"in_step"`
	States       map[State]string        `json:"states"`
	Steps        map[string]string       `json:"steps"`
	StepRules    map[string]string       `json:"step_rules"`
	Ropes        map[RopeKind]string     `json:"ropes"`
	RopeRules    map[string]string       `json:"rope_rules"`
	RopeCautions map[RopeKind]string     `json:"rope_cautions"`
	Comparisons  map[Comparison]string   `json:"comparisons"`
	Paces        map[Pace]string         `json:"paces"`
	Protocols    map[Protocol]string     `json:"protocols"`
	Activities   map[Activity]string     `json:"activities"`
	Reasons      map[string]string       `json:"reasons"`
	Points       map[Point]string        `json:"points"`
	Looks        map[Look]string         `json:"looks"`
	Spots        map[Spot]string         `json:"spots"`
	Timings      map[Timing]string       `json:"timings"`
	HandPlaces   map[HandPlace]string    `json:"hand_places"`
	Heights      map[Height]string       `json:"heights"`
	Cues         map[string]CueWords     `json:"cues"`
	Changes      map[ChangeKind]string   `json:"changes"`
}

// MeasureWords are the words for one measure: what a select calls it, what one
// result is, and how a threshold is put.
type MeasureWords struct {
	Label   string `json:"label"`
	Noun    Plural `json:"noun"`
	AtLeast Plural `json:"at_least"`
	AtMost  Plural `json:"at_most"`
}

// A Plural is a text for no, one and more of a thing; an empty Zero or One means
// Other.
type Plural struct {
	Zero  string `json:"zero,omitempty"`
	One   string `json:"one,omitempty"`
	Other string `json:"other"`
}

func (p Plural) of(n float64) string {
	switch {
	case n == 0 && p.Zero != "":
		return p.Zero
	case n == 1 && p.One != "":
		return p.One
	}
	return p.Other
}

// CueWords are a cue of the catch diary and why it helps.
type CueWords struct {
	Cue     string `json:"cue"`
	Because string `json:"because"`
}

// WordsIn returns the catalogue in lang, or in English if there is none. It is
// shared: nobody changes it.
func WordsIn(lang string) (Words, error) {
	if w, ok := allWords[lang]; ok {
		return w, errWords
	}
	return allWords["en"], errWords
}

// allWords are the catalogues by language, read once.
var allWords, errWords = readWords()

func readWords() (map[string]Words, error) {
	files, err := wordFiles.ReadDir("words")
	if err != nil {
		return nil, fmt.Errorf("words of the ladder: %w", err)
	}
	all := make(map[string]Words, len(files))
	for _, file := range files {
		data, err := wordFiles.ReadFile("words/" + file.Name())
		if err != nil {
			return nil, fmt.Errorf("words of the ladder: %w", err)
		}
		var w Words
		decoder := json.NewDecoder(bytes.NewReader(data))
		decoder.DisallowUnknownFields()
		if err := decoder.Decode(&w); err != nil {
			return nil, fmt.Errorf("words of the ladder in %s: %w", file.Name(), err)
		}
		all[strings.TrimSuffix(file.Name(), ".json")] = w
	}
	return all, nil
}

// number writes n in words where the catalogue has one.
func (w Words) number(n int) string {
	if n >= 0 && n < len(w.Numbers) {
		return w.Numbers[n]
	}
	return strconv.Itoa(n)
}

// fill puts values, in pairs of name and value, into text.
func fill(text string, values ...string) string {
	for i := 0; i+1 < len(values); i += 2 {
		values[i] = "{" + values[i] + "}"
	}
	return strings.NewReplacer(values...).Replace(text)
}

// upper returns s with its first letter capital.
func upper(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}
