package ladder

import (
	"embed"
	"fmt"
	"slices"
	"strings"
)

//go:embed shipped/*.json
var shippedFiles embed.FS

// Shipped returns the ladder that comes with the program, in the language lang, or
// in English if there is no such file. It is a ladder file like any other: copy
// shipped/en.json and translate the texts, but not the keys.
func Shipped(lang string) (Ladder, error) {
	data, err := shippedFiles.ReadFile("shipped/" + lang + ".json")
	if err != nil {
		data, err = shippedFiles.ReadFile("shipped/en.json")
	}
	if err != nil {
		return Ladder{}, fmt.Errorf("shipped ladder %s: %w", lang, err)
	}
	l, err := Parse(data)
	if err != nil {
		return Ladder{}, fmt.Errorf("shipped ladder %s: %w", lang, err)
	}
	return l, nil
}

// Languages lists the languages of the shipped ladder, in order of their tags.
func Languages() []string {
	files, err := shippedFiles.ReadDir("shipped")
	if err != nil {
		return nil
	}
	var langs []string
	for _, f := range files {
		langs = append(langs, strings.TrimSuffix(f.Name(), ".json"))
	}
	return slices.Clip(langs)
}
