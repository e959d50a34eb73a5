package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// initialise builds a new cluster. It takes its real name only when complete.
func (h *home) initialise(ctx context.Context, inst installation, acc account, fast bool) error {
	if err := h.build(ctx, inst, acc, fast); err != nil {
		return errors.Join(err, h.root.RemoveAll(freshName))
	}
	if err := h.root.Rename(freshName, dataName); err != nil {
		return fmt.Errorf("name the new cluster: %w", err)
	}
	return nil
}

// build runs initdb with the C.UTF-8 locale, which sorts the same everywhere,
// or with C on systems that lack it; UTF-8 is the encoding either way.
func (h *home) build(ctx context.Context, inst installation, acc account, fast bool) error {
	var failures []error
	for _, locale := range []string{"C.UTF-8", "C"} {
		if err := freshPrivate(h.root, freshName, acc); err != nil {
			return err
		}
		err := h.initdb(ctx, inst, acc, locale, fast)
		if err == nil {
			return nil
		}
		failures = append(failures, err)
		if ctx.Err() != nil {
			break
		}
	}
	return errors.Join(failures...)
}

// initdb runs the program of that name on the fresh directory.
func (h *home) initdb(ctx context.Context, inst installation, acc account, locale string, fast bool) error {
	var via passage
	target, err := via.admit(acc, filepath.Join(h.path, freshName))
	if err != nil {
		return errors.Join(err, via.close())
	}
	args := []string{"-D", target, "-U", AdminRole, "-E", "UTF8", "--locale=" + locale, "--auth-local=trust", "--auth-host=reject", "--no-instructions"}
	if fast {
		args = append(args, "--no-sync")
	}
	var output strings.Builder
	cmd := exec.CommandContext(ctx, filepath.Join(inst.dir, "initdb"), args...)
	confine(cmd, acc, via)
	cmd.Stdout, cmd.Stderr = &output, &output
	err = errors.Join(<-runLocked(cmd), via.close())
	if err != nil {
		return fmt.Errorf("initdb with locale %s as user %s: %w: %s", locale, acc.name, err, lastLines(output.String(), 5))
	}
	return nil
}

// freshPrivate makes an empty directory that only the account may enter,
// removing what has the name.
func freshPrivate(root *os.Root, name string, acc account) error {
	if err := root.RemoveAll(name); err != nil {
		return fmt.Errorf("clear %s: %w", name, err)
	}
	if err := root.Mkdir(name, 0o700); err != nil {
		return fmt.Errorf("make %s: %w", name, err)
	}
	if !acc.stepDown {
		return nil
	}
	return root.Lchown(name, int(acc.uid), int(acc.gid))
}

// lastLines returns the last n lines of a text, joined for use in an error.
func lastLines(text string, n int) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return strings.Join(lines[max(0, len(lines)-n):], " | ")
}
