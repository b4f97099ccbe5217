package report

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/review"
	"ropewalk.example/internal/rhythm"
)

var update = flag.Bool("update", false, "write the golden files anew")

// The invented gym of these tests: five athletes whose term went in as many ways.
var begins = time.Date(2026, time.September, 7, 0, 0, 0, 0, time.UTC)

func on(week int) time.Time { return begins.AddDate(0, 0, 7*(week-1)+1) }

func ptr[T any](v T) *T { return &v }

func idOf(n int) uuid.UUID { return uuid.UUID{0: 1, 6: 0x70, 8: 0x80, 14: byte(n >> 8), 15: byte(n)} }

func ground(t testing.TB) review.Ground {
	t.Helper()
	l, err := ladder.Shipped("en")
	if err != nil {
		t.Fatal(err)
	}
	words, err := ladder.WordsIn("en")
	if err != nil {
		t.Fatal(err)
	}
	term := gym.Term{TermID: idOf(900), Name: "Autumn 2026", StartsOn: begins, EndsOn: begins.AddDate(0, 0, 83)}
	known := progress.Retest{Pairs: 40, TypicalError: 4}
	return review.Ground{Span: review.SpanOf(term, begins.AddDate(0, 0, 58)), AdultAge: 16, Ladder: l.Numbered(), Words: words, Sweep: rhythm.Sweep,
		Scatters: map[uuid.UUID]review.Scatter{uuid.Nil: {Whole: known, Turning: known, Burst: known}}}
}

func subject(g review.Ground, count int) Subject {
	return Subject{Gym: gym.Gym{Name: "Tallowmere Rope Hall", TimeZone: "Europe/London"}, Span: g.Span, Class: "Tuesday Starters", Count: count}
}

func test(n, week, rotations, catches int) gym.Result {
	r := gym.Result{ResultID: idOf(n*100 + week), Protocol: rate.Base, Day: on(week), TakenAt: on(week).Add(17 * time.Hour), Rotations: ptr(rotations),
		Seconds: ptr(60.0), Catches: catches, Step: "bounce", RopeKind: "beaded", Surface: "wood", CountedBy: "partner", Timing: "hand"}
	if catches > 0 {
		r.LostSeconds = ptr(2.5 * float64(catches))
	}
	return r
}

// sample are the facts of the five.
func sample(g review.Ground) []review.Facts {
	names := []struct{ name, lang string }{{"Amara Oyelaran-Fisk", "en"}, {"نور الحلواني", "ar"}, {"Ngọc Trầm", "vi"}, {"=SUM(A1) 김하린", "ko"}, {"आरव चौधुरी", "hi"}}
	var all []review.Facts
	for i, n := range names {
		f := review.Facts{Athlete: gym.Athlete{AthleteID: idOf(i + 1), Name: n.name, Lang: n.lang, BirthYear: 2013}}
		for week := 1; week <= 9 && i < 4; week += 2 {
			r := test(i+1, week, 84+4*i+3*week, max(0, 4-week/2-i))
			r.AthleteID = f.Athlete.AthleteID
			f.Results = append(f.Results, r)
		}
		if i == 3 {
			f.Results[len(f.Results)-1].Note = "-2 steps back, @the wall"
		}
		for week := 1; week <= 8; week++ {
			f.Meetings = append(f.Meetings, gym.Meeting{Day: on(week), Minutes: 45, Here: ptr((week+i)%5 != 0)})
			if (week+i)%5 != 0 {
				f.Debriefs = append(f.Debriefs, gym.Debrief{Day: on(week), Effort: ptr(3 + i), Minutes: ptr(45.0), Contacts: ptr(300 + 10*i)})
			}
		}
		at := func(stage int) string { return g.Ladder.Stages[stage-1].Key }
		f.Decisions = []gym.StageDecision{{DecisionID: idOf(500 + i), Verdict: "start", StageTo: at(3), DecidedOn: on(1), DecidedAt: on(1)}}
		if i == 0 {
			f.Decisions = append(f.Decisions, gym.StageDecision{DecisionID: idOf(600), Verdict: "up", StageFrom: at(3), StageTo: at(4), DecidedOn: on(7), DecidedAt: on(7)})
			f.Comment = gym.Comment{Comment: "Lands softly now. Keep the hands by the hips.", Aim: "A steady minute with two catches or fewer.", ByName: "Marit Okonjo-Lindqvist", ByLang: "en"}
			for k, reps := range []int{12, 31, 44, 60} {
				f.Results = append(f.Results, gym.Result{ResultID: idOf(700 + k), AthleteID: f.Athlete.AthleteID, Protocol: rate.CleanRun, Day: on(3 + k), TakenAt: on(3 + k),
					Rotations: &reps, StoppedClean: k == 3, Step: "bounce", RopeKind: "beaded", CountedBy: "coach", SeenByCoach: true})
			}
		}
		if i == 2 {
			inside := gym.Result{ResultID: idOf(800), AthleteID: f.Athlete.AthleteID, Protocol: rate.InDouble, Day: on(7), TakenAt: on(7), Rotations: ptr(35), Seconds: ptr(10.0),
				Step: "double", RopeKind: "beaded", CountedBy: "coach", SeenByCoach: true}
			flight, row := inside, inside
			flight.ResultID, flight.Protocol, flight.Rotations, flight.Seconds, flight.FlightSeconds = idOf(801), rate.Flight, nil, nil, ptr(0.37)
			row.ResultID, row.Protocol, row.Rotations, row.Seconds = idOf(802), rate.DoublesRun, ptr(4), nil
			f.Results = append(f.Results, inside, flight, row)
		}
		if i == 1 {
			f.Comment = gym.Comment{Comment: "نور تقفز الآن بهدوء أكثر، وتلتقط الحبل أقل من قبل.", ByName: "Marit Okonjo-Lindqvist"}
			f.Catches = []gym.CatchNote{{Day: on(2), Spot: "toes", Timing: "early"}, {Day: on(2), Spot: "toes", Timing: "early"}, {Day: on(4), Spot: "shins", Timing: "late"}}
		}
		all = append(all, f)
	}
	return all
}

// write puts the sample through a writer.
func write(t testing.TB, g review.Ground, facts []review.Facts, w Writer) {
	t.Helper()
	sum := g.Sum()
	for _, f := range facts {
		a := g.Of(f)
		sum.Add(a)
		if err := w.Add(a, f); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(sum.Group()); err != nil {
		t.Fatal(err)
	}
}

// formats are the files of a report, each of the sample.
func formats(t testing.TB) map[string]func() []byte {
	t.Helper()
	letters, err := paper.OpenLetters()
	if err != nil {
		t.Fatal(err)
	}
	g := ground(t)
	facts := sample(g)
	s := subject(g, len(facts))
	made := func(begin func(b *bytes.Buffer) (Writer, error)) func() []byte {
		return func() []byte {
			var b bytes.Buffer
			w, err := begin(&b)
			if err != nil {
				t.Fatal(err)
			}
			write(t, g, facts, w)
			return b.Bytes()
		}
	}
	return map[string]func() []byte{
		"a4.pdf":     made(func(b *bytes.Buffer) (Writer, error) { return NewPDF(b, letters, paper.A4(), s), nil }),
		"letter.pdf": made(func(b *bytes.Buffer) (Writer, error) { return NewPDF(b, letters, paper.Letter(), s), nil }),
		"xlsx":       made(func(b *bytes.Buffer) (Writer, error) { return NewXLSX(b, s) }),
		"csv":        made(func(b *bytes.Buffer) (Writer, error) { return NewCSV(b, s) }),
	}
}

func TestSameDataGiveTheSameBytes(t *testing.T) {
	for name, made := range formats(t) {
		if !bytes.Equal(made(), made()) {
			t.Errorf("%s differs from one time to the next", name)
		}
	}
}

// golden compares text with a kept file.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got == string(want) {
		return
	}
	before, after := strings.Split(string(want), "\n"), strings.Split(got, "\n")
	for i := range max(len(before), len(after)) {
		var b, a string
		if i < len(before) {
			b = before[i]
		}
		if i < len(after) {
			a = after[i]
		}
		if a != b {
			t.Errorf("%s, line %d\n got %s\nwant %s\n(all of it with -update)", name, i+1, a, b)
			return
		}
	}
}

func lineOf(cells ...any) string {
	texts := make([]string, len(cells))
	for i, c := range cells {
		texts[i] = fmt.Sprint(c)
	}
	return strings.Join(texts, " | ") + "\n"
}
