package bench

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// Between these lines of the document stands what the last whole run measured.
const (
	beginFigures = "<!-- figures: written by make bench -->"
	endFigures   = "<!-- end of the figures -->"
)

// document puts the figures of this run into the file, and the picture of growth
// beside it.
func (b *bench) document(file string) error {
	text, err := os.ReadFile(file)
	if err != nil {
		return fmt.Errorf("reading the document: %w", err)
	}
	before, rest, found := bytes.Cut(text, []byte(beginFigures))
	_, after, ended := bytes.Cut(rest, []byte(endFigures))
	if !found || !ended {
		return fmt.Errorf("%s has no place for the figures", file)
	}
	var out bytes.Buffer
	out.Write(before)
	fmt.Fprintf(&out, "%s\n%s\n%s", beginFigures, b.figures(), endFigures)
	out.Write(after)
	if err := os.WriteFile(file, out.Bytes(), 0o644); err != nil { //nolint:gosec // a document of the project
		return fmt.Errorf("writing the document: %w", err)
	}
	if len(b.curves) == 0 {
		return nil
	}
	picture := filepath.Join(filepath.Dir(file), "performance-growth.svg")
	if err := os.WriteFile(picture, []byte(growthPicture(b.curves)), 0o644); err != nil { //nolint:gosec // a document of the project
		return fmt.Errorf("writing the picture: %w", err)
	}
	return nil
}

// figures is the table with the facts of the machine, as Markdown.
func (b *bench) figures() string {
	var text strings.Builder
	tests, sets := b.db().rows()
	fmt.Fprintf(&text, "Measured on %s by `make bench SIZE=%d`: %d athletes, %d tests, %d sets; %s, %d processors, %s, PostgreSQL %d. Medians of %d rounds.\n\n",
		time.Now().UTC().Format("2 January 2006"), b.size, b.db().athletes(), tests, sets, processorName(), runtime.NumCPU(), runtime.Version(), b.cluster.Programs().Major, b.rounds)
	text.WriteString("| work | ours | baseline | ratio | spread | goal | |\n| --- | --- | --- | --- | --- | --- | --- |\n")
	for _, r := range b.rows {
		fmt.Fprintf(&text, "| %s | %s | %s | %s | %s | %s | %s |\n", r.Work, r.Ours, r.Baseline, r.ratio(), r.Spread, r.Goal, r.verdict())
	}
	for _, r := range b.rows {
		if r.Remark != "" {
			fmt.Fprintf(&text, "\n- %s: %s.", r.Work, r.Remark)
		}
	}
	if b.year != "" {
		fmt.Fprintf(&text, "\n\n%s\n", b.year)
	}
	return text.String()
}

// processorName is what the system calls the processor: /proc/cpuinfo, proc(5).
func processorName() string {
	text, err := os.ReadFile("/proc/cpuinfo")
	if err != nil {
		return runtime.GOARCH
	}
	for line := range strings.Lines(string(text)) {
		if name, ok := strings.CutPrefix(line, "model name"); ok {
			return strings.TrimSpace(strings.TrimLeft(name, "\t :"))
		}
	}
	return runtime.GOARCH
}

// growthPicture draws the curves, both axes logarithmic.
func growthPicture(curves []curve) string {
	const width, height, left, top, right, bottom = 640, 360, 70, 20, 200, 50
	least, most := math.Inf(1), 0.0
	for _, c := range curves {
		for _, s := range c.seconds {
			least, most = min(least, s), max(most, s)
		}
	}
	least, most = math.Pow(10, math.Floor(math.Log10(least))), math.Pow(10, math.Ceil(math.Log10(most)))
	x := func(percent int) float64 { return left + math.Log10(float64(percent))/2*(width-left-right) }
	y := func(seconds float64) float64 {
		return top + (height-top-bottom)*(1-math.Log10(seconds/least)/math.Log10(most/least))
	}
	var svg strings.Builder
	fmt.Fprintf(&svg, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" font-family="sans-serif" font-size="13" role="img">`+"\n", width, height)
	svg.WriteString(`<title>Time of a page with 1, 10 and 100 percent of the data</title>` + "\n")
	fmt.Fprintf(&svg, `<rect width="%d" height="%d" fill="#fff"/>`+"\n", width, height)
	for s := least; s <= most*1.01; s *= 10 {
		fmt.Fprintf(&svg, `<path d="M%d %.1fH%d" stroke="#ccc"/><text x="%d" y="%.1f" text-anchor="end">%g ms</text>`+"\n", left, y(s), width-right, left-8, y(s)+4, math.Round(s*1e6)/1e3)
	}
	for _, percent := range []int{1, 10, 100} {
		fmt.Fprintf(&svg, `<path d="M%.1f %dV%d" stroke="#ccc"/><text x="%.1f" y="%d" text-anchor="middle">%d %%</text>`+"\n", x(percent), top, height-bottom, x(percent), height-bottom+20, percent)
	}
	colours := []string{"#1b5e8c", "#a3411f", "#3f6b2a", "#6a4a8c"}
	for i, c := range curves {
		colour := colours[i%len(colours)]
		var points []string
		for j, percent := range c.percent {
			points = append(points, fmt.Sprintf("%.1f,%.1f", x(percent), y(c.seconds[j])))
			fmt.Fprintf(&svg, `<circle cx="%.1f" cy="%.1f" r="4" fill="%s"/>`+"\n", x(percent), y(c.seconds[j]), colour)
		}
		fmt.Fprintf(&svg, `<polyline points="%s" fill="none" stroke="%s" stroke-width="2"/>`+"\n", strings.Join(points, " "), colour)
		fmt.Fprintf(&svg, `<text x="%d" y="%d" fill="%s">%s, exponent %.2f</text>`+"\n", width-right+12, top+20+20*i, colour, c.name, c.exponent())
	}
	fmt.Fprintf(&svg, `<text x="%d" y="%d" text-anchor="middle">share of 10,000 athletes, 1 M tests, 10 M sets</text>`+"\n</svg>\n", left+(width-left-right)/2, height-10)
	return svg.String()
}
