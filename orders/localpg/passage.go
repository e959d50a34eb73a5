package localpg

import (
	"errors"
	"fmt"
	"os"
)

// passage lets a server that steps down from root get at directories below
// parents it may not enter, such as root's own home: they are opened while we
// are still root and handed over as file descriptors, by which the system lets
// a process reach what a path would not. The zero value is ready for use.
type passage struct {
	files []*os.File
}

// firstExtraFD is the descriptor that a child's first extra file gets.
const firstExtraFD = 3

// admit returns the path by which a child run as acc reaches dir.
func (p *passage) admit(acc account, dir string) (string, error) {
	ok, err := acc.reaches(dir)
	if err != nil {
		return "", fmt.Errorf("look at the parents of %s: %w", dir, err)
	}
	if ok {
		return dir, nil
	}
	if !descriptorPaths() {
		return "", fmt.Errorf("%w: user %s may not enter a parent of %s; give passage with chmod o+x on the parents, or choose a data directory elsewhere",
			ErrUnreachable, acc.name, dir)
	}
	f, err := os.Open(dir)
	if err != nil {
		return "", fmt.Errorf("open %s for user %s: %w", dir, acc.name, err)
	}
	p.files = append(p.files, f)
	return descriptorPath(firstExtraFD + len(p.files) - 1), nil
}

// close releases this process's copies; a started child keeps its own.
func (p *passage) close() error {
	errs := make([]error, 0, len(p.files))
	for _, f := range p.files {
		errs = append(errs, f.Close())
	}
	return errors.Join(errs...)
}
