package localpg

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"

	"ropewalk.example/internal/problem"
)

// An account runs the server. PostgreSQL refuses to run as root.
type account struct {
	uid, gid uint32
	other    bool // not the account that runs this program
}

// accountFor returns the account that runs the server on data: our own, or,
// under root, the owner of the data, or else postgres or nobody.
func accountFor(data string) (account, error) {
	info, err := os.Stat(data)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return account{}, fmt.Errorf("owner of the data: %w", err)
	}
	exists := err == nil
	var uid, gid uint32
	if exists {
		uid, gid = ownerOf(info)
	}
	self := uint32(os.Geteuid())
	switch {
	case self != 0 && exists && uid != self:
		return account{}, problem.New(problem.Forbidden, "The database in %s belongs to another account (%s). Start ropewalk as that account, "+
			"or give the folder to this one with chown.", filepath.Dir(data), nameOf(uid))
	case self != 0:
		return account{uid: self, gid: uint32(os.Getegid())}, nil
	case exists && uid != 0:
		return account{uid: uid, gid: gid, other: true}, nil
	}
	a, err := serverAccount()
	if err == nil && exists { // copied by root, from a backup for instance
		err = a.ownAll(data)
	}
	return a, err
}

func serverAccount() (account, error) {
	for _, name := range []string{"postgres", "nobody"} {
		if u, err := user.Lookup(name); err == nil {
			uid, uidErr := strconv.ParseUint(u.Uid, 10, 32)
			gid, gidErr := strconv.ParseUint(u.Gid, 10, 32)
			return account{uid: uint32(uid), gid: uint32(gid), other: true}, errors.Join(uidErr, gidErr)
		}
	}
	return account{}, problem.New(problem.Forbidden, "PostgreSQL does not run as root, and this machine has no account postgres or nobody. "+
		"Start ropewalk as an ordinary account.")
}

// own gives path to the account.
func (a account) own(path string) error {
	if !a.other {
		return nil
	}
	return os.Lchown(path, int(a.uid), int(a.gid))
}

func (a account) ownAll(root string) error {
	return filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
		return errors.Join(err, a.own(path))
	})
}

func ownerOf(info fs.FileInfo) (uid, gid uint32) {
	stat := info.Sys().(*syscall.Stat_t) // always, on the systems this package builds for
	return stat.Uid, stat.Gid
}

func nameOf(uid uint32) string {
	id := strconv.FormatUint(uint64(uid), 10)
	if u, err := user.LookupId(id); err == nil {
		return u.Username
	}
	return id
}
