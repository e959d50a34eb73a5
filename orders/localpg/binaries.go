package localpg

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// oldestMajor is the first version with everything the schema and the tests
// use; CREATE DATABASE ... STRATEGY came with 15.
const oldestMajor = 15

// installation is a directory with the programs postgres and initdb.
type installation struct {
	dir   string
	major int
}

// binaryGlobs are the places packagers put the programs: Debian and its kin,
// the Red Hat family, Homebrew on Apple and on Intel processors.
func binaryGlobs() []string {
	return []string{
		"/usr/lib/postgresql/*/bin",
		"/usr/pgsql-*/bin",
		"/opt/homebrew/opt/postgresql*/bin",
		"/usr/local/opt/postgresql*/bin",
	}
}

// findInstallation picks the programs: those in dir when it is given, else the
// ones that suit the existing data, else the newest on the machine.
func findInstallation(ctx context.Context, dir string, found cluster) (installation, error) {
	dirs := []string{dir}
	if dir == "" {
		var err error
		if dirs, err = searchDirs(); err != nil {
			return installation{}, err
		}
	}
	usable, unfit := examine(ctx, dirs)
	if len(usable) == 0 {
		return installation{}, noBinaries(dir, unfit)
	}
	best := slices.MaxFunc(usable, func(a, b installation) int { return a.major - b.major })
	if !found.exists() || found.major == best.major {
		return best, nil
	}
	if i := slices.IndexFunc(usable, func(in installation) bool { return in.major == found.major }); i >= 0 {
		return usable[i], nil
	}
	return installation{}, wrongVersion(found.major, best.major)
}

// searchDirs lists the directories to look in.
func searchDirs() ([]string, error) {
	var dirs []string
	for _, glob := range binaryGlobs() {
		matches, err := filepath.Glob(glob)
		if err != nil {
			return nil, fmt.Errorf("search %s: %w", glob, err)
		}
		dirs = append(dirs, matches...)
	}
	return append(dirs, filepath.SplitList(os.Getenv("PATH"))...), nil
}

// examine keeps the directories that hold a complete PostgreSQL, new enough,
// and tells why it left out others that hold one.
func examine(ctx context.Context, dirs []string) (usable []installation, unfit []string) {
	for _, dir := range dirs {
		if !executable(filepath.Join(dir, "initdb")) || !executable(filepath.Join(dir, "postgres")) {
			continue
		}
		major, err := askVersion(ctx, dir)
		switch {
		case err != nil:
			unfit = append(unfit, fmt.Sprintf("%s does not tell its version: %v", dir, err))
		case major < oldestMajor:
			unfit = append(unfit, fmt.Sprintf("%s has only version %d", dir, major))
		default:
			usable = append(usable, installation{dir: dir, major: major})
		}
	}
	return usable, unfit
}

// executable reports whether path is an absolute one to a program. Relative
// entries of PATH are no place to take a server from.
func executable(path string) bool {
	info, err := os.Stat(path)
	return filepath.IsAbs(path) && err == nil && info.Mode().IsRegular() && info.Mode().Perm()&0o111 != 0
}

// askVersion runs postgres --version, which answers even to root.
func askVersion(ctx context.Context, dir string) (int, error) {
	out, err := exec.CommandContext(ctx, filepath.Join(dir, "postgres"), "--version").Output()
	if err != nil {
		return 0, err
	}
	return parseVersion(string(out))
}

// parseVersion takes the major version from a line like
// "postgres (PostgreSQL) 15.8 (Debian ...)" or "postgres (PostgreSQL) 18beta1".
func parseVersion(line string) (int, error) {
	_, rest, _ := strings.Cut(line, ") ")
	end := strings.IndexFunc(rest, func(r rune) bool { return r < '0' || r > '9' })
	if end < 0 {
		end = len(rest)
	}
	major, err := strconv.Atoi(rest[:end])
	if err != nil {
		return 0, fmt.Errorf("no version in %q: %w", line, err)
	}
	return major, nil
}

func noBinaries(dir string, unfit []string) error {
	where := strings.Join(binaryGlobs(), ", ") + " and PATH"
	if dir != "" {
		where = dir
	}
	if len(unfit) > 0 {
		where += " (" + strings.Join(unfit, "; ") + ")"
	}
	return fmt.Errorf("%w: no postgres and initdb of version %d or later in %s; install the package \"postgresql\" (Debian, Ubuntu: apt-get install postgresql; Homebrew: brew install postgresql), or set DATABASE_URL to a server of your own",
		ErrNoBinaries, oldestMajor, where)
}

func wrongVersion(data, programs int) error {
	return fmt.Errorf("%w: it was written by PostgreSQL %d, but version %d is installed; install version %d again (Debian, Ubuntu: apt-get install postgresql-%d), or restore a backup into an empty data directory",
		ErrVersion, data, programs, data, data)
}
