package part

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Whole writes value rounded to a whole number, with a true minus sign.
func Whole(value float64) string {
	rounded := math.Round(value)
	if rounded < 0 {
		return "−" + strconv.FormatFloat(-rounded, 'f', 0, 64)
	}
	return strconv.FormatFloat(rounded+0, 'f', 0, 64) // +0: no "-0"
}

// rateFigure writes a rate with how sure it is: "128 ± 5".
func rateFigure(rpm, plusMinus float64) string {
	if plusMinus <= 0 {
		return Whole(rpm)
	}
	return Whole(rpm) + " ± " + Whole(plusMinus)
}

// mainFigure is what stands before the ± of a figure.
func mainFigure(figure string) string {
	before, _, _ := strings.Cut(figure, " ± ")
	return before
}

// plusMinus is the ± of a figure and what follows, or empty.
func plusMinus(figure string) string {
	if _, after, ok := strings.Cut(figure, " ± "); ok {
		return "± " + after
	}
	return ""
}

// Signed writes a difference: "+6", "−4" or "0".
func Signed(value float64) string {
	if math.Round(value) > 0 {
		return "+" + Whole(value)
	}
	return Whole(value)
}

// Percent writes a share from 0 to 1: "85 %".
func Percent(share float64) string { return Whole(share*100) + noBreak + "%" }

// noBreak keeps a number and its unit on one line: a no-break space.
const noBreak = "\u00a0"

// Seconds writes a length of time as one says it in a hall: "8.5 s" below ten
// seconds, "90 s" up to two minutes, then "2 min 30 s". Number and unit are
// held together by a no-break space.
func Seconds(seconds float64) string {
	tenths := math.Round(seconds*10) / 10
	switch {
	case tenths < 10 && tenths != math.Trunc(tenths):
		return strconv.FormatFloat(tenths, 'f', 1, 64) + noBreak + "s"
	case math.Round(seconds) <= 120:
		return Whole(seconds) + noBreak + "s"
	}
	minutes, rest := int(math.Round(seconds))/60, int(math.Round(seconds))%60
	if rest == 0 {
		return fmt.Sprintf("%d%smin", minutes, noBreak)
	}
	return fmt.Sprintf("%d%smin %d%ss", minutes, noBreak, rest, noBreak)
}

// Minutes writes a length of time to the nearest minute, at least one.
func Minutes(seconds float64) string {
	minutes := max(1, int(math.Round(seconds/60)))
	if minutes == 1 {
		return "1" + noBreak + "minute"
	}
	return strconv.Itoa(minutes) + noBreak + "minutes"
}

// Day writes a date as "Thu 5 Nov".
func Day(t time.Time) string { return t.Format("Mon 2 Jan") }

// Clock writes a time of day as "18:30".
func Clock(t time.Time) string { return t.Format("15:04") }

// Count writes a number with its noun: "1 test", "3 tests".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// percent writes a coordinate along the fluid axis of a picture.
func percent(share float64) string {
	return strconv.FormatFloat(math.Round(share*10000)/100, 'f', -1, 64) + "%"
}

// px writes a coordinate in CSS pixels, to a tenth.
func px(value float64) string { return string(appendPx(nil, value)) }

func appendPx(text []byte, value float64) []byte {
	tenths := int64(math.Round(value * 10))
	if tenths < 0 {
		text, tenths = append(text, '-'), -tenths
	}
	text = strconv.AppendInt(text, tenths/10, 10)
	if tenth := tenths % 10; tenth != 0 {
		text = append(text, '.', byte('0'+tenth))
	}
	return text
}
