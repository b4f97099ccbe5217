// Package bench measures the program's speed against the least that could do
// the same work, in the same run and on the same machine: a bare HTTP handler
// that sends the same SQL, pgbench, initdb, R. It makes the data, puts the load
// on from a second process, and prints one table. It imports what makes data and
// runs servers; nothing imports it but its command.
package bench

import (
	"context"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"

	"ropewalk.example/internal/localpg"
)

// The parts of the program that run in processes of their own.
const (
	partLoad = "load"
	partBare = "bare"
)

// options say what to measure.
type options struct {
	size    int    // percent of the athletes
	folder  string // of the data, kept from one run to the next
	program string // that is measured
	rounds  int    // of each comparison
	only    string // parts whose name holds this
	write   string // document that gets the figures
}

// Main runs the command in args and returns its exit code: 1 where a goal is
// missed or nothing could be measured.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, args, stdin, stdout, stderr); err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	return 0
}

func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) error {
	if len(args) > 0 && args[0] == partLoad {
		return generate(stdin, stdout)
	}
	if len(args) > 0 && args[0] == partBare {
		return serveBare(ctx, stdin, stdout)
	}
	var o options
	flags := flag.NewFlagSet("bench", flag.ContinueOnError)
	flags.SetOutput(stderr)
	flags.IntVar(&o.size, "size", 1, "how much of the data, in percent: 1, 10 or 100")
	flags.StringVar(&o.folder, "data", "var/bench", "folder of the data, kept from one run to the next")
	flags.StringVar(&o.program, "program", "bin/ropewalk", "the program to measure")
	flags.IntVar(&o.rounds, "rounds", 5, "rounds of each comparison, taken by turns")
	flags.StringVar(&o.only, "only", "", "measure only parts whose name holds this")
	flags.StringVar(&o.write, "write", "", "put the figures into this document")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if o.size != 1 && o.size != 10 && o.size != 100 {
		return fmt.Errorf("size is %d; it may be 1, 10 or 100", o.size)
	}
	b := &bench{options: o, say: func(format string, args ...any) { fmt.Fprintf(stderr, "bench: "+format+"\n", args...) }}
	return b.run(ctx, stdout)
}

// A bench is one run.
type bench struct {
	options
	say     func(format string, args ...any)
	cluster *localpg.Cluster
	dbs     []Database // by size, the one asked for last
	rows    []Row
	curves  []curve
	costs   costs
	year    string // what one gym comes to
}

func (b *bench) run(ctx context.Context, stdout io.Writer) error {
	var err error
	b.cluster, err = localpg.Start(ctx, localpg.Options{Dir: filepath.Join(b.folder, "postgres"), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	defer func() { _ = b.cluster.Stop() }() // its log says what went wrong
	for _, size := range []int{1, 10, 100} {
		if size > b.size {
			break
		}
		db, err := Prepare(ctx, b.cluster, size, b.say)
		if err != nil {
			return err
		}
		b.dbs = append(b.dbs, db)
	}
	for _, part := range []struct {
		name    string
		measure func(context.Context) error
	}{
		{"pages", b.pages}, {"memory", b.memory}, {"saving", b.saving}, {"planning", b.planning}, {"growth", b.growth},
		{"starts", b.starts}, {"solver", b.solver}, {"reports", b.reports}, {"science", b.science}, {"cost", b.cost},
	} {
		if !strings.Contains(part.name, b.only) {
			continue
		}
		b.say("measuring: %s", part.name)
		if err := part.measure(ctx); err != nil {
			return fmt.Errorf("%s: %w", part.name, err)
		}
	}
	if b.write != "" {
		if err := b.document(b.write); err != nil {
			return err
		}
	}
	return printTable(stdout, b.rows)
}

// db is the database of the size asked for.
func (b *bench) db() Database { return b.dbs[len(b.dbs)-1] }
