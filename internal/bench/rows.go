package bench

import (
	"fmt"
	"iter"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/standing"
)

// A turn is one athlete at one meeting.
type turn struct {
	hall    hall
	place   int // in the hall, from 0
	athlete int // in the database, from 0
	meeting int // from 0
	starts  time.Time
	class   uuid.UUID
}

func (t turn) who() uuid.UUID { return t.hall.athletes[t.place] }

func (t turn) day() time.Time { return t.starts.Truncate(24 * time.Hour) }

func (t turn) plan() uuid.UUID {
	return idOf(t.starts.Add(-time.Hour), ofPlan, t.athlete, t.meeting)
}

func (t turn) session() uuid.UUID { return t.hall.session(t.place/classSize, t.meeting, t.starts) }

func (h hall) session(class, meeting int, starts time.Time) uuid.UUID {
	return idOf(starts, ofSession, h.number*1000+class, meeting)
}

// startOf spreads the meetings of a class over the years, the last one the day
// before the data are made.
func (f *filling) startOf(class, meeting int) time.Time {
	last := f.db.Made.Truncate(24*time.Hour).AddDate(0, 0, -1-class%6)
	return last.AddDate(0, 0, -7*(weeks*(meetings-1-meeting)/meetings)).Add(time.Duration(14+class%5) * time.Hour)
}

// turns goes by meeting and then by gym, as years of use would.
func (f *filling) turns() iter.Seq[turn] {
	return func(yield func(turn) bool) {
		for meeting := range meetings {
			athlete := 0
			for _, h := range f.halls {
				for place := range h.athletes {
					t := turn{hall: h, place: place, athlete: athlete, meeting: meeting, class: h.classOf(place), starts: f.startOf(place/classSize, meeting)}
					if !yield(t) {
						return
					}
					athlete++
				}
			}
		}
	}
}

// each makes rows of every turn.
func (f *filling) each(rows func(t turn, add func(row ...any) bool)) iter.Seq[[]any] {
	return func(yield func([]any) bool) {
		going := true
		add := func(row ...any) bool {
			going = going && yield(row)
			return going
		}
		for t := range f.turns() {
			if rows(t, add); !going {
				return
			}
		}
	}
}

// people are the athletes, where they stand, and what they did at the tests.
func (f *filling) people() []table {
	_, _, stages, err := standing.Shipped(uuid.Nil, f.db.Made)
	if err != nil {
		panic(err) // the ladder is part of the program
	}
	began := f.db.Made.AddDate(0, 0, -7*weeks)
	return []table{
		{"athlete", []string{"gym_id", "athlete_id", "name", "name_key", "birth_year", "started_on", "created_at"},
			f.first(func(t turn, add func(row ...any) bool) {
				name := fmt.Sprintf("Athlete %04d", t.place+1)
				add(t.hall.id, t.who(), name, roster.NameKey(name), f.db.Made.Year()-18-luck(20, t.athlete, 1), began, began)
			})},
		{"enrolment", []string{"gym_id", "class_id", "athlete_id", "place", "since"},
			f.first(func(t turn, add func(row ...any) bool) {
				add(t.hall.id, t.class, t.who(), t.place%classSize+1, began)
			})},
		{"stage_decision", []string{"gym_id", "decision_id", "athlete_id", "verdict", "stage_from", "stage_to", "ladder_id", "version", "decided_on", "decided_at", "decided_by"},
			f.each(func(t turn, add func(row ...any) bool) {
				if t.meeting%25 != 0 { // four in three years
					return
				}
				verdict, from, to := "start", "", stages[luck(4, t.athlete, 2)]
				if t.meeting > 0 {
					to = stages[luck(4, t.athlete, 2)+t.meeting/25]
					verdict, from = "up", stages[to.Number-2].Key
				}
				add(t.hall.id, idOf(t.starts, ofDecision, t.athlete, t.meeting), t.who(), verdict, from, to.Key,
					idOf(began, ofLadder, t.hall.number, 0), 1, t.day(), t.starts, t.hall.owner)
			})},
		{"result", []string{"gym_id", "result_id", "athlete_id", "session_id", "protocol", "day", "taken_at", "rotations", "seconds", "catches", "lost_seconds",
			"stopped_clean", "step", "rope_kind", "surface", "counted_by", "seen_by_coach", "recorded_at", "recorded_by"}, f.each(f.result)},
	}
}

// first makes rows of each athlete once.
func (f *filling) first(rows func(t turn, add func(row ...any) bool)) iter.Seq[[]any] {
	return f.each(func(t turn, add func(row ...any) bool) {
		if t.meeting == 0 {
			rows(t, add)
		}
	})
}

// result is one test a meeting: base, burst, clean run and base again.
func (f *filling) result(t turn, add func(row ...any) bool) {
	rpm := 90 + luck(60, t.athlete, 3) + t.meeting/5 + luck(9, t.athlete, 100+t.meeting)
	protocol, seconds, rotations, catches, lost := rate.Base, 60.0, rpm, luck(3, t.athlete, 200+t.meeting), 0.0
	switch t.meeting % 4 {
	case 1:
		protocol, seconds, rotations, catches = rate.Burst, 10, rpm*13/60, 0
	case 2:
		protocol, seconds, rotations, catches = rate.CleanRun, 0, 10+luck(50, t.athlete, 300+t.meeting), 0
	}
	if catches > 0 {
		lost = 2 * float64(catches)
	}
	add(t.hall.id, idOf(t.starts, ofResult, t.athlete, t.meeting), t.who(), t.session(), protocol, t.day(), t.starts.Add(20*time.Minute), rotations,
		orNull(seconds), catches, orNull(lost), protocol == rate.CleanRun && luck(4, t.athlete, t.meeting) == 0, "bounce", "beaded", "wood", "partner",
		t.meeting%3 == 0, t.starts.Add(21*time.Minute), t.hall.owner)
}

func orNull(n float64) *float64 {
	if n == 0 {
		return nil
	}
	return &n
}

// years are the meetings with what was planned and done there.
func (f *filling) years(samples []gym.Plan) []table {
	return []table{
		{"session", []string{"gym_id", "session_id", "class_id", "day", "starts_at", "minutes", "opened_at", "closed_at"},
			f.each(func(t turn, add func(row ...any) bool) {
				if t.place%classSize == 0 {
					add(t.hall.id, t.session(), t.class, t.day(), t.starts, 60, t.starts, t.starts.Add(time.Hour))
				}
			})},
		{"attendance", []string{"gym_id", "session_id", "athlete_id", "here", "noted_at", "noted_by"},
			f.each(func(t turn, add func(row ...any) bool) {
				add(t.hall.id, t.session(), t.who(), luck(10, t.athlete, 400+t.meeting) > 0, t.starts, t.hall.owner)
			})},
		{"plan", []string{"gym_id", "plan_id", "athlete_id", "class_id", "session_id", "day", "input", "output", "hour", "parts", "notes", "made_at", "made_by", "sent_at"},
			f.each(func(t turn, add func(row ...any) bool) {
				p := samples[luck(len(samples), t.athlete, t.meeting)]
				made := t.starts.Add(-time.Hour)
				add(t.hall.id, t.plan(), t.who(), t.class, t.session(), t.day(), p.Input, p.Output, p.Hour, p.Parts, []string{}, made, t.hall.owner, made)
			})},
		{"set_log", []string{"gym_id", "set_log_id", "athlete_id", "plan_id", "set_number", "bursts", "clean_bursts", "catches_steady", "catches_burst", "done_at", "recorded_at", "recorded_by"},
			f.each(func(t turn, add func(row ...any) bool) {
				for set := 1; set <= setsAMeeting; set++ {
					catches := luck(3, t.athlete, 500+t.meeting*setsAMeeting+set)
					done := t.starts.Add(time.Duration(25+2*set) * time.Minute)
					if !add(t.hall.id, idOf(done, ofSet, t.athlete, t.meeting*setsAMeeting+set), t.who(), t.plan(), set, 4, 4-catches, 0, catches, done, t.starts.Add(50*time.Minute), t.who()) {
						return
					}
				}
			})},
		{"debrief", []string{"gym_id", "debrief_id", "athlete_id", "plan_id", "session_id", "day", "sets_done", "bursts", "clean_bursts", "catches", "contacts", "minutes", "effort", "recorded_at", "recorded_by"},
			f.each(func(t turn, add func(row ...any) bool) {
				at := t.starts.Add(55 * time.Minute)
				add(t.hall.id, idOf(at, ofDebrief, t.athlete, t.meeting), t.who(), t.plan(), t.session(), t.day(), setsAMeeting, 4*setsAMeeting, 3*setsAMeeting,
					setsAMeeting, 900, 20.0, 3+luck(5, t.athlete, t.meeting), at, t.who())
			})},
		{"audit", []string{"gym_id", "audit_id", "at", "by", "action", "subject", "subject_id"},
			f.each(func(t turn, add func(row ...any) bool) {
				at := t.starts.Add(21 * time.Minute)
				add(t.hall.id, idOf(at, ofAudit, t.athlete, t.meeting), at, t.hall.owner, "recorded a result", "result", idOf(t.starts, ofResult, t.athlete, t.meeting))
			})},
	}
}
