package backup

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/localpg"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// tools are PostgreSQL's programs for backups.
type tools struct {
	folder string
	server bool // the programs of a server lie there, too
	log    *slog.Logger
}

const howToGetTools = "Install what Debian calls postgresql or postgresql-client, of the server's version or newer."

// tools finds the programs: those of the private server, or the ones on this
// machine.
func (b *Backups) tools() (tools, error) {
	if b.Programs != nil {
		return tools{folder: b.Programs.Dir, server: true, log: b.Log}, nil
	}
	if found, err := localpg.FindPrograms("", 0); err == nil {
		if _, err := os.Stat(filepath.Join(found.Dir, "pg_dump")); err == nil {
			return tools{folder: found.Dir, server: true, log: b.Log}, nil
		}
	}
	path, err := exec.LookPath("pg_dump")
	if err != nil {
		return tools{}, problem.New(problem.Unavailable, "No backup can be made here: pg_dump is not on this machine. %s", howToGetTools)
	}
	return tools{folder: filepath.Dir(path), log: b.Log}, nil
}

// run runs a program; where it does not succeed, its last words are the error.
func (t tools) run(ctx context.Context, database, program string, args ...string) error {
	address, password := withoutPassword(database)
	cmd := exec.CommandContext(ctx, filepath.Join(t.folder, program), append(args, "--no-password", "--dbname="+address)...)
	cmd.Env = append(os.Environ(), "PGPASSWORD="+password, "LC_ALL=C", "PGCONNECT_TIMEOUT=10")
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("%s: %w: %s", program, err, strings.TrimSpace(said.String()))
	}
	return nil
}

// dump writes the database as it was at a snapshot.
func (t tools) dump(ctx context.Context, database, to, snapshot, role string) error {
	args := []string{"--format=custom", "--compress=1", "--no-owner", "--snapshot=" + snapshot, "--lock-wait-timeout=60s", "--file=" + to}
	if role != "" {
		args = append(args, "--role="+role)
	}
	for _, table := range store.Passing() {
		args = append(args, "--exclude-table-data="+table)
	}
	err := t.run(ctx, database, "pg_dump", args...)
	switch {
	case err == nil:
		return nil
	case strings.Contains(err.Error(), "server version mismatch"):
		return problem.Wrap(err, problem.Unavailable, "No backup can be made: pg_dump on this machine is older than the database server. %s", howToGetTools)
	default:
		return problem.Wrap(err, problem.Unavailable, "The backup could not be made. The details say why; if the disk is full, make room.")
	}
}

// restore reads a dump into a database that is empty, whole or not at all.
func (t tools) restore(ctx context.Context, database, dump string) error {
	return t.run(ctx, database, "pg_restore", "--exit-on-error", "--single-transaction", "--no-owner", dump)
}

// verify proves a dump by restoring it into an empty server of this machine and
// counting what is there. Where no server's programs are, it is only read.
func (t tools) verify(ctx context.Context, work, dump string, counted store.Census) (string, error) {
	if !t.server {
		if err := t.read(ctx, dump); err != nil {
			return "", problem.Wrap(err, problem.Unavailable, "The backup was made but cannot be read again, so it was not kept.")
		}
		return gym.BackupRead, nil
	}
	scratch, err := localpg.Start(ctx, localpg.Options{Dir: filepath.Join(work, "scratch"), Programs: t.folder, Throwaway: true})
	if err != nil {
		return "", fmt.Errorf("starting an empty server to verify the backup: %w", err)
	}
	defer scratch.Stop() // it is thrown away anyway
	address := scratch.URL("postgres")
	if err := store.EnsureRoles(ctx, address, ""); err != nil {
		return "", fmt.Errorf("verifying the backup: %w", err)
	}
	if err := t.restore(ctx, address, dump); err != nil {
		return "", problem.Wrap(err, problem.Unavailable, "The backup was made but could not be restored on trial, so it was not kept.")
	}
	if err := t.compare(ctx, address, counted); err != nil {
		return "", problem.Wrap(err, problem.Unavailable, "The backup was made but holds something else than the database, so it was not kept.")
	}
	return gym.BackupRestored, nil
}

// compare counts a restored database.
func (t tools) compare(ctx context.Context, address string, counted store.Census) error {
	return store.TakeCensus(ctx, address, func(c store.Census, _, _ string) error {
		if wrong := counted.Differences(c); len(wrong) > 0 {
			return errors.New(strings.Join(wrong, ", "))
		}
		return nil
	})
}

// read has pg_restore read a dump to its end.
func (t tools) read(ctx context.Context, dump string) error {
	cmd := exec.CommandContext(ctx, filepath.Join(t.folder, "pg_restore"), "--file=/dev/null", dump)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("pg_restore: %w: %s", err, bytes.TrimSpace(out))
	}
	return nil
}

// passwordWord is the password in an address that is written as keywords.
var passwordWord = regexp.MustCompile(`\bpassword\s*=\s*('(?:[^'\\]|\\.)*'|\S+)`)

// withoutPassword takes the password out of an address, since everybody on the
// machine sees a program's arguments, and what only our own driver knows.
func withoutPassword(address string) (rest, password string) {
	if !strings.Contains(address, "://") {
		if found := passwordWord.FindStringSubmatch(address); found != nil {
			password = strings.NewReplacer(`\'`, `'`, `\\`, `\`).Replace(strings.Trim(found[1], "'"))
		}
		return strings.TrimSpace(passwordWord.ReplaceAllString(address, "")), password
	}
	parsed, err := url.Parse(address)
	if err != nil {
		return address, ""
	}
	if parsed.User != nil {
		password, _ = parsed.User.Password()
		parsed.User = url.User(parsed.User.Username())
	}
	query := parsed.Query()
	for name := range query {
		if strings.HasPrefix(name, "pool_") || strings.HasSuffix(name, "_cache_capacity") || name == "default_query_exec_mode" {
			query.Del(name)
		}
	}
	parsed.RawQuery = query.Encode()
	return parsed.String(), password
}
