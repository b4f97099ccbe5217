package part

import (
	"strings"
	"testing"
	"time"
)

func TestFigures(t *testing.T) {
	tests := map[string]struct{ got, want string }{
		"a rate is whole":            {Whole(127.6), "128"},
		"minus is a minus sign":      {Whole(-4.2), "−4"},
		"no minus nought":            {Whole(-0.3), "0"},
		"a gain has its sign":        {Signed(5.7), "+6"},
		"no change has none":         {Signed(0.2), "0"},
		"a loss has its sign":        {Signed(-3), "−3"},
		"share":                      {Percent(0.847), "85 %"},
		"tenths below ten seconds":   {Seconds(8.57), "8.6 s"},
		"whole seconds stay whole":   {Seconds(8), "8 s"},
		"no tenths from ten seconds": {Seconds(12.4), "12 s"},
		"rests are told in seconds":  {Seconds(90), "90 s"},
		"two minutes":                {Seconds(120), "120 s"},
		"longer is minutes":          {Seconds(180), "3 min"},
		"minutes and seconds":        {Seconds(150), "2 min 30 s"},
		"a short session":            {Minutes(20), "1 minute"},
		"a session":                  {Minutes(782), "13 minutes"},
		"day":                        {Day(time.Date(2026, 11, 5, 0, 0, 0, 0, time.UTC)), "Thu 5 Nov"},
		"clock":                      {Clock(time.Date(2026, 11, 5, 18, 30, 0, 0, time.UTC)), "18:30"},
		"one":                        {Count(1, "test", "tests"), "1 test"},
		"none":                       {Count(0, "test", "tests"), "0 tests"},
		"rate and how sure":          {rateFigure(127.6, 4.6), "128 ± 5"},
		"rate alone":                 {rateFigure(127.6, 0), "128"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			if got := strings.ReplaceAll(test.got, noBreak, " "); got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
		})
	}
}
