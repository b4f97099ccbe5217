package ladder

import (
	"bytes"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

// The gates of the ladder that ships, as docs give them.
func TestShippedGates(t *testing.T) {
	want := []string{
		"1 Turn in time: The coach judges: 20 even turns with each hand.",
		"2 First jumps: The coach judges: 5 single jumps, each with a stop.",
		"3 Ten, then thirty bounces: Two clean runs of 10 or more, on two different days. One clean run of 30 or more.",
		"4 Steady minute: Two 60 s tests with at most 2 catches, each restarted within 3 s, on two different days.",
		"5 Alternate step: Two 30 s tests in the alternate step with at most 2 catches, on two different days.",
		"6 Changes of pace: Two burst tests above base by 12 rpm or 12 %, whichever is more, on two different days. One set of “split 10/10: ten steady jumps, ten fast ones” with 4 clean cycles or more. + seen",
		"7 Long clean run: Two clean runs of 200 or more (100 under age 16), on two different days. + seen",
		"8 Double without a rope: The coach judges: 10 jumps without a rope, in time with the sound cue. + seen",
		"9 Both handles in one hand: The coach judges: two turns a jump, 10 in time, on each side. + seen",
		"10 One double, then stop: Two attempts at “one double, then stop” with 3 good tries of 5, on two different days. + seen",
		"11 One double, carry on: Two attempts at “5 bounces, a double, 5 bounces” with 3 good tries of 5, on two different days. + seen",
		"12 Every fourth jump: One set of “three singles and a double” with 8 clean rounds or more. + seen",
		"13 In a row: two, three, five: Two rows of 2 doubles or more, on two different days. Two rows of 3 doubles or more, on two different days. Two rows of 5 doubles or more, on two different days. + seen",
		"14 Ten in a row: Two rows of 10 doubles or more, on two different days. + seen",
		"15 Fifty in a row: One row of 50 doubles or more. + seen",
		"16 Running doubles, first triple: The coach judges: doubles from the alternate step. The coach judges: one clean triple under. + seen",
	}
	l, w := english(t), words(t)
	if len(l.Stages) != len(want) {
		t.Fatalf("%d stages, want %d", len(l.Stages), len(want))
	}
	for i, s := range l.Stages {
		said := []string{plain(float64(s.Number)) + " " + s.Title + ":"}
		for _, c := range s.Gate.Clauses {
			said = append(said, w.Clause(c))
		}
		if s.Gate.SeenByCoach {
			said = append(said, "+ seen")
		}
		if got := strings.Join(said, " "); got != want[i] {
			t.Errorf("got  %s\nwant %s", got, want[i])
		}
	}
}

func TestEveryStageHasEveryPart(t *testing.T) {
	for _, lang := range Languages() {
		l, err := Shipped(lang)
		if err != nil {
			t.Fatal(err)
		}
		if l.Lang != lang {
			t.Errorf("file %s says it is in %q", lang, l.Lang)
		}
		for _, s := range l.Stages {
			switch {
			case s.Title == "", s.Purpose == "", s.RopeAdvice == "", s.Caution == "":
				t.Errorf("%s, %s: a text is missing", lang, s.Key)
			case len(s.LookFor) < 2, len(s.Faults) < 2, len(s.Checks) < 3:
				t.Errorf("%s, %s: too few things to look for, faults or checks", lang, s.Key)
			case s.Drill.Text == "", len(s.Drill.Blocks) == 0, s.Drill.Sets == 0, s.Drill.RestSeconds == 0:
				t.Errorf("%s, %s: the drill is not whole", lang, s.Key)
			}
		}
	}
}

func TestLanguagesShareKeysAndGates(t *testing.T) {
	bare := func(lang string) Ladder {
		l, err := Shipped(lang)
		if err != nil {
			t.Fatal(err)
		}
		for i := range l.Stages {
			for j := range l.Stages[i].Gate.Clauses {
				l.Stages[i].Gate.Clauses[j].TaskText = ""
			}
		}
		return l
	}
	first := bare("en")
	for _, lang := range Languages() {
		for i, s := range bare(lang).Stages {
			was := first.Stages[i]
			if s.Key != was.Key || !reflect.DeepEqual(s.Gate, was.Gate) || s.Allows != was.Allows ||
				!reflect.DeepEqual(s.Drill.Blocks, was.Drill.Blocks) {
				t.Errorf("%s: stage %s differs from the English one in more than its texts", lang, s.Key)
			}
		}
	}
}

func TestShippedFileIsReadBackEqual(t *testing.T) {
	l := english(t)
	data, err := l.Encode()
	if err != nil {
		t.Fatal(err)
	}
	again, err := Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(l, again) {
		t.Error("the ladder changed on its way through a file")
	}
	if err := l.Check(); err != nil {
		t.Error(err)
	}
}

// texts returns every text of a ladder that people read.
func texts(l Ladder) []string {
	all := []string{l.Name}
	for _, s := range l.Stages {
		all = append(all, s.Title, s.Purpose, s.RopeAdvice, s.Caution, s.Drill.Text)
		all = append(all, s.LookFor...)
		for _, f := range s.Faults {
			all = append(all, f.Fault, f.Cue)
		}
		for _, c := range s.Checks {
			all = append(all, c.Text)
		}
		for _, c := range s.Gate.Clauses {
			all = append(all, c.TaskText)
		}
	}
	return all
}

// banned are words that no page may say to people: some blame, some are jargon,
// some belong to other trades, some are about bodies or empty praise.
var banned = regexp.MustCompile(`(?i)\b(invalid|illegal|abort\w*|fatal|oops|please|users?|clients?|submit\w*|fail\w*|workouts?|` +
	`warriors?|burn\w*|shred\w*|zones?|streaks?|level up|badges?|amazing|crush\w*|smash\w*|beast\w*|weak\w*|bad|lazy|` +
	`weight|calor\w*|etc|e\.g|i\.e)\b|!`)

func TestShippedTextIsPlain(t *testing.T) {
	for _, text := range texts(english(t)) {
		plainText(t, text, 15)
	}
}

// plainText notes what makes text hard to read on a phone.
func plainText(t *testing.T, text string, most int) {
	t.Helper()
	if found := banned.FindString(text); found != "" {
		t.Errorf("%q says %q", text, found)
	}
	for _, sentence := range regexp.MustCompile(`[.:;?] `).Split(text, -1) {
		if n := len(strings.Fields(sentence)); n > most {
			t.Errorf("%d words, at most %d: %q", n, most, sentence)
		}
	}
}

func TestShippedTextAgreesWithTheTrade(t *testing.T) {
	l := english(t)
	// Common practice, no source; effort and rest before stage 6: no bursts.
	for _, s := range l.Stages {
		early := s.Number < 6
		if early == s.Allows.Bursts || early == s.Allows.AllOut || early == s.Gate.SeenByCoach {
			t.Errorf("stage %d: bursts %v, all-out %v, seen by coach %v", s.Number, s.Allows.Bursts, s.Allows.AllOut, s.Gate.SeenByCoach)
		}
		if (s.Number >= 9) != s.Allows.SingleHanded || (s.Number >= 10) != s.Allows.Doubles || (s.Number == 16) != s.Allows.Triples {
			t.Errorf("stage %d allows %+v", s.Number, s.Allows)
		}
		for _, b := range s.Drill.Blocks {
			if b.Step == "double" && !s.Allows.Doubles || (b.At == TargetPace || b.At == BurstPace) && !s.Allows.Bursts {
				t.Errorf("stage %d drills what it does not allow: %+v", s.Number, b)
			}
		}
	}
	facts := []struct{ stage, says string }{
		{"steady-minute", "the average of several tests"},
		{"changes-of-pace", "20 steady jumps, then 10 fast ones"},
		{"changes-of-pace", "20 to 40 turns a minute faster than your base rate"},
		{"changes-of-pace", "speed comes from the wrists"},
		{"changes-of-pace", "short, light handles turns faster"},
		{"long-clean-run", "500 in a row before doubles"},
		{"both-handles", "measures how fast the rope turns during the jump"},
		{"one-double-stop", "You pull early and the rope catches"},
		{"one-double-stop", "not while you still catch often"},
		{"one-double-stop", "30 to 40 tries a session"}, // our caution, no source
		{"one-double-go-on", "48 hours between double sessions"},
		{"ten-then-thirty", "Learn one skill on one rope"},
		{"ten-then-thirty", "Chest open, shoulders back"},
		{"ten-then-thirty", "Technique goes first when you get tired"},
		{"two-three-five", "0.25 s or less"}, // readiness of children who string doubles together, in package rhythm
	}
	for _, fact := range facts {
		s, _ := l.Stage(fact.stage)
		if !strings.Contains(strings.Join(texts(Ladder{Stages: []Stage{s}}), " "), fact.says) {
			t.Errorf("stage %s does not say %q", fact.stage, fact.says)
		}
	}
}

// While learning, rest is at least twice the work and half a minute (our caution,
// no source), at rates of an athlete in the middle of each stage.
func TestShippedDrillsRestLong(t *testing.T) {
	rates := Rates{Base: 120, Target: 140, Burst: 160, Double: 70}
	for _, s := range english(t).Stages {
		lines, lacking := s.Drill.At(rates)
		if len(lacking) > 0 {
			t.Errorf("stage %d needs %v", s.Number, lacking)
		}
		work := 0.0
		for _, line := range lines {
			if line.Seconds == 0 {
				line.Seconds = float64(line.Reps) * 60 / 60 // a jump a second when free
			}
			work += line.Seconds
		}
		work *= float64(max(s.Drill.Cycles, 1))
		jumps := s.Number > 1
		if jumps && (float64(s.Drill.RestSeconds) < 2*work || s.Drill.RestSeconds < 30) {
			t.Errorf("stage %d: %.0f s work, %d s rest", s.Number, work, s.Drill.RestSeconds)
		}
	}
}

func TestShippedFallsBackToEnglish(t *testing.T) {
	l, err := Shipped("xx")
	if err != nil || l.Lang != "en" {
		t.Errorf("Shipped(xx) is in %q, %v", l.Lang, err)
	}
}

func TestShippedFileIsTidy(t *testing.T) {
	data, err := shippedFiles.ReadFile("shipped/en.json")
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(data, []byte("\t")) || !bytes.HasSuffix(data, []byte("}\n")) {
		t.Error("use two spaces and end the file with a line break")
	}
}
