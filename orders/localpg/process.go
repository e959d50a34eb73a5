package localpg

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"time"
)

// pipeGrace is how long after the end of a process its children may keep the
// log open before it is read no further.
const pipeGrace = 5 * time.Second

// launch starts the server process and watches over it. On success the server
// owns the home and lets it go when the process ends.
func launch(h *home, inst installation, acc account, cfg Config) (*Server, error) {
	socketDir, err := h.makeSocketDir(acc)
	if err != nil {
		return nil, err
	}
	tail := &lineLog{log: cfg.Log}
	cmd, via, err := serverCommand(h, inst, acc, socketDir, cfg.Fast)
	if err != nil {
		return nil, errors.Join(err, via.close())
	}
	cmd.Stdout, cmd.Stderr = tail, tail
	started, ended := startLocked(cmd)
	if err := errors.Join(<-started, via.close()); err != nil {
		return nil, fmt.Errorf("run %s as user %s: %w", cmd.Path, acc.name, err)
	}
	s := &Server{socketDir: socketDir, home: h, tail: tail, process: cmd.Process, done: make(chan struct{})}
	go s.watch(ended, h.note(cmd.Process.Pid, socketDir))
	return s, nil
}

// watch waits for the process to end and lets its directory go. noted is how
// writing the lock file went, which matters only for tidying up after a crash.
func (s *Server) watch(ended <-chan error, noted error) {
	err := <-ended
	if err != nil || !s.stopping.Load() {
		err = fmt.Errorf("%w: %s; its last words: %s", ErrDied, exitText(err), s.tail.last())
	}
	s.err = errors.Join(err, noted, s.removeSocketDir(), s.home.close())
	close(s.done)
}

// exitText describes how the process ended.
func exitText(err error) string {
	if err == nil {
		return "shut down by someone else"
	}
	return err.Error()
}

// serverCommand builds the command line. Settings that keep the server private
// are given here rather than in a file, so that no edited file undoes them.
func serverCommand(h *home, inst installation, acc account, socketDir string, fast bool) (*exec.Cmd, passage, error) {
	var via passage
	data, err := via.admit(acc, h.dataPath())
	if err != nil {
		return nil, via, err
	}
	socket, err := via.admit(acc, socketDir)
	if err != nil {
		return nil, via, err
	}
	args := []string{"-D", data}
	for _, setting := range settings(socket, fast) {
		args = append(args, "-c", setting)
	}
	//nolint:noctx // the server outlives the context of its start; Stop ends it
	cmd := exec.Command(filepath.Join(inst.dir, "postgres"), args...)
	confine(cmd, acc, via)
	return cmd, via, nil
}

// settings returns the server's parameters, "name=value" each. Statements are
// kept out of the log because they carry customers' data.
func settings(socketDir string, fast bool) []string {
	quoted := `"` + strings.ReplaceAll(socketDir, `"`, `""`) + `"`
	list := []string{
		"listen_addresses=",
		"unix_socket_directories=" + quoted,
		"unix_socket_permissions=0700",
		"port=" + port,
		"ssl=off",
		"timezone=UTC",
		"log_timezone=UTC",
		"lc_messages=C",
		"logging_collector=off",
		"log_destination=stderr",
		"log_line_prefix=",
		"log_min_error_statement=panic",
	}
	if fast {
		list = append(list, "fsync=off", "full_page_writes=off", "max_connections=300")
	}
	return list
}

// confine gives a command its user, its descriptors and a small environment:
// the caller's PG* variables and locale must not leak into the server. The
// working directory is one that every user may stand in.
func confine(cmd *exec.Cmd, acc account, via passage) {
	cmd.Dir = "/"
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "LC_ALL=C", "TZ=UTC"}
	cmd.ExtraFiles = via.files
	cmd.WaitDelay = pipeGrace
	cmd.SysProcAttr = attributes()
	if acc.stepDown {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: acc.uid, Gid: acc.gid}
	}
}

// startLocked starts the command on a thread of its own that lives until the
// command has ended: Linux sends the signal on the parent's death when the
// starting thread ends, and Go may end a thread long before the process.
func startLocked(cmd *exec.Cmd) (started, ended <-chan error) {
	start, end := make(chan error, 1), make(chan error, 1)
	go func() {
		runtime.LockOSThread() // never unlocked: the thread ends with this goroutine
		if err := cmd.Start(); err != nil {
			start <- err
			return
		}
		start <- nil
		end <- cmd.Wait()
	}()
	return start, end
}

// runLocked is startLocked for a command whose end is all that matters.
func runLocked(cmd *exec.Cmd) <-chan error {
	result := make(chan error, 1)
	started, ended := startLocked(cmd)
	go func() {
		if err := <-started; err != nil {
			result <- err
			return
		}
		result <- <-ended
	}()
	return result
}
