package demo

import (
	"fmt"
	"time"
)

// attempts at double unders in a session; a "3 of 5" gate is five tries.
const attempts = 5

// doubles are the attempts at double unders (layer 2), from the stage of the
// first double on. The mean run grows from 1.5 to 6 over the term.
func (d diary) doubles() []DoubleRun {
	s := layer(2, d.athlete.ID)
	var all []DoubleRun
	for _, w := range d.weeks {
		mean := 1.5 + 4.5*float64(w.number-1)/(lastWeek-1)
		jumps := int(s.within(76, 7, 60, 96))
		for n := 1; n <= attempts; n++ {
			run := s.geometric(mean)
			if !w.present || d.athlete.StartStage < doubleStage {
				continue
			}
			all = append(all, DoubleRun{
				Key:            fmt.Sprintf("doubles-%02d-w%02d-%d", d.athlete.ID, w.number, n),
				Athlete:        d.athlete.ID,
				Week:           w.number,
				Attempt:        n,
				TakenAt:        d.at(w.number, 45*time.Minute+time.Duration(n)*time.Minute),
				Doubles:        run,
				JumpsPerMinute: jumps,
				Rope:           d.athlete.Rope,
				CountedBy:      ByCoach,
			})
		}
	}
	return all
}

// taps returns the taps of somebody watching the athlete's first counted test
// without a catch (layer 3), if there is one: a steady jumper, a human finger
// and the odd missed turn.
func (d diary) taps(tests []Test) []TapSeries {
	s := layer(3, d.athlete.ID)
	for _, t := range tests {
		if t.Kind == Base && t.Step == Bounce && t.Catches == 0 && t.ClashesWith == "" {
			return []TapSeries{{Test: t.Key, Athlete: t.Athlete, TakenAt: t.TakenAt, Stamps: s.stamps(t)}}
		}
	}
	return nil
}

// stamps draws a tap for each rotation of t: period, finger, miss.
func (s stream) stamps(t Test) []float64 {
	var all []float64
	mean := t.Seconds / float64(t.Rotations)
	landed, last := 0.0, 0.0
	for range t.Rotations {
		landed += s.around(mean, 0.02*mean)
		tap := s.around(landed, 0.03)
		missed := s.Float64() < 0.02
		if missed || tap <= last || tap > t.Seconds {
			continue
		}
		all = append(all, tap)
		last = tap
	}
	return all
}

// Words for how hard a session was.
const (
	Easy  = "easy"
	Right = "right"
	Hard  = "hard"
)

// EffortOf returns the effort of a word on the 0–10 session scale: easy 2,
// right 4, hard 7, where that scale says easy, somewhat hard and very hard.
//
// Source: C. Foster et al., J Strength Cond Res 15(1), 2001, 109–115 (from
// memory); which word of ours stands for which of theirs is assumed.
func EffortOf(word string) int {
	switch word {
	case Easy:
		return 2
	case Hard:
		return 7
	default:
		return 4
	}
}

// A complaint is where it hurts and what the athlete wrote.
type complaint struct{ place, note string }

func complaints() []complaint {
	return []complaint{
		{"left shin", "Left shin sore after the last set."},
		{"right knee", "Right knee felt stiff on landing."},
		{"left heel", "Left heel tender when walking."},
		{"lower back", "Lower back tired at the end."},
		{"right wrist", "Right wrist ached from turning."},
		{"left ankle", "Left ankle felt tight in the warm-up."},
	}
}

// complaint draws whether it hurts and, if so, where.
func (s stream) complaint() (hurts bool, where complaint) {
	if s.Float64() >= 0.01 {
		return false, complaint{}
	}
	all := complaints()
	return true, all[s.IntN(len(all))]
}

// feedback is the athlete's word after each session (layer 4). Pain holds the
// plan until the coach lets the athlete go on at the next session.
func (d diary) feedback() []Feedback {
	s := layer(4, d.athlete.ID)
	words := []string{Easy, Right, Hard}
	shares := []weight{{0, 0.25}, {1, 0.60}, {2, 0.15}}
	var all []Feedback
	for i, w := range d.weeks {
		word := words[s.pick(shares)]
		hurts, where := s.complaint()
		if !w.present {
			continue
		}
		f := Feedback{
			Key:       fmt.Sprintf("feedback-%02d-w%02d", d.athlete.ID, w.number),
			Athlete:   d.athlete.ID,
			Week:      w.number,
			GivenAt:   d.at(w.number, time.Duration(d.class.Minutes+2)*time.Minute),
			Word:      word,
			Effort:    EffortOf(word),
			InSession: true,
		}
		if hurts {
			f.Pain, f.PainPlace, f.PainNote = 2, where.place, where.note
			if i+1 < len(d.weeks) {
				f.ReleasedAt = d.at(d.weeks[i+1].number, 0)
			}
		}
		all = append(all, f)
	}
	return all
}
