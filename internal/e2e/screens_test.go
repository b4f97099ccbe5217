//go:build screens

package e2e

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

var (
	screens = flag.String("screens", "../../docs/screens", "folder to write the pictures to")
	all     = flag.Bool("all", false, "take every picture, also those that no document shows")
)

// TestScreens takes the pictures of the documents: NAME-WIDTH-LOOK.png.
func TestScreens(t *testing.T) {
	shown, err := shownScreens("../..")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(*screens, 0o755); err != nil {
		t.Fatal(err)
	}
	p := demo(t)
	tabs := map[string]*tab{}
	for _, v := range visitors {
		tabs[v.who] = newTab(t, p, 1280, 800)
		if v.signIn != nil {
			v.signIn(tabs[v.who])
		}
	}
	tabs["guardian"], tabs["hall"] = newTab(t, p, 1280, 800), newTab(t, p, 1280, 800)
	for _, s := range screenList {
		if !*all && !slices.ContainsFunc(slices.Collect(maps.Keys(shown)), func(name string) bool { return strings.HasPrefix(name, s.name+"-") }) && !s.changes {
			continue
		}
		b := tabs[s.who]
		b.do(chromedp.EmulateViewport(1280, 800))
		if s.from != "" {
			b.open(s.from)
		}
		for _, text := range s.links {
			b.follow(text)
		}
		if s.then != nil {
			s.then(b, tabs)
		}
		for _, width := range []int64{360, 1280} {
			for _, look := range []string{"light", "dark"} {
				name := fmt.Sprintf("%s-%d-%s.png", s.name, width, look)
				if *all || shown[name] {
					b.picture(filepath.Join(*screens, name), width, look)
					delete(shown, name)
				}
			}
		}
	}
	if *all {
		b := unsure(t)
		for _, width := range []int64{360, 1280} {
			for _, look := range []string{"light", "dark"} {
				b.picture(filepath.Join(*screens, fmt.Sprintf("is-it-you-%d-%s.png", width, look)), width, look)
			}
		}
	}
	for name := range shown {
		t.Errorf("a document shows %s, which is in no list of screens", name)
	}
}

// follow follows the first link whose words begin so, or presses the button.
func (b *tab) follow(words string) {
	b.Helper()
	path := value[string](b, fmt.Sprintf(`[...document.querySelectorAll("main a")].find(a => a.innerText.trim().replace(/\s+/g, " ").startsWith(%s))?.getAttribute("href") ?? ""`, quote(words)))
	if path == "" {
		b.press(words)
		return
	}
	b.open(path)
}

// picture writes what a screen so wide shows.
func (b *tab) picture(path string, width int64, look string) {
	b.Helper()
	height, scale := int64(860), 1.0
	if width < 600 {
		height, scale = 740, 2.0 // a phone's letters are small
	}
	b.do(chromedp.EmulateViewport(width, height, chromedp.EmulateScale(scale)))
	value[bool](b, `document.documentElement.dataset.theme = "`+look+`", scrollTo(0, 0), document.fonts.ready.then(() => true)`)
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.Fatal(err)
	}
	small, err := fewColours(shot)
	if err != nil {
		b.Fatal(err)
	}
	const most = 150_000 // a document's pictures are loaded all at once
	if len(small) > most {
		b.Errorf("%s is %d bytes, more than %d", path, len(small), most)
	}
	if err := os.WriteFile(path, small, 0o644); err != nil {
		b.Fatal(err)
	}
}

// fewColours makes a picture of a page small: its 256 commonest colours stand for
// all others.
func fewColours(data []byte) ([]byte, error) {
	from, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	area := from.Bounds()
	counts := map[color.Color]int{}
	for y := area.Min.Y; y < area.Max.Y; y++ {
		for x := area.Min.X; x < area.Max.X; x++ {
			counts[from.At(x, y)]++
		}
	}
	colours := slices.SortedFunc(maps.Keys(counts), func(a, b color.Color) int { return counts[b] - counts[a] })
	palette := color.Palette(colours[:min(256, len(colours))])
	nearest := map[color.Color]uint8{}
	for _, c := range colours {
		nearest[c] = uint8(palette.Index(c))
	}
	to := image.NewPaletted(area, palette)
	for y := area.Min.Y; y < area.Max.Y; y++ {
		for x := area.Min.X; x < area.Max.X; x++ {
			to.SetColorIndex(x, y, nearest[from.At(x, y)])
		}
	}
	var out bytes.Buffer
	err = (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&out, to)
	return out.Bytes(), err
}

// shownScreens returns the names of the pictures that documents show.
func shownScreens(root string) (map[string]bool, error) {
	shown := map[string]bool{}
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || filepath.Ext(path) != ".md" {
			return err
		}
		text, err := os.ReadFile(path)
		for _, part := range strings.Split(string(text), "screens/")[1:] {
			if end := strings.Index(part, ".png"); end > 0 && end < 40 {
				shown[part[:end]+".png"] = true
			}
		}
		return err
	})
	return shown, err
}
