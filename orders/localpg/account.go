package localpg

import (
	"errors"
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
)

// account is the user the server runs as.
type account struct {
	name     string
	uid, gid uint32
	stepDown bool // the caller is root and must become this user first
}

// chooseAccount decides whom to run as, given what data exists.
// Data decides over a default, so that a cluster made by a normal user keeps
// its owner when root starts it.
func chooseAccount(name, dataPath string, found cluster) (account, error) {
	acc, err := candidate(name, found)
	if err != nil {
		return account{}, err
	}
	if found.exists() && found.uid != acc.uid {
		return account{}, fmt.Errorf("%w: %s belongs to %s, but PostgreSQL would run as %s; start ripeline as that user, or run: chown -R %s %s",
			ErrOwner, dataPath, userName(found.uid), acc.name, acc.name, filepath.Dir(dataPath))
	}
	return acc, nil
}

// candidate picks the user by who calls and what is configured.
func candidate(name string, found cluster) (account, error) {
	if uid := os.Geteuid(); uid != 0 {
		return account{name: userName(uint32(uid)), uid: uint32(uid), gid: uint32(os.Getegid())}, nil
	}
	if name != "" {
		return lookUp(name)
	}
	if found.exists() && found.uid != 0 {
		return account{name: userName(found.uid), uid: found.uid, gid: found.gid, stepDown: true}, nil
	}
	for _, usual := range []string{"postgres", "nobody"} {
		if acc, err := lookUp(usual); err == nil {
			return acc, nil
		}
	}
	return account{}, fmt.Errorf("%w: PostgreSQL refuses to run as root, and there is neither a user \"postgres\" nor \"nobody\"; start ripeline as a normal user", ErrUser)
}

// lookUp finds the named unprivileged user to step down to.
func lookUp(name string) (account, error) {
	u, err := user.Lookup(name)
	if err != nil {
		return account{}, fmt.Errorf("%w: look up user %q: %w; name an existing user", ErrUser, name, err)
	}
	uid, uidErr := strconv.ParseUint(u.Uid, 10, 32)
	gid, gidErr := strconv.ParseUint(u.Gid, 10, 32)
	if err := errors.Join(uidErr, gidErr); err != nil {
		return account{}, fmt.Errorf("%w: user %q: %w", ErrUser, name, err)
	}
	if uid == 0 {
		return account{}, fmt.Errorf("%w: user %q is root, as which PostgreSQL refuses to run; name another", ErrUser, name)
	}
	return account{name: name, uid: uint32(uid), gid: uint32(gid), stepDown: true}, nil
}

// userName returns the name of a user, or the number when it has none.
func userName(uid uint32) string {
	number := strconv.FormatUint(uint64(uid), 10)
	if u, err := user.LookupId(number); err == nil {
		return u.Username
	}
	return number
}

// reaches reports whether the account may walk from the root of the file
// system to dir, by owner, group and mode of each directory above it. Access
// lists are not looked at: a wrong "no" costs a detour, nothing more.
func (a account) reaches(dir string) (bool, error) {
	if !a.stepDown {
		return true, nil
	}
	for parent := filepath.Dir(dir); ; parent = filepath.Dir(parent) {
		info, err := os.Stat(parent)
		if err != nil {
			return false, err
		}
		if !a.mayEnter(info) {
			return false, nil
		}
		if parent == filepath.Dir(parent) {
			return true, nil
		}
	}
}

// mayEnter reports whether the mode of a directory lets the account through.
func (a account) mayEnter(info os.FileInfo) bool {
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return false
	}
	switch {
	case stat.Uid == a.uid:
		return info.Mode().Perm()&0o100 != 0
	case stat.Gid == a.gid:
		return info.Mode().Perm()&0o010 != 0
	default:
		return info.Mode().Perm()&0o001 != 0
	}
}
