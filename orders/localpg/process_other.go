//go:build !linux

package localpg

import (
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
)

// attributes puts the child in a process group of its own, so that an interrupt
// typed at the terminal reaches it through Stop only. There is no signal on the
// parent's death here: the next Start ends an orphan.
func attributes() *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Setpgid: true}
}

// descriptorPaths reports whether open descriptors can be named as paths.
func descriptorPaths() bool { return false }

func descriptorPath(int) string { return "" }

// servesData reports whether the process is a PostgreSQL server. Which
// directory it serves can not be asked for here, so any server counts.
func servesData(pid int, _ os.FileInfo) bool {
	out, err := exec.Command("ps", "-o", "comm=", "-p", strconv.Itoa(pid)).Output()
	return err == nil && strings.Contains(string(out), "postgres")
}
