// Package app wires the program: settings, database, use cases and server, in
// the order in which they start, and stops them in the opposite one. It imports
// everything it wires; only cmd imports it.
package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"strings"
	"syscall"
	_ "time/tzdata" // a machine without zone files knows the gym's zone, too

	"ropewalk.example/internal/calc"
	"ropewalk.example/internal/config"
	"ropewalk.example/internal/problem"
)

// Exit codes of the commands. calc has its own.
const (
	exitOK    = 0
	exitFault = 1
	exitUsage = 2
)

const usage = `ropewalk helps a coach bring a class to clean double unders.

  ropewalk serve               run the gym's server
  ropewalk work                do the background work alone, beside servers with ROPEWALK_WORK=no
  ropewalk demo                run the invented demo gym
  ropewalk migrate             bring the database's schema up to date
  ropewalk user recover NAME   give an owner a new password, on this machine
  ropewalk user second-factor-off NAME
                               for a lost phone; asked for anew at the next sign-in
  ropewalk backup              make a backup now, also beside a running server
  ropewalk backup key          make a pair of keys to encrypt backups
  ropewalk restore FILE        read a backup into an empty database
  ropewalk health              ask the running server whether it is ready, for container engines
  ropewalk doctor              look whether all is well, and say what to do
  ropewalk version             say which program this is
  ropewalk import FILE         make a gym of all its data, as its owner took it along
  ropewalk calc NAME [FILE]    compute from JSON, without any server

Settings come from the environment; docs/operator.md lists them.
`

// Main runs the command in args and returns the exit code.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		fmt.Fprint(stderr, usage)
		return exitUsage
	}
	if args[0] == "calc" {
		return calc.Main(args[1:], stdin, stdout, stderr)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program at once
	conf, err := config.Load(os.Environ())
	if err != nil {
		return report(stderr, err)
	}
	log := newLog(stderr, slog.LevelInfo)
	switch args[0] {
	case "serve":
		err = serve(ctx, conf, log, stdout)
	case "work":
		err = work(ctx, conf, log, stdout)
	case "demo":
		err = serveDemo(ctx, conf, newLog(stderr, slog.LevelWarn), stdout) // its terminal shows the ways in
	case "migrate":
		err = migrate(ctx, conf, log, stdout)
	case "user":
		err = user(ctx, conf, log, args[1:], stdout)
	case "backup":
		err = makeBackup(ctx, conf, log, args[1:], stdout)
	case "restore":
		err = restore(ctx, conf, log, args[1:], stdout)
	case "health":
		err = health(ctx, conf, stdout)
	case "doctor":
		return doctor(ctx, conf, stdout)
	case "version", "--version":
		fmt.Fprintln(stdout, version())
	case "import":
		err = bringIn(ctx, conf, log, args[1:], stdout)
	case "help", "-h", "--help":
		fmt.Fprint(stdout, usage)
	default:
		fmt.Fprintf(stderr, "There is no command %q.\n\n%s", args[0], usage)
		return exitUsage
	}
	return report(stderr, err)
}

// report writes err as one sentence for people, or as it is where it has none.
func report(stderr io.Writer, err error) int {
	if err == nil || errors.Is(err, context.Canceled) {
		return exitOK
	}
	if e, ok := errors.AsType[*problem.Error](err); ok {
		fmt.Fprintln(stderr, e.Message)
		if e.Err != nil {
			fmt.Fprintln(stderr, "Details:", strings.Join(strings.Fields(e.Err.Error()), " "))
		}
		return exitFault
	}
	fmt.Fprintln(stderr, err)
	return exitFault
}
