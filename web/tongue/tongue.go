// Package tongue says pages in other languages. The code writes English; a
// language is one file that gives each English text its own, with numbered
// holes for values. A finished page is translated on its way out, so that no
// page, sentence or message has to know of languages. It imports the standard
// library and an HTML tokenizer.
package tongue

import (
	"embed"
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"sync"
)

//go:embed *.json
var files embed.FS

// English is the language of the code.
const English = "en"

// A Language is what pages are said in.
type Language struct {
	Tag    string `json:"tag"`    // BCP 47: "es"
	Name   string `json:"name"`   // in itself: "Español"
	Dir    string `json:"dir"`    // ltr or rtl
	Review string `json:"review"` // who has still to look at it; empty when somebody has

	Days   []string `json:"days"`   // short, from Monday
	Months []string `json:"months"` // short, from January
	Date   string   `json:"date"`   // order of day and month: "{weekday} {day} {month}"

	Decimal string `json:"decimal"` // what stands before the tenths of a number; "" is a point

	Texts map[string]string `json:"texts"` // by the English text

	file   string
	once   sync.Once
	index  map[string][]*pattern // texts with holes, by one of their words
	memory sync.RWMutex
	before map[string]string // what was said lately
}

// Load reads the languages other than English, by tag.
func Load() (map[string]*Language, error) {
	entries, err := files.ReadDir(".")
	if err != nil {
		return nil, err
	}
	languages := map[string]*Language{}
	for _, entry := range entries {
		if entry.Name() == English+".json" {
			continue
		}
		data, err := files.ReadFile(entry.Name())
		if err != nil {
			return nil, err
		}
		l := &Language{file: entry.Name()}
		if err := json.Unmarshal(data, l); err != nil {
			return nil, fmt.Errorf("language %s: %w", entry.Name(), err)
		}
		languages[l.Tag] = l
	}
	return languages, nil
}

// joints are texts that hold lists and figures together and that the code makes
// by joining, and the few codes that pages show as they are.
var joints = []string{
	"{1} and {2}", "{1} or {2}", "{1} to {2}",
	"{1} rpm", "{1} s", "{1} m", "{1} beats", "{1} weeks",
	"{1}\u00a0rpm", "{1}\u00a0s", "{1}\u00a0m", "{1}\u00a0min", "{1}\u00a0beats", "{1}\u00a0weeks", "{1}\u00a0days",
	"at", "assumed", "up", "stay", "down",
}

// leading are the marks that a part of a sentence can begin with.
const leading = " ,;:.·"

var (
	hole   = regexp.MustCompile(`\{\d+\}`)
	spaces = regexp.MustCompile(`[ \t\r\n]+`)
)

// tidy writes a text as HTML shows it: without outer and double spaces.
func tidy(text string) string {
	return strings.Trim(spaces.ReplaceAllString(text, " "), " ")
}
