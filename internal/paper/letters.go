package paper

import (
	"archive/zip"
	"bytes"
	_ "embed"
	"fmt"
	"io"
	"strings"
	"sync"
	"unicode"

	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
	"github.com/go-text/typesetting/language"
)

//go:embed fonts/fonts.zip
var packed []byte

// Letters are the fonts of documents. They are unpacked when a script first
// needs them, and shared by all documents after.
type Letters struct {
	files   map[string]*zip.File
	scripts map[language.Script]string // the file for each script but Latin and its like

	mu    sync.Mutex
	faces map[string]*typeface // by file name; nil for one that could not be read
}

// A typeface is one font file.
type typeface struct {
	name   string
	font   *font.Font
	loader *opentype.Loader
	upem   float64
}

// OpenLetters returns the fonts that come with the program.
func OpenLetters() (*Letters, error) {
	archive, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return nil, fmt.Errorf("opening the letters: %w", err)
	}
	l := &Letters{files: map[string]*zip.File{}, faces: map[string]*typeface{}}
	for _, f := range archive.File {
		l.files[f.Name] = f
	}
	l.scripts = scriptsOf(l.files)
	for _, name := range []string{regular, bold} {
		if _, err := l.load(name); err != nil {
			return nil, err
		}
	}
	return l, nil
}

// Files of the letters that every document begins with, and those whose names do
// not say their script.
const (
	regular = "NotoSans-Regular.ttf"
	bold    = "NotoSans-Bold.ttf"
	eastern = "DroidSansFallbackFull.ttf"
	korean  = "NanumSquareR.ttf"
	signs   = "NotoSansMath-Regular.ttf"
	symbols = "NotoSansSymbols2-Regular.ttf"
	tibetan = "NotoSerifTibetan-Regular.ttf"
)

// scriptsOf tells which file has which script, by the files' names.
func scriptsOf(files map[string]*zip.File) map[language.Script]string {
	scripts := map[language.Script]string{language.Han: eastern, language.Hangul: korean, language.Hiragana: eastern,
		language.Katakana: eastern, language.Bopomofo: eastern, language.Tibetan: tibetan}
	for name, table := range unicode.Scripts {
		for file := range files {
			middle := strings.TrimSuffix(strings.TrimPrefix(file, "NotoSans"), "-Regular.ttf")
			if strings.EqualFold(middle, strings.ReplaceAll(name, "_", "")) {
				scripts[language.LookupScript(firstOf(table))] = file
			}
		}
	}
	return scripts
}

func firstOf(table *unicode.RangeTable) rune {
	if len(table.R16) > 0 {
		return rune(table.R16[0].Lo)
	}
	return rune(table.R32[0].Lo)
}

// load returns a font file, read once.
func (l *Letters) load(name string) (*typeface, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if t := l.faces[name]; t != nil {
		return t, nil
	}
	t, err := l.read(name)
	if err != nil {
		return nil, fmt.Errorf("reading the letters %s: %w", name, err)
	}
	l.faces[name] = t
	return t, nil
}

func (l *Letters) read(name string) (*typeface, error) {
	f := l.files[name]
	if f == nil {
		return nil, fmt.Errorf("there is no such file")
	}
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	loader, err := opentype.NewLoader(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	parsed, err := font.NewFont(loader)
	if err != nil {
		return nil, err
	}
	return &typeface{name: name, font: parsed, loader: loader, upem: float64(parsed.Upem())}, nil
}

// A choice finds the face for each letter of one document.
type choice struct {
	letters *Letters
	bold    bool
	script  language.Script
	faces   map[string]*font.Face // of this document
	of      map[*font.Face]*typeface
}

// SetScript is told the script of the letters that come.
func (c *choice) SetScript(s language.Script) { c.script = s }

// ResolveFace returns the face that has the letter: of Latin, Greek and Cyrillic
// first, then of its script. A letter that none has is shown as a box.
func (c *choice) ResolveFace(r rune) *font.Face {
	first := regular
	if c.bold {
		first = bold
	}
	for _, name := range []string{first, c.letters.scripts[c.script], c.letters.scripts[language.LookupScript(r)], signs, symbols, eastern} {
		if face := c.face(name); face != nil {
			if _, has := face.NominalGlyph(r); has {
				return face
			}
		}
	}
	return c.face(first)
}

// face returns a document's own face of a file, nil if it cannot be read.
func (c *choice) face(name string) *font.Face {
	if face, known := c.faces[name]; known || name == "" {
		return face
	}
	t, err := c.letters.load(name)
	if err != nil {
		c.faces[name] = nil // the letter becomes a box; a test reads every file
		return nil
	}
	face := font.NewFace(t.font)
	c.faces[name], c.of[face] = face, t
	return face
}
