// Package calc is the calculating command: one JSON object in, one out, for
// coaches with a spreadsheet and for scripts, without any database. It checks
// what was given, strictly, and hands it to the packages that compute; it
// computes nothing itself. It imports those packages and the standard library,
// and a JSON reader that is strict by default. Its contract is docs/calc.md.
package calc

import (
	"bytes"
	"fmt"
	"io"
	"slices"

	"github.com/go-json-experiment/json"
)

// Exit codes of the command.
const (
	ExitInput    = 2 // the input cannot be right, or the command was called wrongly
	ExitEvidence = 3 // the input is right but supports no answer
)

// An Error says in one line why there is no answer. Field is the path of the
// field at fault, such as tests[1].seconds, or "input" for the whole.
type Error struct {
	Exit    int // ExitInput or ExitEvidence
	Field   string
	Problem string
}

func (e *Error) Error() string { return e.Field + ": " + e.Problem }

// wrong reports a field that cannot be right.
func wrong(field, format string, args ...any) error {
	return &Error{Exit: ExitInput, Field: field, Problem: fmt.Sprintf(format, args...)}
}

// unsupported reports evidence that carries no answer.
func unsupported(field string, reason any) error {
	return &Error{Exit: ExitEvidence, Field: field, Problem: fmt.Sprint(reason)}
}

// A row is one calculation: its name, what it answers, and how.
type row struct {
	name, answers string
	run           func(text []byte) (any, error)
}

// rows lists the calculations, in the order of the help text.
func rows() []row {
	return []row{
		{"rate", "rates of timed tests with their uncertainty, and combined", reading(rates)},
		{"taps", "turning rate from the times of taps", reading(taps)},
		{"judges", "one count from several counters", reading(judges)},
		{"capacity", "sustainable rate and reserve from all-out tests", reading(fit)},
		{"balance", "the reserve's balance after each stretch of work or rest", reading(balance)},
		{"runs", "clean runs: survival by length, and the hazard of a catch per rep", reading(runs)},
		{"attempts", "attempts and reps to expect until a clean run of n", reading(attempts)},
		{"double", "what a double under asks of rope and jump", reading(double)},
		{"jump", "height of a jump from its flight time", reading(jump)},
		{"groups", "pace groups of a class, one cue each", reading(groups)},
		{"plan", "one session's work and rest, with the reasons", reading(plan)},
		{"change", "typical error and smallest detectable change of paired tests", reading(change)},
		{"load", "a week's load, monotony and strain", reading(load)},
		{"line", "least-squares line", reading(line)},
		{"trend", "Theil–Sen trend with its rank interval", reading(trend)},
		{"summary", "number, mean and standard deviation", reading(summary)},
	}
}

// reading turns an answer to a question of type Q into a row's run: it decodes
// the question first.
func reading[Q any](answer func(Q) (any, error)) func([]byte) (any, error) {
	return func(text []byte) (any, error) {
		var q Q
		if err := decode(text, &q); err != nil {
			return nil, err
		}
		return answer(q)
	}
}

// Run reads one JSON object from in, does the calculation called name and
// writes the answer to out as one line of JSON, at full precision, null where a
// value is undefined. Nothing is written when there is no answer.
//
// An input that cannot be right and evidence that supports no answer return an
// [*Error]; trouble with writing returns another error.
func Run(name string, in io.Reader, out io.Writer) error {
	all := rows()
	i := slices.IndexFunc(all, func(r row) bool { return r.name == name })
	if i < 0 {
		return wrong("NAME", "there is no calculation called %q; -h lists them", name)
	}
	text, err := io.ReadAll(in)
	if err != nil {
		return wrong("input", "it could not be read: %v", err)
	}
	answer, err := all[i].run(text)
	if err != nil {
		return err
	}
	var line bytes.Buffer
	if err := json.MarshalWrite(&line, answer, json.Deterministic(true)); err != nil {
		return wrong("input", "these numbers are too large or too small to compute with")
	}
	line.WriteByte('\n')
	if _, err := out.Write(line.Bytes()); err != nil {
		return fmt.Errorf("writing the answer: %w", err)
	}
	return nil
}
