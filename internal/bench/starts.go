package bench

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
	"time"
)

// starts compares the way to the first page with what the database alone takes.
func (b *bench) starts(ctx context.Context) error {
	var first, initdb, next, pgctl []float64
	for range b.rounds {
		own, err := os.MkdirTemp(b.folder, "start-")
		if err != nil {
			return fmt.Errorf("making a data folder: %w", err)
		}
		defer os.RemoveAll(own)
		for _, into := range []*[]float64{&first, &next} {
			s, err := startSite(ctx, b.program, own)
			if err != nil {
				return err
			}
			*into = append(*into, s.took.Seconds())
			s.stop()
		}
		made, started, err := b.bareStart(ctx)
		if err != nil {
			return err
		}
		initdb, pgctl = append(initdb, made.Seconds()), append(pgctl, started.Seconds())
	}
	for _, row := range []struct {
		work         string
		ours, theirs []float64
		most         float64
	}{{"first start, empty folder, to the first page", first, initdb, 1.5}, {"next start to the first page", next, pgctl, 0.5}} {
		over := make([]float64, len(row.ours))
		for i := range over {
			over[i] = row.ours[i] - row.theirs[i]
		}
		b.rows = append(b.rows, Row{Work: row.work, Ours: fmt.Sprintf("%.2f s", median(row.ours)), Baseline: fmt.Sprintf("%.2f s", median(row.theirs)),
			Spread: fmt.Sprintf("+%.2f s; ", median(over)) + spread(over), Goal: fmt.Sprintf("+ ≤ %.1f s", row.most), Met: median(over) <= row.most,
			Remark: "baseline: initdb, or pg_ctl start, alone"})
	}
	return nil
}

// bareStart times initdb and pg_ctl start in a folder of their own.
func (b *bench) bareStart(ctx context.Context) (made, started time.Duration, err error) {
	dir, err := os.MkdirTemp("/tmp", "bench-") // the server's account must reach it
	if err != nil {
		return 0, 0, fmt.Errorf("making a database folder: %w", err)
	}
	defer os.RemoveAll(dir)
	account, err := serverAccount(dir)
	if err != nil {
		return 0, 0, err
	}
	data := filepath.Join(dir, "data")
	call := func(program string, args ...string) (time.Duration, error) {
		cmd := exec.CommandContext(ctx, filepath.Join(b.cluster.Programs().Dir, program), args...)
		cmd.Dir, cmd.SysProcAttr = "/", account
		began := time.Now()
		if err := cmd.Run(); err != nil {
			return 0, fmt.Errorf("%s: %w", program, err)
		}
		return time.Since(began), nil
	}
	if made, err = call("initdb", "-D", data, "--username=postgres", "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8", "--data-checksums"); err != nil {
		return 0, 0, err
	}
	log := filepath.Join(dir, "log")
	if started, err = call("pg_ctl", "-D", data, "-l", log, "-w", "-o", "-c listen_addresses= -k "+dir, "start"); err != nil {
		return 0, 0, err
	}
	_, err = call("pg_ctl", "-D", data, "-m", "fast", "stop")
	return made, started, err
}

// serverAccount is who runs the database server: PostgreSQL refuses root. The
// folder is given to that account.
func serverAccount(dir string) (*syscall.SysProcAttr, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	account, err := user.Lookup("postgres")
	if err != nil {
		return nil, fmt.Errorf("finding the account postgres: %w", err)
	}
	uid, err := strconv.Atoi(account.Uid)
	if err != nil {
		return nil, fmt.Errorf("account postgres: %w", err)
	}
	gid, err := strconv.Atoi(account.Gid)
	if err != nil {
		return nil, fmt.Errorf("account postgres: %w", err)
	}
	if err := os.Chown(dir, uid, gid); err != nil {
		return nil, fmt.Errorf("giving away a folder: %w", err)
	}
	return &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}, nil
}
