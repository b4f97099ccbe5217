package tongue

import (
	"math"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A reading is one way to say a text, and what speaks against it: above all the
// letters that stay English, then the number of pieces it is put together from.
type reading struct {
	said string
	cost int
}

const (
	perLetter = 100  // a letter that stays English
	perPiece  = 1    // a text found as it is, a text with holes, a cut at a mark
	perBlank  = 4    // a cut between words: a text with holes says them better
	mostReads = 5000 // texts within a text that are looked at
	mostWords = 16   // of a clause that is tried word by word
)

// A reader finds the cheapest reading of a text and of all that is in it.
type reader struct {
	*Language
	found map[string]reading
	reads int
}

// Text says an English text in the language. What the language has no words for
// stays as it is: names, numbers, what people typed.
func (l *Language) Text(english string) string {
	core := strings.TrimLeft(tidy(english), leading)
	if !strings.ContainsFunc(core, unicode.IsLetter) {
		return l.figures(english)
	}
	said, known := l.remembered(core)
	if !known {
		l.once.Do(l.prepare)
		r := &reader{Language: l, found: map[string]reading{}}
		said = l.figures(r.read(core).said)
		l.remember(core, said)
	}
	if said == core {
		return english
	}
	at := strings.Index(english, core[:1])
	trail := ""
	if last, _ := utf8.DecodeLastRuneInString(english); strings.ContainsRune(" \t\r\n", last) {
		trail = " "
	}
	return english[:at] + said + trail
}

// fraction is a number with decimals, and no part of an address or a version.
var fraction = regexp.MustCompile(`\p{L}?[\d.]*\d\.\d[\d.]*`)

// figures writes the decimals of numbers as the language does.
func (l *Language) figures(text string) string {
	if l.Decimal == "" || l.Decimal == "." {
		return text
	}
	return fraction.ReplaceAllStringFunc(text, func(number string) string {
		bare := strings.TrimRight(number, ".") // the full stop of the sentence
		if strings.Count(bare, ".") != 1 || bare[0] < '0' || bare[0] > '9' {
			return number
		}
		return strings.Replace(bare, ".", l.Decimal, 1) + number[len(bare):]
	})
}

// mostRemembered bounds the texts that are remembered.
const mostRemembered = 4096

func (l *Language) remembered(text string) (string, bool) {
	l.memory.RLock()
	defer l.memory.RUnlock()
	said, known := l.before[text]
	return said, known
}

func (l *Language) remember(text, said string) {
	l.memory.Lock()
	defer l.memory.Unlock()
	if len(l.before) >= mostRemembered || l.before == nil {
		l.before = map[string]string{}
	}
	l.before[text] = said
}

func (r *reader) read(text string) reading {
	if found, ok := r.found[text]; ok {
		return found
	}
	best := reading{text, perLetter * letters(text)}
	if r.reads++; best.cost == 0 || r.reads > mostReads {
		return best
	}
	consider := func(other reading, ok bool) {
		if ok && other.cost < best.cost {
			best = other
		}
	}
	consider(r.exact(text))
	if best.cost > perPiece {
		consider(r.date(text))
		for _, mark := range marks {
			consider(r.cut(text, mark, strings.Index(text, mark)))
			consider(r.cut(text, mark, strings.LastIndex(text, mark)))
		}
		if bare, ok := strings.CutSuffix(text, "."); ok {
			part := r.read(bare)
			consider(reading{part.said + ".", part.cost + perPiece}, true)
		}
		consider(r.enclosed(text))
		if fields := strings.Count(text, " "); best.cost >= perLetter && fields <= mostWords {
			for at := range len(text) {
				if text[at] == ' ' {
					found, ok := r.cut(text, " ", at)
					consider(found, ok && found.cost < perLetter)
				}
			}
		}
		seen := map[*pattern]bool{}
		for _, key := range append(word.FindAllString(text, -1), "") {
			for _, p := range r.index[key] {
				if !seen[p] {
					seen[p] = true
					consider(r.fill(text, p))
				}
			}
		}
	}
	r.found[text] = best
	return best
}

func letters(text string) int {
	n := 0
	for _, r := range text {
		if unicode.IsLetter(r) {
			n++
		}
	}
	return n
}

// exact finds a text as it is, or as it is written within a sentence, at its
// beginning or at its end.
func (r *reader) exact(text string) (reading, bool) {
	first, size := utf8.DecodeRuneInString(text)
	bare := strings.TrimSuffix(text, ".")
	for _, try := range []struct {
		english string
		mend    func(string) string
	}{
		{text, func(own string) string { return own }},
		{string(unicode.ToLower(first)) + text[size:], capital},
		{string(unicode.ToUpper(first)) + text[size:], small},
		{bare, func(own string) string { return own + "." }},
		{text + ".", func(own string) string { return strings.TrimSuffix(own, ".") }},
		{string(unicode.ToLower(first)) + bare[min(size, len(bare)):], func(own string) string { return capital(own) + "." }},
	} {
		if own := r.Texts[try.english]; own != "" {
			return reading{try.mend(own), perPiece}, true
		}
	}
	return reading{}, false
}

func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

func small(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToLower(first)) + text[size:]
}

// fill says a text that fits a pattern, and the values in its holes, in the
// cheapest of the ways it fits.
func (r *reader) fill(text string, p *pattern) (reading, bool) {
	mend := func(own string) string { return own }
	ways := p.fits(text)
	if ways == nil {
		if ways, mend = p.fits(small(text)), capital; ways == nil {
			return reading{}, false
		}
	}
	best := reading{cost: math.MaxInt}
	for _, values := range ways {
		cost := perPiece
		pairs := make([]string, 0, 2*len(values))
		for i, value := range values {
			lead := value[:len(value)-len(strings.TrimLeft(value, leading))]
			core := strings.TrimRight(value[len(lead):], " ")
			part := r.read(core)
			cost += part.cost + perPiece
			pairs = append(pairs, p.holes[i], lead+part.said+value[len(lead)+len(core):])
		}
		if cost < best.cost {
			best = reading{mend(strings.NewReplacer(pairs...).Replace(p.own)), cost}
		}
	}
	return best, true
}

// marks are where a text can be cut into sentences and their parts.
var marks = []string{". ", "? ", " · ", " – ", " — ", ": ", "; ", ", ", " / ", " (", " “"}

// cut says the texts on both sides of a mark.
func (r *reader) cut(text, mark string, at int) (reading, bool) {
	if at <= 0 || at+len(mark) >= len(text) {
		return reading{}, false
	}
	end, start, cost := at, at+len(mark), perPiece
	switch mark {
	case ". ", "? ":
		end++ // the full stop belongs to its sentence
	case " (", " “":
		start = at + 1
	case " ":
		cost = perBlank
	}
	left, right := r.read(text[:end]), r.read(text[start:])
	return reading{left.said + text[end:start] + right.said, left.cost + right.cost + cost}, true
}

// enclosed says what is within brackets or quotation marks, with what follows.
func (r *reader) enclosed(text string) (reading, bool) {
	for _, pair := range [][2]string{{"(", ")"}, {"“", "”"}} {
		inner, ok := strings.CutPrefix(text, pair[0])
		if !ok {
			continue
		}
		inner, after, ok := strings.Cut(inner, pair[1])
		if !ok {
			continue
		}
		in, rest := r.read(inner), r.read(tidy(after))
		gap := after[:len(after)-len(strings.TrimLeft(after, " "))]
		return reading{pair[0] + in.said + pair[1] + gap + rest.said, in.cost + rest.cost + perPiece}, true
	}
	return reading{}, false
}

var calendar = regexp.MustCompile(`^(?:(Mon|Tue|Wed|Thu|Fri|Sat|Sun)\b[ \x{a0}]?)?(?:(\d{1,2})[ \x{a0}](Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)( \d{4})?)?$`)

// date says days such as "Thu 5 Nov".
func (r *reader) date(text string) (reading, bool) {
	parts := calendar.FindStringSubmatch(text)
	if parts == nil || len(r.Days) != 7 || len(r.Months) != 12 {
		return reading{}, false
	}
	weekday, month := "", ""
	if parts[1] != "" {
		weekday = r.Days[strings.Index("MonTueWedThuFriSatSun", parts[1])/3]
	}
	if parts[3] == "" {
		return reading{weekday, perPiece}, weekday != ""
	}
	month = r.Months[strings.Index("JanFebMarAprMayJunJulAugSepOctNovDec", parts[3])/3]
	said := strings.NewReplacer("{weekday}", weekday, "{day}", parts[2], "{month}", month).Replace(r.Date)
	return reading{tidy(said + parts[4]), perPiece}, true
}
