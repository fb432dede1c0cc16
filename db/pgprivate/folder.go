//go:build unix

package pgprivate

import (
	"errors"
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// ErrInUse says that another live process runs its server in the data folder.
var ErrInUse = errors.New("data folder is in use")

// ErrBarred says that the account of the server cannot reach the data folder.
var ErrBarred = errors.New("data folder out of reach")

// CheckReach returns ErrBarred, wrapped, if the account that would run the server
// cannot reach a data folder. The folder need not exist.
func CheckReach(dir string) error {
	as, err := unprivileged("")
	if err != nil || as == nil {
		return err
	}
	if dir, err = filepath.Abs(dir); err != nil {
		return fmt.Errorf("private Postgres: data folder: %w", err)
	}
	// Start creates what is missing so that the account may enter.
	for {
		_, err := os.Stat(dir)
		if !errors.Is(err, os.ErrNotExist) || dir == filepath.Dir(dir) {
			break
		}
		dir = filepath.Dir(dir)
	}
	if dir, err = filepath.EvalSymlinks(dir); err != nil {
		return fmt.Errorf("private Postgres: data folder: %w", err)
	}
	if parent := as.barred(dir); parent != "" {
		return fmt.Errorf("private Postgres: %w: account %q cannot enter %s", ErrBarred, as.name, parent)
	}
	return nil
}

// openFolder creates the data folder and checks that the account can reach it.
func openFolder(dir string, as *account) (folder, error) {
	if dir == "" {
		return "", errors.New("private Postgres: no data folder given")
	}
	mode := os.FileMode(0o700)
	if as != nil {
		mode = 0o711 // the account may enter, but not list it
	}
	if err := os.MkdirAll(dir, mode); err != nil {
		return "", fmt.Errorf("private Postgres: data folder: %w", err)
	}
	if err := os.Chmod(dir, mode); err != nil {
		return "", fmt.Errorf("private Postgres: data folder: %w", err)
	}
	f, err := resolve(dir)
	if err != nil {
		return "", err
	}
	if parent := as.barred(string(f)); parent != "" {
		return "", fmt.Errorf("private Postgres: %w: account %q cannot enter %s, and Postgres does not run as root: "+
			"choose a data folder outside it, or run as a user other than root", ErrBarred, as.name, parent)
	}
	return f, nil
}

// resolve returns the full name of a folder, by which a running server is
// recognised.
func resolve(dir string) (folder, error) {
	dir, err := filepath.Abs(dir)
	if err == nil {
		dir, err = filepath.EvalSymlinks(dir)
	}
	if err != nil {
		return "", fmt.Errorf("private Postgres: data folder: %w", err)
	}
	return folder(dir), nil
}

// lock locks the folder for this process. The kernel releases the lock when the
// process ends.
func (f folder) lock() (*os.File, error) {
	file, err := os.OpenFile(f.lockFile(), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("private Postgres: %w", err)
	}
	if err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		holder, _ := os.ReadFile(f.lockFile())
		file.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fmt.Errorf("private Postgres: %s: %w by process %s", f, ErrInUse, strings.TrimSpace(string(holder)))
		}
		return nil, fmt.Errorf("private Postgres: lock %s: %w", f, err)
	}
	_ = file.Truncate(0)
	_, _ = file.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0) // only for the message above
	return file, nil
}

// account is the account of the server if we are root.
type account struct {
	name     string
	uid, gid uint32
}

// unprivileged returns the account, nil if we are not root.
func unprivileged(name string) (*account, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	names := []string{"postgres", "nobody"}
	if name != "" {
		names = []string{name}
	}
	for _, name := range names {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, errU := strconv.ParseUint(u.Uid, 10, 32)
		gid, errG := strconv.ParseUint(u.Gid, 10, 32)
		if errU == nil && errG == nil && uid != 0 {
			return &account{name: name, uid: uint32(uid), gid: uint32(gid)}, nil
		}
	}
	return nil, fmt.Errorf("private Postgres: Postgres does not run as root, and there is no unprivileged account %s "+
		"to run it as",
		strings.Join(names, " or "))
}

// mayEnter reports whether the account may pass through the folder, going by
// owner, group and mode; supplementary groups are dropped with the rest.
func (a *account) mayEnter(dir string) bool {
	info, err := os.Stat(dir)
	if err != nil {
		return false
	}
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return true
	}
	switch {
	case st.Uid == a.uid:
		return info.Mode()&0o100 != 0
	case st.Gid == a.gid:
		return info.Mode()&0o010 != 0
	}
	return info.Mode()&0o001 != 0
}

// barred returns the innermost folder of a path that the account may not pass
// through, "" if it may pass through all. A nil account may.
func (a *account) barred(path string) string {
	for a != nil {
		if !a.mayEnter(path) {
			return path
		}
		if path == filepath.Dir(path) {
			break
		}
		path = filepath.Dir(path)
	}
	return ""
}

// give changes the owner of a file to the account; a nil account changes nothing.
func (a *account) give(path string) error {
	if a == nil {
		return nil
	}
	return os.Chown(path, int(a.uid), int(a.gid))
}

// attributes returns the attributes of a child process of the account, in its own
// process group so that it gets no signal from the terminal.
func (a *account) attributes() *syscall.SysProcAttr {
	attr := &syscall.SysProcAttr{Setpgid: true}
	if a != nil {
		attr.Credential = &syscall.Credential{Uid: a.uid, Gid: a.gid}
	}
	return attr
}
