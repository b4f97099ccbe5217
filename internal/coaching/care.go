package coaching

import (
	"cmp"
	"slices"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/progress"
)

// Signs are the words that a form offers for pain that stops impact work at any
// score, by the key that the store keeps.
func Signs() map[string]progress.Flag {
	return map[string]progress.Flag{
		"sharp": progress.Sharp, "limping": progress.Limping, "worsening": progress.Worsening,
		"night": progress.AtNight, "bone": progress.OnBone, "unwell": progress.Unwell,
	}
}

// reportOf returns what a debrief says of pain.
func reportOf(d gym.Debrief) progress.Report {
	report := progress.Report{At: d.RecordedAt, Session: d.PlanID != [16]byte{} || d.SessionID != [16]byte{}}
	var flags progress.Flag
	for _, sign := range d.PainSigns {
		flags |= Signs()[sign]
	}
	if d.Pain > 0 || flags != 0 {
		report.Pains = []progress.Pain{{Score: d.Pain, Place: d.PainPlace, Flags: flags}}
	}
	return report
}

// CareOf folds what an athlete reported and what coaches released, in the order
// of time, into what is to be remembered. Releases were checked when they were
// made, so one that is kept counts. A hold that was opened stands until it is
// released, also when the report behind it is no longer among debriefs.
func CareOf(debriefs []gym.Debrief, holds []gym.Hold) progress.Care {
	type event struct {
		at     time.Time
		report progress.Report
		hold   *gym.Hold
	}
	var events []event
	for _, d := range debriefs {
		events = append(events, event{at: d.RecordedAt, report: reportOf(d)})
	}
	for i, h := range holds {
		events = append(events, event{at: h.At, hold: &holds[i]})
	}
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(a.at.UnixNano(), b.at.UnixNano()) })
	var care progress.Care
	for _, e := range events {
		if e.hold != nil {
			care = afterHold(care, *e.hold)
			continue
		}
		next, _, err := care.After(e.report)
		if err == nil {
			care = next
		}
	}
	return care
}

// afterHold returns the care after a hold was opened or released.
func afterHold(care progress.Care, h gym.Hold) progress.Care {
	if !h.Opened {
		released, err := care.Release(progress.Release{At: h.At, ByCoach: true, Reason: h.Reason, Advised: true})
		if err != nil {
			return care
		}
		return released
	}
	if care.State != progress.Held {
		care.State, care.HeldSince, care.SessionsLeft = progress.Held, h.At, 0
		care.AdviceFirst = h.Code != string(progress.HighScore)
	}
	if h.At.After(care.LastPain) {
		care.LastPain = h.At
	}
	return care
}
