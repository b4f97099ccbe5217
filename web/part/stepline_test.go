package part

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Whatever the session, figures lie inside the picture and never on one
// another, and the line runs from edge to edge without going below the floor.
func TestFiguresNeverMeet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := StepLine{ID: "s", Treads: session().Draw(t, "session")}
		views := []stepView{s.whole(true), s.whole(false), thumbView(s.Treads)}
		for _, b := range s.repeats() {
			views = append(views, b.view(fastest(s.Treads)))
		}
		for _, v := range views {
			checkLabels(t, v.labels)
			checkLine(t, v)
		}
	})
}

func checkLabels(t *rapid.T, placed []stepLabel) {
	var taken []box
	for _, label := range placed {
		width := float64(len([]rune(label.text)))*digit + 2
		left := label.x*narrowest - width/2
		switch label.anchor {
		case "start":
			left = label.x * narrowest
		case "end":
			left = label.x*narrowest - width
		}
		b := box{left, left + width, label.y - 13, label.y + 2}
		if label.class == "step-figure" && (b.left < -0.01 || b.right > narrowest+0.01) {
			t.Errorf("figure %q lies outside: %.1f to %.1f of %g", label.text, b.left, b.right, narrowest)
		}
		for _, other := range taken {
			if b.meets(other) && label.class != "step-reserve" {
				t.Errorf("%q lies on another figure", label.text)
			}
		}
		taken = append(taken, b)
	}
}

var coordinate = regexp.MustCompile(`[MHV]([0-9.-]+)(?: ([0-9.-]+))?`)

func checkLine(t *rapid.T, v stepView) {
	farthest := 0.0
	for _, path := range []string{v.steady, v.burst, v.double, v.thin} {
		for _, m := range coordinate.FindAllStringSubmatch(path, -1) {
			value, err := strconv.ParseFloat(m[1], 64)
			if err != nil {
				t.Fatal(err)
			}
			if m[0][0] == 'V' {
				if value > v.floor || value < 0 {
					t.Errorf("the line is at %g, the floor at %g", value, v.floor)
				}
				continue
			}
			farthest = max(farthest, value)
		}
	}
	if farthest < viewWidth-0.2 || farthest > viewWidth+0.2 {
		t.Errorf("the line ends at %g of %g", farthest, viewWidth)
	}
}

func TestBurstsAreDrawnTwice(t *testing.T) {
	v := thumbView([]Tread{{Kind: Burst, RPM: 170, Seconds: 10}, {Kind: Steady, RPM: 130, Seconds: 10}, {Kind: Rest, Seconds: 10}})
	if got := strings.Count(v.burst, "M"); got != 2 {
		t.Errorf("a burst is %d lines, want 2", got)
	}
	if got := strings.Count(v.steady, "M"); got != 1 {
		t.Errorf("a steady stretch is %d lines, want 1", got)
	}
}

func TestLongCyclesAreCutToWhatCanBeRead(t *testing.T) {
	blocks := worked(fold(longSession()))
	last := blocks[len(blocks)-1]
	v := last.view(fastest(longSession()))
	var figures []string
	for _, label := range v.labels {
		if label.class == "step-figure" {
			figures = append(figures, label.text)
		}
	}
	if strings.Join(figures, " ") != "132 160" {
		t.Errorf("figures = %q, want both rates of the cycle", figures)
	}
	if len(v.breaks) != 1 {
		t.Error("the picture leaves cycles out and does not show it")
	}
}

func TestShortSessionIsDrawnWhole(t *testing.T) {
	s := StepLine{Treads: []Tread{{Kind: Steady, RPM: 130, Seconds: 40}, {Kind: Rest, Seconds: 30}, {Kind: Burst, RPM: 168, Seconds: 10}}}
	if got := s.repeats(); got != nil {
		t.Errorf("%d blocks drawn apart, want none", len(got))
	}
}

func TestLiveSession(t *testing.T) {
	s := StepLine{ID: "live", Title: "Session", Live: true, Treads: []Tread{{Kind: Steady, RPM: 130, Seconds: 100}}}
	tests := map[string]struct {
		now  float64
		want string
	}{
		"before the start": {-5, `x1="0%"`},
		"a quarter in":     {25, `x1="25%"`},
		"over":             {130, `x1="100%"`},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			s.Now = test.now
			if page := render(t, Steps(s)); !strings.Contains(page, `class="step-now" `+test.want) {
				t.Errorf("the hairline is not at %s:\n%s", test.want, page)
			}
		})
	}
}

func TestEmptySessionIsDrawn(t *testing.T) {
	page := render(t, Steps(StepLine{ID: "none", Title: "Nothing planned", Sentence: "No plan for today."}))
	if !strings.Contains(page, "No plan for today.") {
		t.Errorf("the sentence is missing:\n%s", page)
	}
}

// FuzzSteps draws whatever numbers arrive; words must still be escaped and
// coordinates finite.
func FuzzSteps(f *testing.F) {
	f.Add(140.0, 20.0, 10, "<b>", 3)
	f.Add(0.0, 0.001, 0, "", 120)
	f.Fuzz(func(t *testing.T, rpm, seconds float64, reps int, label string, n int) {
		if !(rpm >= 0 && rpm < 1000 && seconds > 0 && seconds < 1e5) {
			return
		}
		var treads []Tread
		for range min(max(n, 1), 200) {
			treads = append(treads, Tread{Kind: Steady, RPM: rpm, Seconds: seconds, Reps: reps, Label: label}, Tread{Kind: Rest, Seconds: seconds})
		}
		page := render(t, Steps(StepLine{ID: "s", Title: label, Treads: treads}))
		for _, wrong := range []string{"NaN", "Inf", "<b>"} {
			if strings.Contains(page, wrong) && !strings.Contains(label, "NaN") && !strings.Contains(label, "Inf") {
				t.Errorf("the picture has %q", wrong)
			}
		}
	})
}
