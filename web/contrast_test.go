package web

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestContrast holds the colours of every theme to WCAG 2.2: 4.5:1 for words
// (1.4.3), 3:1 for edges of controls and lines of charts (1.4.11), and our own
// 7:1 for the main words, which are read in a bright hall.
// https://www.w3.org/TR/WCAG22/
func TestContrast(t *testing.T) {
	pairs := []struct {
		front, back string
		least       float64
	}{
		{"ink", "paper", 7}, {"ink", "card", 7}, {"ink", "tint", 7}, {"ink2", "paper", 7},
		{"ink2", "card", 7}, {"ink2", "sunk", 4.5}, {"rope", "paper", 7}, {"rope", "tint", 4.5},
		{"rope", "card", 7}, {"on-rope", "rope", 7}, {"on-rope", "rope-deep", 7},
		{"clay", "paper", 4.5}, {"clay", "clay-tint", 4.5}, {"moss", "paper", 4.5},
		{"ochre", "paper", 4.5}, {"ochre", "ochre-tint", 4.5}, {"ink", "ochre-tint", 7},
		{"ink", "clay-tint", 7}, {"ink", "moss-tint", 7}, {"rule", "paper", 3}, {"rule", "card", 3},
		{"line2", "paper", 3}, {"line3", "paper", 3}, {"line4", "paper", 3}, {"ahead", "paper", 3},
	}
	for theme, colours := range themes(t) {
		for _, pair := range pairs {
			front, back := colours[pair.front], colours[pair.back]
			got, err := contrast(front, back)
			if err != nil {
				t.Errorf("%s: --%s on --%s: %v", theme, pair.front, pair.back, err)
			} else if got < pair.least {
				t.Errorf("%s: --%s (%s) on --%s (%s) is %.2f:1, want %g:1", theme, pair.front, front, pair.back, back, got, pair.least)
			}
		}
	}
}

// TestContrastOfKnownPairs checks the formula on the two ends of the scale and
// on a grey whose ratio on white is widely quoted as 4.54:1 (from memory).
func TestContrastOfKnownPairs(t *testing.T) {
	tests := map[string]struct {
		front, back string
		want        float64
	}{
		"black on white": {"#000", "#fff", 21},
		"white on white": {"#fff", "#ffffff", 1},
		"middle grey":    {"#767676", "#fff", 4.54},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			got, err := contrast(test.front, test.back)
			if err != nil || math.Abs(got-test.want) > 0.005 {
				t.Errorf("contrast = %.3f, %v, want %.2f", got, err, test.want)
			}
		})
	}
}

func TestSystemDarkIsDark(t *testing.T) {
	css := sheet(t)
	asked := block(t, css, `[data-theme="dark"] {`)
	followed := block(t, css, "  [data-theme=\"system\"] {\n    color-scheme: dark;")
	for name, colour := range asked {
		if followed[name] != colour {
			t.Errorf("--%s is %s when asked for and %s when the device asks", name, colour, followed[name])
		}
	}
}

// themes reads the colours of each theme out of the style sheet.
func themes(t *testing.T) map[string]map[string]string {
	css := sheet(t)
	light := block(t, css, ":root {")
	return map[string]map[string]string{
		"light":  light,
		"dark":   over(light, block(t, css, `[data-theme="dark"] {`)),
		"bright": over(light, block(t, css, `[data-theme="bright"] {`)),
		"more contrast": over(light, block(t, css, "@media (prefers-contrast: more) and (prefers-color-scheme: light) {\n"+
			`  [data-theme="system"] {`)),
	}
}

var colourToken = regexp.MustCompile(`--([a-z0-9-]+): (#[0-9a-f]{3,6});`)

// block is the custom colours in the rule that begins with opening.
func block(t *testing.T, css, opening string) map[string]string {
	t.Helper()
	_, rest, found := strings.Cut(css, opening)
	if !found {
		t.Fatalf("the style sheet has no %q", opening)
	}
	body, _, _ := strings.Cut(rest, "}")
	colours := map[string]string{}
	for _, m := range colourToken.FindAllStringSubmatch(body, -1) {
		colours[m[1]] = m[2]
	}
	return colours
}

func over(base, changes map[string]string) map[string]string {
	merged := map[string]string{}
	for name, colour := range base {
		merged[name] = colour
	}
	for name, colour := range changes {
		merged[name] = colour
	}
	return merged
}

// contrast is the contrast ratio of two colours as WCAG 2.2 defines it.
func contrast(front, back string) (float64, error) {
	a, err := luminance(front)
	if err != nil {
		return 0, err
	}
	b, err := luminance(back)
	if err != nil {
		return 0, err
	}
	return (max(a, b) + 0.05) / (min(a, b) + 0.05), nil
}

// luminance is the relative luminance of a colour such as #1b2326 or #fff.
func luminance(colour string) (float64, error) {
	digits := strings.TrimPrefix(colour, "#")
	if len(digits) == 3 {
		digits = string([]byte{digits[0], digits[0], digits[1], digits[1], digits[2], digits[2]})
	}
	value, err := strconv.ParseUint(digits, 16, 32)
	if err != nil || len(digits) != 6 {
		return 0, fmt.Errorf("colour %q is not of the form #rgb or #rrggbb", colour)
	}
	linear := func(shift uint) float64 {
		c := float64(value>>shift&0xff) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(16) + 0.7152*linear(8) + 0.0722*linear(0), nil
}

// sheet is the style sheet's tokens as they are written.
func sheet(t *testing.T) string {
	t.Helper()
	text, err := static.ReadFile("static/css/tokens.css")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
