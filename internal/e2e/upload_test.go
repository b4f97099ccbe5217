package e2e

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// Whoever takes the wrong file reads so on the page, and may choose another: the
// browser is still sending when the answer comes.
func TestWrongFileIsToldOnThePage(t *testing.T) {
	for name, test := range map[string]struct {
		content []byte
		says    string
	}{
		"50 MB":   {bytes.Repeat([]byte("Somebody,2012\n"), 50<<20/14), "larger than 2 MB"},
		"empty":   {nil, "This file is empty."},
		"Latin-1": {[]byte("name\nJos\xe9\n"), "UTF-8"},
	} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "roster.csv")
			if err := os.WriteFile(file, test.content, 0o600); err != nil {
				t.Fatal(err)
			}
			b := newTab(t, demo(t), 390, 844)
			b.signIn("marit@tallowmere.example", "twelve ropes on a rack")
			b.open("/classes")
			b.leaves(chromedp.Click(chromedp.CSS(`main .lines a`)))
			b.open(b.at() + "/import")
			b.do(chromedp.SetUploadFiles(chromedp.CSS(`main input[type=file]`), []string{file}))
			b.press("Look at it first")
			b.says("There is a problem", test.says, "Look at it first")
		})
	}
}
