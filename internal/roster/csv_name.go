package roster

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// CleanName returns name as it is kept: composed (NFC), single spaces, without
// control and direction marks. A name that cannot be kept gives a sentence that
// says why; else fault is empty.
func CleanName(name string) (cleaned, fault string) {
	cleaned = clean(name)
	switch n := utf8.RuneCountInString(cleaned); {
	case cleaned == "":
		return "", "This line has no name. Type one, or take the line out."
	case n > longestName:
		return "", fmt.Sprintf("This name has %d characters. Use %d or fewer.", n, longestName)
	case strings.ContainsRune(cleaned, utf8.RuneError):
		return "", "A letter of this name was lost (�). Type the name again."
	case !strings.ContainsFunc(cleaned, unicode.IsLetter):
		return "", fmt.Sprintf("A name needs at least one letter. This line says “%s”.", cut(cleaned, 20))
	}
	return cleaned, ""
}

// NameKey returns what two spellings of one name have in common: case, width,
// spaces, apostrophes and hyphens do not count. Accents do.
func NameKey(name string) string {
	fold := cases.Fold()
	key := norm.NFKC.String(fold.String(norm.NFKC.String(name)))
	key = strings.Map(func(r rune) rune {
		switch {
		case joiner(r) || unicode.Is(unicode.Variation_Selector, r):
			return -1
		case strings.ContainsRune("‘’ʻʼʹ´`", r):
			return '\''
		case unicode.Is(unicode.Pd, r):
			return '-'
		}
		return r
	}, key)
	return clean(norm.NFKC.String(fold.String(key)))
}

// clean composes text, makes every run of spaces one space and drops control
// and format characters, among them those that turn the writing direction.
// Joiners stay where they shape letters.
func clean(text string) string {
	runes := []rune(norm.NFC.String(text))
	kept := make([]rune, 0, len(runes))
	for i, r := range runes {
		switch {
		case unicode.IsSpace(r) || unicode.Is(unicode.Z, r):
			kept = append(kept, ' ')
		case joiner(r):
			if shapes(kept, runes[i+1:]) {
				kept = append(kept, r)
			}
		case unicode.In(r, unicode.Cc, unicode.Cf):
		default:
			kept = append(kept, r)
		}
	}
	return norm.NFC.String(strings.Join(strings.Fields(string(kept)), " "))
}

// joiner reports whether r only shapes the letters beside it: the zero width
// joiner and non-joiner and the Mongolian vowel separator.
func joiner(r rune) bool { return r == '\u200c' || r == '\u200d' || r == '\u180e' }

// shapes reports whether a joiner between before and after matters: behind a
// vowel killer, or between two letters of a script that joins.
//
// Source: Unicode Standard Annex 31, 2.3, rules A1, A2 and B, made simpler.
func shapes(before, after []rune) bool {
	if len(before) == 0 || !joins(before[len(before)-1]) {
		return false
	}
	if unicode.Is(unicode.Mn, before[len(before)-1]) {
		return true
	}
	return len(after) > 0 && joins(after[0])
}

// joins reports whether r belongs to a script in which joiners matter.
func joins(r rune) bool {
	return unicode.In(r, unicode.Arabic, unicode.Syriac, unicode.Mongolian, unicode.Devanagari, unicode.Bengali,
		unicode.Gurmukhi, unicode.Gujarati, unicode.Oriya, unicode.Tamil, unicode.Telugu, unicode.Kannada,
		unicode.Malayalam, unicode.Sinhala, unicode.Khmer, unicode.Myanmar) && !unicode.Is(unicode.Cf, r)
}

// unguard takes away the apostrophe that [WriteCSV] puts before a formula.
func unguard(cell string) string {
	if rest, guarded := strings.CutPrefix(cell, "'"); guarded && formula(rest) {
		return rest
	}
	return cell
}

// guard puts an apostrophe before text that a spreadsheet program would run.
func guard(cell string) string {
	if formula(cell) {
		return "'" + cell
	}
	return cell
}

// formula reports whether a spreadsheet program may read cell as a formula. An
// apostrophe in front does not hide it, so that guard and unguard are inverse.
//
// Source: OWASP, "CSV Injection" (from memory).
func formula(cell string) bool {
	cell = strings.TrimLeft(cell, "'")
	return cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r") || strings.HasPrefix(cell, "＝") ||
		strings.HasPrefix(cell, "＋") || strings.HasPrefix(cell, "－") || strings.HasPrefix(cell, "＠")
}
