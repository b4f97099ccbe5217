package part

import (
	"context"
	"math"
	"strings"
	"testing"
)

func survival() Curve {
	return Curve{ID: "s", Title: "Runs", Finding: "Half end by 20.", Stepped: true,
		X: Axis{Name: "Length", Unit: "reps", Low: 0, High: 100}, Y: Axis{Name: "Past it", Unit: "%", Low: 0, High: 100},
		Points: []CurvePoint{{Y: 100, Hidden: true}, {X: 20, Y: 50, Low: 10, High: 80}, {X: 60, Y: 25, Low: 2, High: 60}, {X: 90, Y: 0, Low: math.NaN(), High: math.NaN()}},
		Dots:   []Dot{{X: 80, Y: 25, Text: "gate"}}}
}

func TestSteppedCurve(t *testing.T) {
	v := survival().view()
	// 2 % of the width is left free at both ends; the picture's top is at 28, its floor at 196.
	if want := "M20 28H212V112H596V154H884V196"; v.line != want {
		t.Errorf("line %s, want %s", v.line, want)
	}
	// The last bounds hold up to the next step, where there are none.
	if !strings.Contains(v.band, "H884") || strings.Contains(v.band, "NaN") || !strings.HasSuffix(v.band, "Z") {
		t.Errorf("band %s", v.band)
	}
	if len(v.dots) != 1 || v.dots[0].anchor != "end" {
		t.Errorf("dots %+v; words right of the middle stand to the left", v.dots)
	}
}

func TestSmoothCurve(t *testing.T) {
	c := Curve{ID: "h", Points: []CurvePoint{{X: 120, Y: 37}, {X: 220, Y: 13}, {X: 320, Y: 7}}}
	v := c.view()
	if strings.ContainsAny(v.line, "HV") || v.band != "" {
		t.Errorf("line %s, band %s", v.line, v.band)
	}
	if last := v.rungs[len(v.rungs)-1].text; last != "40" {
		t.Errorf("the picture ends at %s, want the next round value above 37", last)
	}
}

func TestCurveNumbers(t *testing.T) {
	var page strings.Builder
	if err := CurveChart(survival()).Render(context.Background(), &page); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Half end by 20.", "<title id=\"s-title\">Runs</title>", ">10–80<", ">–<", "role=\"img\""} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the picture lacks %s", want)
		}
	}
	if strings.Contains(page.String(), "NaN") {
		t.Error("the picture says NaN")
	}
	if rows := strings.Count(page.String(), "scope=\"row\""); rows != 3 {
		t.Errorf("%d rows, want 3: the hidden start is not listed", rows)
	}
}

func TestCurveOfNothing(t *testing.T) {
	if v := (Curve{ID: "n"}).view(); strings.Contains(v.line+v.band, "NaN") {
		t.Errorf("line %s, band %s", v.line, v.band)
	}
}
