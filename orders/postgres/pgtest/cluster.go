package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"sync"
	"sync/atomic"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ripeline/orders/localpg"
)

// cluster makes databases on one server. getenv must be set; the rest of the
// zero value is ready for use.
type cluster struct {
	getenv func(string) string
	binDir string // where the programs are; searched for when empty
	ends   bool   // main will end the cluster

	once   sync.Once
	failed error // how begin went
	server server
	prefix string // of all database names of this process
	count  atomic.Int64
}

// server is where the databases are: a private one or one from outside.
type server struct {
	admin string                             // a superuser's connection string
	url   func(database, role string) string // connection strings of the roles
	stop  func(ctx context.Context) error
}

// begin finds or starts the server and builds the template.
func (c *cluster) begin(migrate func(ctx context.Context, ownerURL string) error) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	var err error
	if outside := c.getenv("DATABASE_URL_TEST"); outside != "" {
		c.server, err = useOutside(ctx, outside)
	} else {
		c.server, err = startPrivate(ctx, c.binDir)
	}
	if err != nil {
		return fmt.Errorf("test database: %w", err)
	}
	c.prefix = "ripeline_test_" + uuid.NewString()[:8] + "_"
	if err := c.buildTemplate(ctx, migrate); err != nil {
		return fmt.Errorf("template of the test databases: %w", err)
	}
	return nil
}

func (c *cluster) templateName() string { return c.prefix + "template" }

func (c *cluster) nextName() string { return c.prefix + strconv.FormatInt(c.count.Add(1), 10) }

// buildTemplate migrates an empty database and closes it to connections, since
// only a database that nobody uses can be copied.
func (c *cluster) buildTemplate(ctx context.Context, migrate func(ctx context.Context, ownerURL string) error) error {
	name := pgx.Identifier{c.templateName()}.Sanitize()
	owner := pgx.Identifier{localpg.OwnerRole}.Sanitize()
	if err := c.execute(ctx, "CREATE DATABASE "+name+" TEMPLATE template0 OWNER "+owner); err != nil {
		return err
	}
	if err := migrate(ctx, c.server.url(c.templateName(), localpg.OwnerRole)); err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	return c.execute(ctx, "ALTER DATABASE "+name+" ALLOW_CONNECTIONS false")
}

// clone copies the template. Copying files beats writing every page to the log,
// because the template is small and the checkpoint it takes costs next to nothing
// on a server that does not wait for the disk.
func (c *cluster) clone(name string) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return c.execute(ctx, "CREATE DATABASE "+pgx.Identifier{name}.Sanitize()+
		" TEMPLATE "+pgx.Identifier{c.templateName()}.Sanitize()+
		" STRATEGY FILE_COPY OWNER "+pgx.Identifier{localpg.OwnerRole}.Sanitize())
}

// drop removes a database and whoever is still connected to it.
func (c *cluster) drop(name string) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return c.execute(ctx, "DROP DATABASE IF EXISTS "+pgx.Identifier{name}.Sanitize()+" WITH (FORCE)")
}

// execute runs one statement as the superuser.
func (c *cluster) execute(ctx context.Context, sql string) error {
	conn, err := pgx.Connect(ctx, c.server.admin)
	if err != nil {
		return fmt.Errorf("connect as superuser: %w", err)
	}
	if _, err = conn.Exec(ctx, sql); err != nil {
		err = fmt.Errorf("%s: %w", sql, err)
	}
	return errors.Join(err, conn.Close(ctx))
}

// end drops the template and stops a private server. Without a server there is
// nothing to do.
func (c *cluster) end() error {
	if c.server.stop == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return errors.Join(c.drop(c.templateName()), c.server.stop(ctx))
}

// startPrivate runs a cluster in a new directory for temporary files.
func startPrivate(ctx context.Context, binDir string) (server, error) {
	if err := sweep(os.TempDir()); err != nil {
		return server{}, err
	}
	dir, err := makeDir(os.TempDir())
	if err != nil {
		return server{}, err
	}
	pg, err := localpg.Start(ctx, localpg.Config{Dir: dir, BinDir: binDir, Fast: true})
	if err != nil {
		return server{}, errors.Join(err, os.RemoveAll(dir))
	}
	return server{
		admin: pg.URL("postgres", localpg.AdminRole),
		url:   pg.URL,
		stop:  func(ctx context.Context) error { return errors.Join(pg.Stop(ctx), os.RemoveAll(dir)) },
	}, nil
}
