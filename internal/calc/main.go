package calc

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
)

// Main runs the calculating command with args, which are NAME and perhaps FILE;
// without FILE, or with "-", it reads stdin. It returns the exit code: 0 with
// one JSON line on stdout, else one line on stderr and [ExitInput],
// [ExitEvidence], or 1 when the answer could not be written.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	asked := func(arg string) bool { return arg == "-h" || arg == "-help" || arg == "--help" }
	switch {
	case slices.ContainsFunc(args, asked):
		help(stdout)
		return 0
	case len(args) == 0 || len(args) > 2:
		return report(stderr, wrong("calc", "give NAME and at most one FILE; -h lists the names"))
	}
	if len(args) == 2 && args[1] != "-" {
		text, err := os.ReadFile(args[1])
		if err != nil {
			return report(stderr, wrong("FILE", "%v", err))
		}
		stdin = bytes.NewReader(text)
	}
	if err := Run(args[0], stdin, stdout); err != nil {
		return report(stderr, err)
	}
	return 0
}

// report writes err as one line and returns the exit code it stands for.
func report(stderr io.Writer, err error) int {
	fmt.Fprintln(stderr, strings.Join(strings.Fields(err.Error()), " "))
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Exit
	}
	return 1
}

func help(out io.Writer) {
	fmt.Fprintln(out, "ropewalk calc NAME [FILE] reads a JSON object (from standard input without FILE)")
	fmt.Fprintln(out, "and prints the answer as JSON. docs/calc.md has every field and an example each.")
	fmt.Fprintln(out)
	for _, r := range rows() {
		fmt.Fprintf(out, "  %-10s %s\n", r.name, r.answers)
	}
	fmt.Fprintln(out)
	fmt.Fprintf(out, "Exit codes: 0 answered, %d the input cannot be right, %d the evidence supports no answer.\n",
		ExitInput, ExitEvidence)
}
