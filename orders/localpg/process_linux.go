package localpg

import (
	"fmt"
	"os"
	"strconv"
	"syscall"
)

// attributes puts the child in a process group of its own, so that an interrupt
// typed at the terminal reaches it through Stop only, and has the kernel ask it
// to shut down when the thread that started it ends.
func attributes() *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGINT}
}

// descriptorPaths reports whether open descriptors can be named as paths.
func descriptorPaths() bool {
	_, err := os.Stat("/proc/self/fd")
	return err == nil
}

func descriptorPath(fd int) string { return fmt.Sprintf("/proc/self/fd/%d", fd) }

// servesData reports whether the process is a server on the data directory:
// PostgreSQL makes that its working directory. An unreadable entry belongs to
// a process that is gone or another user's, so it is none of ours.
func servesData(pid int, data os.FileInfo) bool {
	cwd, err := os.Stat("/proc/" + strconv.Itoa(pid) + "/cwd")
	return err == nil && os.SameFile(cwd, data)
}
