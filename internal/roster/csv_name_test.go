package roster

import (
	"strings"
	"testing"
	"unicode"

	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"
)

func TestCleanName(t *testing.T) {
	for _, test := range []struct{ name, in, want string }{
		{"accents composed", "Sia\u0302n", "Siân"},
		{"spaces", "\t Jo \u00a0\u2003 Ek\u3000", "Jo Ek"},
		{"line break", "Jo\r\nEk", "Jo Ek"},
		{"direction override", "Jo\u202e Ek\u202c", "Jo Ek"},
		{"direction isolate", "\u2067אורי לבנון\u2069", "אורי לבנון"},
		{"direction marks", "\u200fنور\u200e", "نور"},
		{"control characters", "Jo\a\u0085Ek\x7f", "Jo Ek"},
		{"soft hyphen and byte order mark", "Feather\u00adstone\ufeff", "Featherstone"},
		{"non-joiner between Persian letters", "علی\u200cرضا", "علی\u200cرضا"},
		{"joiner behind a virama", "क\u094d\u200dष", "क\u094d\u200dष"},
		{"joiner at the end of a Malayalam name", "ന\u0d4d\u200d", "ന\u0d4d\u200d"},
		{"joiner between Latin letters", "Jo\u200d Ek\u200c", "Jo Ek"},
		{"joiner in front", "\u200cعلی", "علی"},
		{"non-joiner at the end", "علی\u200c", "علی"},
		{"curly apostrophe", "Bea O’Hara-Ñuñez", "Bea O’Hara-Ñuñez"},
		{"combining mark without composed form", "Ọ\u0300la", "Ọ\u0300la"},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, fault := CleanName(test.in)
			if got != test.want || fault != "" {
				t.Errorf("CleanName(%+q) = %+q, %q; want %+q", test.in, got, fault, test.want)
			}
		})
	}
}

func TestCleanNameRefuses(t *testing.T) {
	for _, in := range []string{"", " \t", "\u200d", "17", "—", "'", strings.Repeat("a", 121), "Si\ufffdn"} {
		if got, fault := CleanName(in); got != "" || fault == "" {
			t.Errorf("CleanName(%+q) = %q, %q", in, got, fault)
		}
	}
}

func TestNameKey(t *testing.T) {
	for _, test := range []struct {
		name, a, b string
		same       bool
	}{
		{"case", "AMARA Fisk", "amara fisk", true},
		{"width", "Ｊｏ Ｅｋ", "Jo Ek", true},
		{"composition", "Sia\u0302n", "Siân", true},
		{"sharp s", "Groß", "GROSS", true},
		{"final sigma", "ΝΙΚΟΣ", "Νικος", true},
		{"apostrophes", "Bea O’Hara", "Bea O'Hara", true},
		{"hyphens", "Oyelaran‑Fisk", "Oyelaran-Fisk", true},
		{"non-joiner", "علی\u200cرضا", "علیرضا", true},
		{"variation selector", "辻\U000e0100", "辻", true},
		{"accent", "José", "Jose", false},
		{"other name", "Jo Ek", "Jo Eck", false},
		{"space", "Jo Ek", "JoEk", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := NameKey(test.a) == NameKey(test.b); got != test.same {
				t.Errorf("keys %q and %q", NameKey(test.a), NameKey(test.b))
			}
		})
	}
}

func TestGuessLang(t *testing.T) {
	for _, test := range []struct{ name, want string }{
		{"Ngọc Trầm", ""},
		{"نور الحلواني", "ar"},
		{"علی\u200cرضا", "und-Arab"},
		{"אורי לבנון", "he"},
		{"สุดา ใจงาม", "th"},
		{"Μελίνα Στρατάκη", "el"},
		{"ნინო ბერაძე", "ka"},
		{"김하린", "ko"},
		{"田辺ひより", "ja"},
		{"田辺", "und-Hani"},
		{"Оксана Вербич", "und-Cyrl"},
		{"आरव चौधुरी", "und-Deva"},
		{"ተስፋዬ ገብሬ", "und-Ethi"},
		{"Kim 하린", ""},
		{"17", ""},
	} {
		if got := GuessLang(test.name); got != test.want {
			t.Errorf("GuessLang(%s) = %q, want %q", test.name, got, test.want)
		}
	}
}

// anyText draws text with what names in files may hold: letters of any script,
// marks, joiners, direction marks, quotes, separators and control characters.
func anyText() *rapid.Generator[string] {
	odd := []rune("'\"=+-@,;\t\r\n ’\u00a0\u200c\u200d\u180e\u200f\u202e\u2066\ufeff\u0301\u094d\ufe0f\U000e0100ßİıςΣ＝1٢")
	letter := rapid.RuneFrom(nil, unicode.L, unicode.M)
	return rapid.StringOf(rapid.OneOf(rapid.SampledFrom(odd), letter, rapid.RuneFrom([]rune("abcXYZ"))))
}

func TestCleaningTwiceIsCleaningOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		once := clean(anyText().Draw(t, "text"))
		if twice := clean(once); twice != once {
			t.Errorf("%+q becomes %+q", once, twice)
		}
		if !norm.NFC.IsNormalString(once) || once != strings.TrimSpace(once) || strings.Contains(once, "  ") {
			t.Errorf("%+q is not clean", once)
		}
	})
}

func TestTheKeyOfAKeyIsItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := anyText().Draw(t, "text")
		key := NameKey(text)
		if again := NameKey(key); again != key {
			t.Errorf("%+q becomes %+q", key, again)
		}
		if cleaned := NameKey(clean(text)); cleaned != key {
			t.Errorf("cleaning %+q moves its key from %+q to %+q", text, key, cleaned)
		}
	})
}

func TestGuardAndUnguardAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := anyText().Draw(t, "text")
		guarded := guard(text)
		if strings.HasPrefix(guarded, "=") || strings.HasPrefix(guarded, "@") {
			t.Errorf("%+q is a formula", guarded)
		}
		if back := unguard(guarded); back != text {
			t.Errorf("%+q becomes %+q", text, back)
		}
	})
}
