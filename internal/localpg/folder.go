package localpg

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"

	"ropewalk.example/internal/problem"
)

// A server's folder holds
//
//	lock        held while a server runs; tells the holder's process id
//	password    the superuser's password, for the owner's eyes only
//	server.log  what the server had to say
//	data/       PostgreSQL's own files

// makeFolder makes the server's folder and returns its one true path.
func makeFolder(dir string) (string, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", fmt.Errorf("data folder %s: %w", dir, err)
	}
	// Others may pass through, to the folder of the server's account, but see nothing.
	if err := os.MkdirAll(abs, 0o711); err != nil {
		return "", problem.Wrap(err, problem.Invalid, "The data folder %s cannot be made here. Choose another one with ROPEWALK_DATA.", abs)
	}
	return filepath.EvalSymlinks(abs)
}

// lockFolder makes sure that one program at a time works on dir. The system
// drops the lock when that program ends, however it ends.
func lockFolder(dir string) (*os.File, error) {
	path := filepath.Join(dir, "lock")
	lock, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, problem.Wrap(err, problem.Invalid, "This account may not write to the data folder %s. Choose another one with ROPEWALK_DATA.", dir)
	}
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		holder, _ := os.ReadFile(path)
		lock.Close()
		if !errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fmt.Errorf("locking %s: %w", path, err)
		}
		return nil, problem.New(problem.Conflict, "The folder %s is in use by another ropewalk (process %s). "+
			"Stop that one first, or choose another folder with ROPEWALK_DATA.", dir, strings.TrimSpace(string(holder)))
	}
	if err := errors.Join(lock.Truncate(0), writeAt(lock, strconv.Itoa(os.Getpid())+"\n")); err != nil {
		lock.Close()
		return nil, fmt.Errorf("writing %s: %w", path, err)
	}
	return lock, nil
}

func writeAt(f *os.File, text string) error {
	_, err := f.WriteAt([]byte(text), 0)
	return err
}

// dataMajor returns the major version that made the data, 0 if there is none yet.
func dataMajor(data string) (int, error) {
	text, err := os.ReadFile(filepath.Join(data, "PG_VERSION"))
	if errors.Is(err, fs.ErrNotExist) {
		if _, err := os.Stat(data); err == nil {
			return 0, problem.New(problem.Invalid, "The folder %s is not a PostgreSQL database: it has no PG_VERSION. "+
				"Put the right folder in its place, or move it away to start anew.", data)
		}
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("reading the version of the data: %w", err)
	}
	major, _, _ := strings.Cut(strings.TrimSpace(string(text)), ".") // before 10, a major version had two numbers
	n, err := strconv.Atoi(major)
	if err != nil {
		return 0, fmt.Errorf("version of the data in %s: %w", data, err)
	}
	return n, nil
}

// initialise makes the database. It works beside data and renames at the end,
// so that an interrupted first start leaves nothing that looks like data.
func (c *Cluster) initialise(ctx context.Context) error {
	work := filepath.Join(c.dir, "data.unfinished")
	if err := errors.Join(os.RemoveAll(work), os.Mkdir(work, 0o700), c.account.own(work)); err != nil {
		return fmt.Errorf("making the database folder: %w", err)
	}
	password := rand.Text()
	if err := os.WriteFile(filepath.Join(c.dir, "password"), []byte(password+"\n"), 0o600); err != nil {
		return fmt.Errorf("writing the database password: %w", err)
	}
	secret := filepath.Join(c.sockets, "password") // a copy that the server's account may read
	if err := errors.Join(os.WriteFile(secret, []byte(password), 0o600), c.account.own(secret)); err != nil {
		return fmt.Errorf("handing over the database password: %w", err)
	}
	defer os.Remove(secret)

	folder, err := os.Open(work)
	if err != nil {
		return fmt.Errorf("opening the database folder: %w", err)
	}
	defer folder.Close()
	args := []string{"--username=" + superuser, "--pwfile=" + secret, "--auth=scram-sha-256",
		"--encoding=UTF8", "--locale=" + locale(), "--data-checksums"}
	if c.throwaway {
		args = append(args, "--no-sync")
	}
	cmd := c.command(ctx, "initdb", folder, args...)
	if out, err := cmd.CombinedOutput(); err != nil {
		return problem.Wrap(err, problem.Unavailable, "No database could be made in %s: %s", c.dir, lastLine(string(out)))
	}
	if err := os.Rename(work, c.data()); err != nil {
		return fmt.Errorf("finishing the database folder: %w", err)
	}
	return nil
}

// locale sorts by code point everywhere; people's order is made in the program.
func locale() string {
	if runtime.GOOS == "linux" {
		return "C.UTF-8"
	}
	return "C" // other systems lack the former
}

func readPassword(dir string) (string, error) {
	path := filepath.Join(dir, "password")
	text, err := os.ReadFile(path)
	if err != nil {
		return "", problem.Wrap(err, problem.Unavailable, "The file %s with the database's password cannot be read. Put it back from a backup.", path)
	}
	return strings.TrimSpace(string(text)), nil
}

// socketFolder returns the private folder of the server's socket. A socket's
// path may have about 100 bytes, so it cannot lie in the data folder. Under root
// the server's account must reach it, which another TMPDIR may not allow.
func socketFolder(dir string) string {
	name := fmt.Sprintf("ropewalk-%x", sha256.Sum256([]byte(dir)))[:len("ropewalk-")+12]
	if path := filepath.Join(os.TempDir(), name); len(path) < 80 && os.Geteuid() != 0 {
		return path
	}
	return filepath.Join("/tmp", name)
}

// makeSocketFolder makes the folder of the socket.
func makeSocketFolder(dir string, owner account) (string, error) {
	path := socketFolder(dir)
	err := os.Mkdir(path, 0o700)
	if errors.Is(err, fs.ErrExist) { // left by a run that was killed, or laid as a trap
		info, lstatErr := os.Lstat(path)
		if lstatErr != nil {
			return "", fmt.Errorf("folder of the database socket: %w", lstatErr)
		}
		uid, _ := ownerOf(info)
		if !info.IsDir() || uid != owner.uid && int(uid) != os.Geteuid() {
			return "", problem.New(problem.Conflict, "The folder %s is somebody else's, but the database needs it. Remove it.", path)
		}
		err = os.Chmod(path, 0o700)
	}
	if err := errors.Join(err, owner.own(path)); err != nil {
		return "", fmt.Errorf("folder of the database socket: %w", err)
	}
	return path, nil
}

// openLog opens the server's log, having put an overgrown one aside.
func openLog(path string) (*os.File, error) {
	const grown = 10 << 20
	if info, err := os.Stat(path); err == nil && info.Size() > grown {
		if err := os.Rename(path, path+".old"); err != nil {
			return nil, fmt.Errorf("putting the old database log aside: %w", err)
		}
	}
	log, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("opening the database log: %w", err)
	}
	return log, nil
}

// complaint returns why the server ended, from the part of its log that begins at from.
func complaint(path string, from int64) string {
	text, err := os.ReadFile(path)
	if err != nil || int64(len(text)) <= from {
		return "it left no word why."
	}
	lines := strings.Split(string(text[from:]), "\n")
	for _, line := range lines {
		if _, reason, found := strings.Cut(line, "FATAL:"); found {
			return strings.TrimSpace(reason)
		}
	}
	return lastLine(string(text[from:]))
}

func lastLine(text string) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return lines[len(lines)-1]
}
