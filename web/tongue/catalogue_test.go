package tongue

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"slices"
	"testing"
)

var update = flag.Bool("update", false, "write the catalogue anew from the sources")

// The catalogue lists every text that the sources say to people.
func TestCatalogueIsCurrent(t *testing.T) {
	var got bytes.Buffer
	encoder := json.NewEncoder(&got)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "\t")
	if err := encoder.Encode(gather(t)); err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile("en.json", got.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile("en.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(kept, got.Bytes()) {
		t.Error("texts have changed: run `make texts` and translate what is new")
	}
}

// A language says every text of the catalogue, with the same holes, and nothing
// beside it.
func TestLanguagesAreWhole(t *testing.T) {
	var texts []string
	data, err := os.ReadFile("en.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &texts); err != nil {
		t.Fatal(err)
	}
	languages, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for tag, l := range languages {
		if tag+".json" != l.file || l.Name == "" || l.Dir != "ltr" && l.Dir != "rtl" || len(l.Days) != 7 || len(l.Months) != 12 || l.Date == "" {
			t.Errorf("%s: the head of the file is not whole", l.file)
		}
		for _, text := range texts {
			own, ok := l.Texts[text]
			if !ok || own == "" {
				t.Errorf("%s does not say %q", l.file, text)
			} else if got, want := holesOf(own), holesOf(text); !slices.Equal(got, want) {
				t.Errorf("%s says %q with the holes %v, not %v", l.file, text, got, want)
			}
		}
		for text := range l.Texts {
			if _, ok := slices.BinarySearch(texts, text); !ok {
				t.Errorf("%s says %q, which nobody says any more", l.file, text)
			}
		}
	}
}

func holesOf(text string) []string {
	holes := hole.FindAllString(text, -1)
	slices.Sort(holes)
	return holes
}
