package page

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/progress"
	"ropewalk.example/web/part"
)

// tenth writes a number with one decimal.
func tenth(x float64) string {
	return strings.Replace(strconv.FormatFloat(x, 'f', 1, 64), "-", "−", 1)
}

// hundredth writes a number with two decimals.
func hundredth(x float64) string {
	return strings.Replace(strconv.FormatFloat(x, 'f', 2, 64), "-", "−", 1)
}

// ChangeSentence says whether the base rate changed.
func ChangeSentence(c finding.Change) string {
	if c.Tests == 0 {
		return "No base test in the last half year."
	}
	if c.Tests == 1 {
		return "One base test so far. The next one shows whether something changes."
	}
	since := "since " + part.Day(c.From)
	if math.IsNaN(c.Difference) {
		return "Too few tests to say whether the rate changed."
	}
	difference := math.Round(c.AfterRPM) - math.Round(c.BeforeRPM) // as shown
	switch c.Verdict {
	case progress.RealChange:
		way := "rose"
		if c.Difference < 0 {
			way = "fell"
		}
		return fmt.Sprintf("The whole-test rate %s by %s rpm %s. Tests alone may differ by %s, so this is real.", way, part.Whole(math.Abs(difference)), since, part.Whole(c.Needed))
	case progress.WithinError:
		return fmt.Sprintf("The whole-test rate changed by %s rpm %s. Tests alone may differ by %s: within measurement error.", part.Signed(difference), since, part.Whole(c.Needed))
	default:
		return fmt.Sprintf("The whole-test rate changed by %s rpm %s. There are too few tests to say more.", part.Signed(difference), since)
	}
}

// scatterSentence says where the measurement error comes from.
func scatterSentence(c finding.Change) string {
	if c.Assumed {
		return "How far tests differ by themselves is assumed: 4 % from day to day. Ten pairs of tests in the class would measure it."
	}
	return fmt.Sprintf("How far tests differ by themselves comes from %d pairs of tests in the class, at most two weeks apart.", c.Retest.Pairs)
}

func trendSentence(c finding.Change) string {
	if !c.HasTrend {
		return "No trend yet."
	}
	return fmt.Sprintf("About %s rpm a week, between %s and %s.", signedTenth(c.Trend.PerWeek), signedTenth(c.Trend.Low), signedTenth(c.Trend.High))
}

func signedTenth(x float64) string {
	if math.Round(10*x) > 0 {
		return "+" + tenth(x)
	}
	return tenth(x)
}

// aimWords names a bar: "a base rate of 150 rpm".
func aimWords(a finding.Aim) string {
	bar := part.Whole(a.Bar)
	switch a.Measure {
	case "clean_run":
		return "a clean run of " + bar
	case "doubles_in_a_row":
		if a.Bar == 1 {
			return "a double"
		}
		return bar + " doubles in a row"
	case "burst_rate":
		return "a burst of " + bar + " rpm"
	default:
		return "a base rate of " + bar + " rpm"
	}
}

// AimSentence says when a bar is likely, or why that cannot be said.
func AimSentence(a finding.Aim, today time.Time) string {
	what := aimWords(a)
	day := func(ahead int) string { return part.Day(today.AddDate(0, 0, ahead)) }
	switch {
	case a.Refused == nil:
		text := fmt.Sprintf("At this pace %s is likely around %s. In 9 of 10 cases it comes between %s and %s", what, day(a.Forecast.Likely), day(a.Forecast.Earliest), day(a.Forecast.Latest))
		if a.Forecast.Open {
			text += " or later"
		}
		return text + "."
	case errors.Is(a.Refused, progress.ErrTooFewTests):
		return fmt.Sprintf("No forecast of %s yet: %s of the %d that it takes.", what, part.Count(a.Results, "day of tests", "days of tests"), progress.MinForecastTests)
	case errors.Is(a.Refused, progress.ErrNoImprovement):
		return fmt.Sprintf("No forecast of %s: the tests show no sure improvement yet.", what)
	case errors.Is(a.Refused, progress.ErrTooFar):
		return fmt.Sprintf("At this pace %s is more than 26 weeks away.", what)
	case errors.Is(a.Refused, progress.ErrReached):
		return fmt.Sprintf("The level has reached %s. It is time to test.", what)
	default:
		return fmt.Sprintf("No forecast of %s: all tests are from one day.", what)
	}
}

// LastingSentence says how long a rate lasts, or which test would tell.
func LastingSentence(l finding.Lasting) string {
	switch {
	case l.Known && l.Bounded:
		return fmt.Sprintf("Can keep up %s rpm (%s), with %s rotations in reserve above it (%s).", part.Whole(l.Fitted.SustainableRPM), boundsWords(l.Rate), part.Whole(l.Fitted.Reserve), boundsWords(l.Reserve))
	case l.Known:
		return fmt.Sprintf("Can keep up %s rpm, with %s rotations in reserve above it. Two tests do not say how sure this is.", part.Whole(l.Fitted.SustainableRPM), part.Whole(l.Fitted.Reserve))
	case l.Refused != nil:
		return refusalSentence(l.Refused)
	case l.Model.SustainableRPM > 0:
		return fmt.Sprintf("No all-out tests yet. Plans take the base rate of %s rpm as what can be kept up (assumed).", part.Whole(l.Model.SustainableRPM))
	default:
		return "No all-out tests yet."
	}
}

func boundsWords(b finding.Bounds) string {
	return "likely " + part.Whole(max(0, b.Low)) + "–" + part.Whole(b.High)
}

func refusalSentence(r *capacity.Refused) string {
	test := part.Whole(r.Seconds) + "\u00a0s"
	switch r.Reason {
	case capacity.TooFew:
		return "One length of all-out test is not enough. Add one of " + test + "."
	case capacity.TooNarrow:
		return "These all-out tests are too alike in length. Add one of " + test + "."
	case capacity.Disagree:
		return "These all-out tests disagree: the longer one was faster. Repeat the " + test + " one."
	case capacity.NoRate:
		return "These all-out tests leave no rate that could be kept up. Repeat them on a fresh day."
	case capacity.NoReserve:
		return "These all-out tests leave no reserve. Repeat the " + test + " one."
	default:
		return "All-out tests of less than 30 s do not count here."
	}
}

// recoverySentence says how fast the reserve comes back.
func recoverySentence(r finding.Recovery) string {
	if r.On.IsZero() {
		return "How fast the reserve comes back is assumed: 90 s. A repeat-burst test of four bouts or more measures it."
	}
	on := "The repeat-burst test of " + part.Day(r.On)
	switch {
	case r.Known && r.Fitted.Settled():
		return fmt.Sprintf("%s gives a recovery constant of %s (likely %s–%s s). Plans use it.", on, part.Seconds(r.Fitted.TauSeconds), part.Whole(r.Fitted.Low), part.Whole(r.Fitted.High))
	case r.Known && math.IsInf(r.Fitted.High, 1):
		return fmt.Sprintf("%s gives a recovery constant of about %s, at least %s. That is too loose; plans stay with the assumed 90 s.", on, part.Seconds(r.Fitted.TauSeconds), part.Seconds(r.Fitted.Low))
	case r.Known:
		return fmt.Sprintf("%s gives a recovery constant of about %s (likely %s–%s s). That is too loose; plans stay with the assumed 90 s.", on, part.Seconds(r.Fitted.TauSeconds), part.Whole(r.Fitted.Low), part.Whole(r.Fitted.High))
	}
	switch r.Refused {
	case finding.NeedsAllOut:
		return on + " waits for a pair of all-out tests to be measured against."
	case capacity.TooFewBouts:
		return on + " has too few bouts. Four or more are needed."
	case capacity.NotAllOut:
		return on + " began no faster than what can be kept up. Bouts must be all-out."
	case capacity.NoFall:
		return on + " shows no fall: each rest gave everything back. Take shorter rests."
	default:
		return on + " falls as if no rest gave anything back. Take longer rests."
	}
}
