package part

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/a-h/templ"
	dom "golang.org/x/net/html"
)

var update = flag.Bool("update", false, "write the golden files anew")

// Each picture of a report is what the golden file shows, and comes with its
// finding in a sentence and with all its numbers in a table, so that nobody has to
// see it to know what it says.
func TestPicturesOfReports(t *testing.T) {
	for name, test := range map[string]struct {
		picture templ.Component
		finding string
		table   []string // rows, their cells parted by a stroke
	}{
		"strip": {MeetingStrip(Strip{ID: "s", Title: "Meetings come to", Finding: "Came to 1 of 2 meetings.",
			Marks: []StripMark{{"Tue 8 Sep", WasHere}, {"Tue 15 Sep", WasAway}, {"Tue 22 Sep", NotNoted}}}),
			"Came to 1 of 2 meetings.", []string{"Tue 8 Sep|Here", "Tue 15 Sep|Away", "Tue 22 Sep|Not noted"}},
		"bars": {BarChart(Bars{ID: "b", Title: "Load week by week", Finding: "The heaviest week began on Mon 14 Sep.", Unit: "Load", When: "Week from", Under: "mono.",
			Bars: []Bar{{"7 Sep", 90, "0.4"}, {"14 Sep", 180, "1.2"}, {"21 Sep", 0, ""}}}),
			"The heaviest week began on Mon 14 Sep.", []string{"7 Sep|90|0.4", "14 Sep|180|1.2", "21 Sep|0|"}},
		"ranges": {RangeChart(Ranges{ID: "r", Title: "Rates from lowest to highest", Finding: "The middle went from 92 to 103 rpm.", Unit: "rpm",
			Rows: []Range{{Name: "Whole test, start", Count: 14, Low: 60, Middle: 92, High: 105}, {Name: "Whole test, end", Count: 13, Low: 74, Middle: 103, High: 119, Later: true}}}),
			"The middle went from 92 to 103 rpm.", []string{"Whole test, start|14|60|92|105", "Whole test, end|13|74|103|119"}},
		"spots": {SpotChart(Spots{ID: "c", Title: "Where the rope stopped", Finding: "5 of 7 catches noted: toes.", Place: "Where", Times: []string{"early", "in time", "late"},
			Rows: []SpotRow{{"toes", []int{4, 1, 0}}, {"shins", []int{0, 0, 2}}}}),
			"5 of 7 catches noted: toes.", []string{"toes|4|1|0", "shins|0|0|2"}},
		"height": {CurveChart(Curve{ID: "h", Title: "Height that a double needs", Finding: "At 210 rpm a double needs a jump of 16 cm.", X: Axis{Name: "Rope", Unit: "rpm"}, Y: Axis{Name: "Height", Unit: "cm"},
			Points: []CurvePoint{{X: 160, Y: 29}, {X: 210, Y: 16}, {X: 260, Y: 9}}, Dots: []Dot{{210, 16, "210 rpm, 16 cm"}}, Goals: []Goal{{20, "higher is not planned"}}}),
			"At 210 rpm a double needs a jump of 16 cm.", []string{"160|29", "210|16", "260|9"}},
	} {
		t.Run(name, func(t *testing.T) {
			var page strings.Builder
			if err := test.picture.Render(context.Background(), &page); err != nil {
				t.Fatal(err)
			}
			got := strings.ReplaceAll(page.String(), "><", ">\n<") + "\n"
			golden(t, name+".svg.txt", got)
			root, err := dom.Parse(strings.NewReader(page.String()))
			if err != nil {
				t.Fatal(err)
			}
			if said := textIn(root, "figcaption"); len(said) != 1 || !strings.Contains(said[0], test.finding) {
				t.Errorf("it is found that %q, want %q", said, test.finding)
			}
			if titles := textIn(root, "title"); len(titles) == 0 || titles[0] == "" {
				t.Error("the picture has no title")
			}
			var rows []string
			for body := range root.Descendants() {
				if body.Data != "tbody" {
					continue
				}
				for row := range body.Descendants() {
					if row.Data == "tr" {
						rows = append(rows, strings.Join(textIn(row, "th", "td"), "|"))
					}
				}
			}
			if strings.Join(rows, "\n") != strings.Join(test.table, "\n") {
				t.Errorf("the table reads %q, want %q", rows, test.table)
			}
		})
	}
}

// textIn returns the text of each element of these names, in order.
func textIn(root *dom.Node, names ...string) []string {
	var all []string
	for n := range root.Descendants() {
		for _, name := range names {
			if n.Type != dom.ElementNode || n.Data != name {
				continue
			}
			text := ""
			for d := range n.Descendants() {
				if d.Type == dom.TextNode {
					text += d.Data
				}
			}
			all = append(all, strings.Join(strings.Fields(text), " "))
		}
	}
	return all
}

// golden compares text with a kept file.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s shows something else now; look, and write it anew with -update\n%s", path, got)
	}
}
