package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"ripeline/orders/localpg"
	"ripeline/orders/postgres"
)

// stopGrace bounds how long the private database may take to stop.
const stopGrace = 20 * time.Second

// database says where the order book is kept.
type database struct {
	DatabaseURL string `name:"database-url" env:"DATABASE_URL" help:"PostgreSQL 15 or later. When empty, a private one runs in the data directory." placeholder:"URL"`
	Data        string `env:"RIPELINE_DIR" default:"data" type:"path" help:"Directory of the private database."`
}

// opened is a database that can be used.
type opened struct {
	store  *postgres.Store
	server *localpg.Server // nil when not started here
}

// existing refuses a data directory that holds no database, for commands that
// only look at one: a mistyped name must not make a new, empty one.
func (d database) existing() error {
	if d.DatabaseURL != "" {
		return nil
	}
	if _, err := os.Stat(filepath.Join(d.Data, "postgres")); err != nil {
		return fmt.Errorf("there is no database in %s; name the right directory with --data", d.Data)
	}
	return nil
}

// sharing says whether a command may use a private database that another
// ripeline runs. A service may not: it would lose it when the other stops.
type sharing bool

const (
	alone  sharing = false
	shared sharing = true
)

// urls finds the database, starting the private one unless one is named or,
// where it may be shared, already runs: the owner's address, the service's, and
// the server started.
func (d database) urls(ctx context.Context, log *slog.Logger, share sharing) (owner, app string, server *localpg.Server, err error) {
	if d.DatabaseURL != "" {
		return d.DatabaseURL, d.DatabaseURL, nil, nil
	}
	dir := filepath.Join(d.Data, "postgres")
	if s, ok := localpg.Attach(dir); ok && bool(share) {
		return s.URL(localpg.Database, localpg.OwnerRole), s.URL(localpg.Database, localpg.AppRole), nil, nil
	}
	s, err := localpg.Start(ctx, localpg.Config{Dir: dir, Log: log})
	if err != nil {
		return "", "", nil, err
	}
	return s.URL(localpg.Database, localpg.OwnerRole), s.URL(localpg.Database, localpg.AppRole), s, nil
}

// open finds the database, brings its schema up to date and opens the book's
// store. close must be called.
func (d database) open(ctx context.Context, log *slog.Logger, share sharing) (*opened, error) {
	owner, app, server, err := d.urls(ctx, log, share)
	if err != nil {
		return nil, err
	}
	o := &opened{server: server}
	if err := postgres.Migrate(ctx, owner, log); err != nil {
		return nil, errors.Join(err, o.close(ctx))
	}
	if o.store, err = postgres.Open(ctx, app); err != nil {
		return nil, errors.Join(err, o.close(ctx))
	}
	return o, nil
}

// close closes the store and stops the private server if it was started here.
// It goes on when ctx has ended.
func (o *opened) close(ctx context.Context) error {
	if o.store != nil {
		o.store.Close()
	}
	if o.server == nil {
		return nil
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopGrace)
	defer cancel()
	if err := o.server.Stop(grace); err != nil {
		return fmt.Errorf("stop the private database: %w", err)
	}
	return nil
}
