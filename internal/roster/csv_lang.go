package roster

import "unicode"

// GuessLang returns a BCP 47 tag for the script of name, so that a screen
// reader and the choice of letter forms fit: the language where the script is
// nearly always that language's, else the script alone ("und-Cyrl"). Latin
// letters and mixed scripts give the empty string.
//
// The table is common knowledge, no source.
func GuessLang(name string) string {
	found := map[string]bool{}
	for _, r := range name {
		if !unicode.IsLetter(r) {
			continue
		}
		found[tagOf(r)] = true
	}
	if found["ja"] {
		delete(found, "und-Hani") // Japanese mixes kana and Han
	}
	if found["und-Arab"] {
		delete(found, "ar") // letters that only other languages have
	}
	if len(found) != 1 {
		return ""
	}
	for tag := range found {
		return tag
	}
	return ""
}

// tagOf returns the tag of the script that r belongs to.
func tagOf(r rune) string {
	switch r {
	case 'پ', 'چ', 'ژ', 'گ', 'ک', 'ی', 'ٹ', 'ڈ', 'ڑ', 'ے', 'ۆ':
		return "und-Arab" // Persian, Urdu, Kurdish and others
	}
	for _, s := range scripts() {
		if unicode.Is(s.letters, r) {
			return s.tag
		}
	}
	return ""
}

func scripts() []struct {
	letters *unicode.RangeTable
	tag     string
} {
	return []struct {
		letters *unicode.RangeTable
		tag     string
	}{
		{unicode.Latin, ""},
		{unicode.Arabic, "ar"},
		{unicode.Armenian, "hy"},
		{unicode.Bengali, "und-Beng"},
		{unicode.Cyrillic, "und-Cyrl"},
		{unicode.Devanagari, "und-Deva"},
		{unicode.Ethiopic, "und-Ethi"},
		{unicode.Georgian, "ka"},
		{unicode.Greek, "el"},
		{unicode.Gujarati, "gu"},
		{unicode.Gurmukhi, "pa"},
		{unicode.Han, "und-Hani"},
		{unicode.Hangul, "ko"},
		{unicode.Hebrew, "he"},
		{unicode.Hiragana, "ja"},
		{unicode.Kannada, "kn"},
		{unicode.Katakana, "ja"},
		{unicode.Khmer, "km"},
		{unicode.Lao, "lo"},
		{unicode.Malayalam, "ml"},
		{unicode.Myanmar, "my"},
		{unicode.Oriya, "or"},
		{unicode.Sinhala, "si"},
		{unicode.Tamil, "ta"},
		{unicode.Telugu, "te"},
		{unicode.Thaana, "dv"},
		{unicode.Thai, "th"},
		{unicode.Tibetan, "und-Tibt"},
	}
}
