package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
)

type migrateCmd struct {
	database `embed:""`
}

// Run brings the schema up to date.
func (c migrateCmd) Run(ctx context.Context, std streams) (err error) {
	db, err := c.open(ctx, slog.New(slog.NewTextHandler(std.err, nil)), shared)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close(ctx)) }()
	return say(std.out, "The database is up to date.\n")
}

type backupCmd struct {
	database `embed:""`
	File     string `arg:"" help:"The file to write; it must not exist." type:"path"`
}

// Run writes everything into one file, which appears whole or not at all. It
// holds password and token hashes: it is readable by its owner alone.
func (c backupCmd) Run(ctx context.Context, std streams) (err error) {
	if _, err := os.Lstat(c.File); err == nil {
		return fmt.Errorf("%s exists already; choose another name", c.File)
	}
	if err := c.existing(); err != nil {
		return err
	}
	db, err := c.open(ctx, slog.New(slog.DiscardHandler), shared)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close(ctx)) }()
	tmp, err := os.CreateTemp(filepath.Dir(c.File), ".ripeline-backup-*")
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer func() { _ = os.Remove(tmp.Name()) }() // gone already when all went well
	show := newProgress(std.err, "Backing up")
	err = db.store.Dump(ctx, tmp, show.rows)
	show.done()
	if err = errors.Join(err, tmp.Sync(), tmp.Close()); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	if err := os.Rename(tmp.Name(), c.File); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	return say(std.out, "Everything is in %s. Keep it where only you can read it.\n", c.File)
}

type restoreCmd struct {
	database `embed:""`
	File     string `arg:"" help:"The backup to read." type:"existingfile"`
}

// Run reads a backup into an empty database.
func (c restoreCmd) Run(ctx context.Context, std streams) (err error) {
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }() // read only: nothing can be lost
	db, err := c.open(ctx, slog.New(slog.DiscardHandler), shared)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close(ctx)) }()
	show := newProgress(std.err, "Restoring")
	err = db.store.Load(ctx, f, show.rows)
	show.done()
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	return say(std.out, "Everything from %s is back. Start the service with: ripeline serve\n", c.File)
}
