package report

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/review"
)

// How large the measured reports are, and what they may cost: the time that a
// bare library needs for the same content, times mostRatio, and the memory of the
// whole process.
const (
	manyAthletes = 1000
	manyResults  = 100 // of each in the workbook
	mostRatio    = 1.2
	mostMemory   = 150 // MB
)

// someone is the facts of the nth athlete of a large invented gym: names, rates,
// catches and comments differ from one to the next.
func someone(base []review.Facts, n, tests int) review.Facts {
	given := []string{"Amara", "Tomasz", "Þórdís", "Keahi", "Siân", "Yusuf", "Lindiwe", "Bea", "Оксана", "Μελίνα"}
	family := []string{"Fisk", "Grzelik", "Blæng", "Manumalo", "Penhallt", "Karadoğan", "Mthembani", "Ñuñez", "Вербич", "Στρατάκη", "Quintanar"}
	f := base[0]
	f.Athlete.AthleteID = idOf(n + 1)
	f.Athlete.Name = given[n%len(given)] + " " + family[n%len(family)] + " " + strconv.Itoa(n)
	f.Comment.Comment = fmt.Sprintf("Lands softly now, and came to %d of the last meetings. Keep the hands by the hips.", 3+n%7)
	f.Comment.Aim = fmt.Sprintf("A steady minute with %d catches or fewer.", n%5)
	f.Results = nil
	for i := range tests {
		week := 1 + 8*i/max(1, tests-1)
		r := test(n, week, 70+n%40+3*week+i%7, (n+i)%4)
		r.ResultID, r.AthleteID = idOf(n*tests+i), f.Athlete.AthleteID
		f.Results = append(f.Results, r)
	}
	for i, r := range base[0].Results {
		if r.StoppedClean || r.Seconds == nil { // the clean runs
			reps := *r.Rotations + (n+i)%9
			r.Rotations = &reps
			f.Results = append(f.Results, r)
		}
	}
	return f
}

// A race is the processor time that this package and a bare library took, round by
// round: other programs of the machine do not count.
type race struct{ own, bare time.Duration }

// run takes turns, so that a busy machine slows both, and keeps the fastest of
// each.
func (r *race) run(b *testing.B, own, bare func() time.Duration) {
	const least = 3
	rounds := 0
	round := func() {
		o, p := own(), bare()
		if rounds == 0 || o < r.own {
			r.own = o
		}
		if rounds == 0 || p < r.bare {
			r.bare = p
		}
		rounds++
	}
	for b.Loop() {
		round()
	}
	for rounds < least {
		round()
	}
}

// report prints the figures and refuses more than what is allowed.
func (r *race) report(b *testing.B, memory float64) {
	ratio := r.own.Seconds() / r.bare.Seconds()
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(r.own.Seconds(), "own-cpu-s")
	b.ReportMetric(r.bare.Seconds(), "bare-cpu-s")
	b.ReportMetric(ratio, "own/bare")
	b.ReportMetric(memory, "peak-MB")
	if ratio > mostRatio {
		b.Errorf("took %.2f times as long as the bare library; %g is allowed", ratio, mostRatio)
	}
	if memory > mostMemory {
		b.Errorf("took %.0f MB at most; %d is allowed", memory, mostMemory)
	}
}

// spent is the processor time that the process took so far (getrusage(2)).
func spent(b *testing.B) time.Duration {
	b.Helper()
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		b.Fatal(err)
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}

// peak runs do and returns the most memory that the process held meanwhile, in
// MB, as Linux counts it (proc(5): VmHWM, set back by clear_refs).
func peak(b *testing.B, do func()) float64 {
	b.Helper()
	debug.FreeOSMemory()
	if err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0); err != nil {
		b.Fatalf("peak memory is measured on Linux alone: %v", err)
	}
	do()
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Fatal(err)
	}
	_, after, _ := strings.Cut(string(status), "VmHWM:")
	kB, err := strconv.ParseFloat(strings.Fields(after)[0], 64)
	if err != nil {
		b.Fatal(err)
	}
	return kB / 1000
}

// writing puts many athletes through a writer and returns how long the writer
// took; reviewing them is not its work.
func writing(b *testing.B, g review.Ground, count, tests int, w Writer) time.Duration {
	b.Helper()
	base, sum := sample(g), g.Sum()
	took := time.Duration(0)
	for n := range count {
		f := someone(base, n, tests)
		a := g.Of(f)
		sum.Add(a)
		began := spent(b)
		if err := w.Add(a, f); err != nil {
			b.Fatal(err)
		}
		took += spent(b) - began
	}
	group := sum.Group()
	began := spent(b)
	if err := w.Close(group); err != nil {
		b.Fatal(err)
	}
	return took + spent(b) - began
}

// A thousand one-page reports in one file.
func BenchmarkThousandReportsPDF(b *testing.B) {
	letters, err := paper.OpenLetters()
	if err != nil {
		b.Fatal(err)
	}
	g := ground(b)
	s := subject(g, manyAthletes)
	own := func(to io.Writer) time.Duration {
		return writing(b, g, manyAthletes, 5, NewPDF(to, letters, paper.A4(), s))
	}
	memory := peak(b, func() { own(io.Discard) })
	var kept bytes.Buffer
	own(&kept)
	pages := barePages(b, kept.Bytes())
	var r race
	r.run(b, func() time.Duration { return own(io.Discard) }, func() time.Duration {
		began := spent(b)
		if err := bareDocument(io.Discard, paper.A4(), pages); err != nil {
			b.Fatal(err)
		}
		return spent(b) - began
	})
	r.report(b, memory)
}

// Reports of one athlete each, a file a report.
func BenchmarkSingleReportsPDF(b *testing.B) {
	const count = 100
	letters, err := paper.OpenLetters()
	if err != nil {
		b.Fatal(err)
	}
	g := ground(b)
	s := subject(g, 1)
	s.Alone = true
	base := sample(g)
	own := func(to func(n int) io.Writer) time.Duration {
		took := time.Duration(0)
		for n := range count {
			f := someone(base, n, 5)
			a := g.Of(f)
			sum := g.Sum()
			sum.Add(a)
			began := spent(b)
			w := NewPDF(to(n), letters, paper.A4(), s)
			if err := w.Add(a, f); err != nil {
				b.Fatal(err)
			}
			if err := w.Close(sum.Group()); err != nil {
				b.Fatal(err)
			}
			took += spent(b) - began
		}
		return took
	}
	nowhere := func(int) io.Writer { return io.Discard }
	memory := peak(b, func() { own(nowhere) })
	kept := make([]bytes.Buffer, count)
	own(func(n int) io.Writer { return &kept[n] })
	pages := make([][]barePage, count)
	for n := range kept {
		pages[n] = barePages(b, kept[n].Bytes())
	}
	var r race
	r.run(b, func() time.Duration { return own(nowhere) }, func() time.Duration {
		began := spent(b)
		for _, p := range pages {
			if err := bareDocument(io.Discard, paper.A4(), p); err != nil {
				b.Fatal(err)
			}
		}
		return spent(b) - began
	})
	r.report(b, memory)
}

// The workbook of a gym with 100,000 rows of results.
func BenchmarkGymWorkbook(b *testing.B) {
	g := ground(b)
	s := subject(g, manyAthletes)
	own := func() time.Duration {
		w, err := NewXLSX(io.Discard, s)
		if err != nil {
			b.Fatal(err)
		}
		return writing(b, g, manyAthletes, manyResults, w)
	}
	memory := peak(b, func() { own() })
	var r race
	r.run(b, own, func() time.Duration { return bareWorkbook(b, g) })
	r.report(b, memory)
}

// bareWorkbook writes the same cells through excelize alone.
func bareWorkbook(b *testing.B, g review.Ground) time.Duration {
	b.Helper()
	base := sample(g)
	began := spent(b)
	book, err := newBareBook()
	if err != nil {
		b.Fatal(err)
	}
	took := spent(b) - began
	for n := range manyAthletes {
		f := someone(base, n, manyResults)
		rows := rowsOf(g.Of(f), f)
		began = spent(b)
		for sheet := range rows {
			for _, r := range rows[sheet] {
				if err := book.add(sheet, r); err != nil {
					b.Fatal(err)
				}
			}
		}
		took += spent(b) - began
	}
	began = spent(b)
	if err := book.close(io.Discard); err != nil {
		b.Fatal(err)
	}
	return took + spent(b) - began
}
