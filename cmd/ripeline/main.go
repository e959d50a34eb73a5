// Command ripeline runs a soap workshop's order book, planner, calendar feeds
// and reminders, as a service with pages and a JSON API.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"
)

// version is set when the binary is built by make.
var version = "unknown"

// exitInfeasible tells a problem that has no plan from a failure.
const exitInfeasible = 3

// cli is the command line; every flag has an environment variable.
type cli struct {
	Serve    serveCmd    `cmd:"" help:"Run the service: pages, API, feeds and reminders."`
	Demo     demoCmd     `cmd:"" help:"Run the service with an invented demo workshop in it."`
	Migrate  migrateCmd  `cmd:"" help:"Bring the database's schema up to date, then stop."`
	Plan     planCmd     `cmd:"" help:"Read one planning problem as JSON, print its plan as JSON."`
	Promise  promiseCmd  `cmd:"" help:"Ask whether an order can be ready by a date. Writes nothing."`
	Workshop workshopCmd `cmd:"" help:"Add a further workshop with its owner."`
	Backup   backupCmd   `cmd:"" help:"Write everything into one file."`
	Restore  restoreCmd  `cmd:"" help:"Read a backup into an empty database."`
	Version  versionCmd  `cmd:"" help:"Print the version."`
}

// streams are where a command reads and writes.
type streams struct {
	in  io.Reader
	out io.Writer
	err io.Writer
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr}); err != nil {
		fmt.Fprintln(os.Stderr, "ripeline:", err)
		stop()
		os.Exit(exitCode(err))
	}
}

// run parses args and runs the command they name until ctx ends.
func run(ctx context.Context, args []string, std streams) error {
	var c cli
	parser, err := kong.New(&c,
		kong.Name("ripeline"),
		kong.Description("Orders with dates, batches that need time: says what can be promised, and what to pour, cut and wrap on which day."),
		kong.Writers(std.out, std.err),
		kong.UsageOnError(),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(std),
	)
	if err != nil {
		return fmt.Errorf("command line: %w", err)
	}
	parsed, err := parser.Parse(args)
	if err != nil {
		return fmt.Errorf("%w (ripeline --help lists what there is)", err)
	}
	return parsed.Run()
}

// errInfeasible is a problem without a plan.
var errInfeasible = errors.New("no plan")

func exitCode(err error) int {
	if errors.Is(err, errInfeasible) {
		return exitInfeasible
	}
	return 1
}

type versionCmd struct{}

// Run prints the version.
func (versionCmd) Run(std streams) error {
	_, err := fmt.Fprintln(std.out, "ripeline", version)
	return err
}
