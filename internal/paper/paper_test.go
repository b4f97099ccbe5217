package paper

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"
)

func open(t testing.TB) *Letters {
	t.Helper()
	letters, err := OpenLetters()
	if err != nil {
		t.Fatal(err)
	}
	return letters
}

// Invented names, as people in a hall have them.
var names = []string{"Amara Oyelaran-Fisk", "Þórdís Blæng", "李晓澜", "نور الحلواني", "आरव चौधुरी", "Ngọc Trầm", "Оксана Вербич", "김하린", "Yusuf Karadoğan",
	"Bea O’Hara-Ñuñez", "Μελίνα Στρατάκη", "אורי לבנון", "田辺ひより", "ተስፋዬ ገብሬ", "สุดา ใจงาม", "ნინო ბერაძე", "অনন্যা দাস", "தமிழ்", "ཚེ་རིང", "ខ្មែរ", "ကောင်း",
	"ᏣᎳᎩ", "Արամ", "ଓଡ଼ିଆ", "ਗੁਰਮੀਤ", "ગુજરાતી", "ಕನ್ನಡ", "മലയാളം", "తెలుగు", "සිංහල", "ລາວ", "ދިވެހި", "ⵜⵉⴼⵉⵏⴰⵖ", "ᠮᠣᠩᠭᠣᠯ", "ᐃᓄᒃᑎᑐᑦ", "ꆈꌠ", "ܣܘܪܝܝܐ", "𞤀𞤣𞤤𞤢𞤥", "ߒߞߏ"}

func TestEveryNameHasItsLetters(t *testing.T) {
	s := newSetter(open(t), "en")
	for _, name := range names {
		for _, style := range []Style{{Size: 10}, {Size: 10, Bold: true}} {
			l := s.one(style, name)
			if l.width <= 0 {
				t.Errorf("%s has no width", name)
			}
			for _, r := range l.runs {
				for _, g := range r.glyphs {
					if g.id == 0 {
						t.Errorf("%s has a letter that %s does not know", name, r.face.name)
					}
				}
			}
		}
	}
}

func TestEveryFontFileCanBeRead(t *testing.T) {
	letters := open(t)
	fonts := 0
	for name := range letters.files {
		if !strings.HasSuffix(name, ".ttf") {
			continue
		}
		fonts++
		face, err := letters.load(name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if _, err := face.subset([]uint16{1, 2, 3}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		used := slices.Contains([]string{regular, bold, signs, symbols}, name)
		for _, file := range letters.scripts {
			used = used || file == name
		}
		if !used {
			t.Errorf("no script leads to %s", name)
		}
	}
	if fonts < 70 {
		t.Errorf("only %d font files", fonts)
	}
}

// Letters of Arabic join: within a word they have other shapes than alone.
func TestArabicLettersJoin(t *testing.T) {
	s := newSetter(open(t), "en")
	word, alone := s.one(Style{Size: 10}, "نور"), s.one(Style{Size: 10}, "ن")
	if !word.right || len(word.runs) != 1 {
		t.Fatalf("right %t, %d runs; want one run from the right", word.right, len(word.runs))
	}
	glyphs := word.runs[0].glyphs
	if first := glyphs[len(glyphs)-1]; first.id == alone.runs[0].glyphs[0].id {
		t.Error("the first letter has the shape that it has alone")
	}
}

// Marks stand on their letters: they take no room of their own.
func TestCombiningMarksTakeNoRoom(t *testing.T) {
	s := newSetter(open(t), "en")
	for _, pair := range [][2]string{{"e\u0301", "e"}, {"नि", "न"}} {
		with, without := s.one(Style{Size: 10}, pair[0]), s.one(Style{Size: 10}, pair[1])
		if with.width > 2*without.width {
			t.Errorf("%q is %g wide, %q %g", pair[0], with.width, pair[1], without.width)
		}
	}
}

func TestLinesKeepAllLettersAndTheirWidth(t *testing.T) {
	s := newSetter(open(t), "en")
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.SampledFrom([]string{"rope", "jumps", "نور", "לבנון", "田辺", "a", "चौधुरी", "12", "rpm"}), 1, 30).Draw(t, "words")
		text := strings.Join(words, " ")
		width := rapid.Float64Range(4000, 20000).Draw(t, "width")
		kept := ""
		for _, l := range s.many(Style{Size: 10}, text, width) {
			// A space at the end of a line may hang over the edge.
			if l.width > width+400 {
				t.Fatalf("a line of %g in a width of %g: %q", l.width, width, text)
			}
			for _, r := range l.runs {
				kept += r.text
			}
		}
		if letters(kept) != letters(text) {
			t.Fatalf("%q became %q", text, kept)
		}
	})
}

// letters sorts what a text consists of, without spaces.
func letters(text string) string {
	runes := []rune(strings.ReplaceAll(text, " ", ""))
	slices.Sort(runes)
	return string(runes)
}

// Another program reads every name as it was written: pdftotext of Poppler,
// which make test installs. It leaves marks of direction, which are no letters.
// Scripts whose direction it does not know, such as N’Ko, are left out.
func TestOtherProgramsReadTheNames(t *testing.T) {
	cmd := exec.CommandContext(t.Context(), "pdftotext", "-enc", "UTF-8", "-", "-")
	cmd.Stdin = bytes.NewReader(sample(t, open(t), len(names)))
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	marks := regexp.MustCompile("[\u202a-\u202e\u2066-\u2069\u200e\u200f\u00ad]")
	pages := strings.Split(marks.ReplaceAllString(string(out), ""), "\f")
	for i, name := range names[:18] {
		if read := pages[i+1]; !strings.Contains(norm.NFC.String(read), norm.NFC.String(name)) { // page 0 was the last one made
			t.Errorf("%s is read as %q", name, read)
		}
	}
}

func FuzzText(f *testing.F) {
	for _, name := range names {
		f.Add(name, 80.0)
	}
	f.Add("a\u202eb\x00\n\u2028\u0301\U0001F3C3\xff", 1.0)
	set := open(f)
	f.Fuzz(func(t *testing.T, text string, width float64) {
		if !utf8.ValidString(text) || len(text) > 500 || !(width >= 1 && width < 1e6) {
			return
		}
		d := NewDocument(io.Discard, set, Info{Title: text, Lang: "en"})
		p := d.Begin(A4(), text)
		p.Element(Paragraph, "", func() { p.Block(10, 10, width, Style{Size: 9}, text) })
		p.TextIn(10, 10, width, Style{Size: 9, Bold: true}, Center, text)
		p.End(false)
		if err := d.Close(); err != nil {
			t.Fatal(err)
		}
	})
}

// A subset holds the used outlines unchanged, and what composite ones are made of.
func TestSubsetKeepsOutlines(t *testing.T) {
	face, err := open(t).load(regular)
	if err != nil {
		t.Fatal(err)
	}
	var glyphs []uint16
	for _, r := range "Añgstrøm 120 ± 3" {
		id, ok := face.font.NominalGlyph(r)
		if !ok {
			t.Fatalf("no glyph for %q", r)
		}
		glyphs = append(glyphs, uint16(id))
	}
	body, err := face.subset(glyphs)
	if err != nil {
		t.Fatal(err)
	}
	loader, err := opentype.NewLoader(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	outlines := func(l *opentype.Loader) [][]byte {
		head, _ := l.RawTable(opentype.MustNewTag("head"))
		loca, _ := l.RawTable(opentype.MustNewTag("loca"))
		glyf, _ := l.RawTable(opentype.MustNewTag("glyf"))
		found, err := outlinesOf(loca, glyf, binary.BigEndian.Uint16(head[50:]) == 1)
		if err != nil {
			t.Fatal(err)
		}
		return found
	}
	whole, part := outlines(face.loader), outlines(loader)
	if len(part) != len(whole) {
		t.Fatalf("%d glyphs of %d", len(part), len(whole))
	}
	kept := closure(glyphs, whole)
	if len(kept) <= len(glyphs)/2 {
		t.Fatalf("only %d glyphs are kept", len(kept))
	}
	for i := range whole {
		if !kept[uint16(i)] {
			if len(part[i]) != 0 {
				t.Errorf("glyph %d is kept without use", i)
			}
			continue
		}
		if !bytes.HasPrefix(part[i], whole[i]) {
			t.Errorf("the outline of glyph %d changed", i)
		}
		for _, below := range parts(whole[i]) {
			if !kept[below] {
				t.Errorf("glyph %d lacks its part %d", i, below)
			}
		}
	}
	if len(body) > 60000 {
		t.Errorf("a subset of %d glyphs takes %d bytes", len(kept), len(body))
	}
}

func sample(t testing.TB, letters *Letters, pages int) []byte {
	t.Helper()
	var b bytes.Buffer
	d := NewDocument(&b, letters, Info{Title: "Sample", Lang: "en", Made: time.Date(2026, time.November, 4, 0, 0, 0, 0, time.UTC)})
	for i := range pages {
		p := d.Begin(A4(), names[i%len(names)])
		p.Element(Heading1, "", func() { p.TextIn(50, 60, 300, Style{Size: 18, Bold: true}, Start, names[i%len(names)]) })
		p.Element(Figure, "a line", func() {
			p.Line(50, 100, 200, 90, Stroke{Width: 1})
			p.Dot(200, 90, 3, Gray(0), Stroke{Width: 1})
		})
		p.End(i == pages-1)
	}
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestSameCallsGiveTheSameBytes(t *testing.T) {
	if first, second := sample(t, open(t), 30), sample(t, open(t), 30); !bytes.Equal(first, second) {
		t.Error("two documents of the same calls differ")
	}
}

func TestNumbersAreShort(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 1: "1", -0.5: "-0.5", 3.14159: "3.14", 12.999: "13", 100.05: "100.05", -0.001: "0"} {
		if got := number(v); got != want {
			t.Errorf("%g is written %s, want %s", v, got, want)
		}
	}
}

func TestWidthsAreThoseOfTheFont(t *testing.T) {
	letters := open(t)
	d := NewDocument(io.Discard, letters, Info{})
	p := d.Begin(A4(), "")
	face, err := letters.load(regular)
	if err != nil {
		t.Fatal(err)
	}
	id, _ := face.font.NominalGlyph('n')
	want := float64(font.NewFace(face.font).HorizontalAdvance(id)) * 12 / face.upem
	if got := p.Width(Style{Size: 12}, "n"); math.Abs(got-want) > 0.01 {
		t.Errorf("n is %g wide at 12 points, want %g", got, want)
	}
}
