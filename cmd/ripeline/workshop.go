package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"strings"
	"time"

	"golang.org/x/term"

	"ripeline/orders"
)

// workshopCmd adds a workshop to an installation that has one.
type workshopCmd struct {
	database `embed:""`
	Name     string `required:"" help:"Name of the workshop."`
	Zone     string `required:"" help:"Its time zone, such as Europe/Lisbon."`
	Owner    string `required:"" help:"Name of its owner."`
	Email    string `required:"" help:"E-mail address its owner signs in with."`
}

// Run adds the workshop; the owner's password is read from the terminal or
// from standard input.
func (c workshopCmd) Run(ctx context.Context, std streams) (err error) {
	if err := c.existing(); err != nil {
		return err
	}
	password, err := readPassword(std)
	if err != nil {
		return err
	}
	db, err := c.open(ctx, slog.New(slog.DiscardHandler), shared)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close(ctx)) }()
	book := orders.NewBook(db.store, time.Now)
	_, err = book.AddWorkshop(ctx, orders.Setup{Workshop: c.Name, Name: c.Owner, Email: c.Email, Password: password, Zone: c.Zone})
	if err != nil {
		return err
	}
	return say(std.out, "%s is set up; %s can sign in.\n", c.Name, c.Email)
}

// readPassword asks on a terminal without showing what is typed; elsewhere it
// takes the first line of standard input.
func readPassword(std streams) (string, error) {
	if f, ok := std.in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		if err := say(std.err, "Password of the owner: "); err != nil {
			return "", err
		}
		typed, err := term.ReadPassword(int(f.Fd()))
		if err != nil {
			return "", fmt.Errorf("read password: %w", err)
		}
		return string(typed), say(std.err, "\n")
	}
	line := bufio.NewScanner(std.in)
	if !line.Scan() {
		return "", errors.Join(errors.New("give the owner's password on standard input"), line.Err())
	}
	return strings.TrimSuffix(line.Text(), "\r"), nil
}
