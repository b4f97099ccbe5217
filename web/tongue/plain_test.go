package tongue

import (
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"
)

// banned are words that blame, rank, sell or speak the machine's language.
var banned = regexp.MustCompile(`(?i)\b(?:invalid|illegal|abort\w*|fatal|oops|please|users?|clients?|submit\w*|fail(?:s|ed|ure|ures|ing)?|workout of the day|warriors?|burn\w*|shred\w*|zones?|streaks?|level(?:s|ed)? up|badges?|amazing|awesome|crush\w*|smash\w*|beast\w*|weak\w*|lazy|calor\w+|body ?weight)\b|!`)

// meant are uses of a banned word that are plain words or names for operators.
var meant = []string{"time zone", "Time zone", "ropewalk user"}

// mostWordsOfSentence is what a reader of ten takes in at once.
// Common practice, no source.
const mostWordsOfSentence = 20

var sentenceEnd = regexp.MustCompile(`[.?:;]\s`)

func TestTextsArePlain(t *testing.T) {
	var texts []string
	data, err := os.ReadFile("en.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &texts); err != nil {
		t.Fatal(err)
	}
	for _, text := range texts {
		bare := text
		for _, name := range meant {
			bare = strings.ReplaceAll(bare, name, "")
		}
		if word := banned.FindString(bare); word != "" {
			t.Errorf("%q says %q", text, word)
		}
		for _, sentence := range sentenceEnd.Split(text, -1) {
			if n := len(strings.Fields(sentence)); n > mostWordsOfSentence {
				t.Errorf("%d words: %q", n, sentence)
			}
		}
	}
}
