package postgres

import (
	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

// Raw is the database transaction under a transaction of the book, for tests
// that get round its queries.
func Raw(t orders.Tx) pgx.Tx { return t.(*tx).pg }

// RawSystem is the same for a transaction across workshops.
func RawSystem(t orders.SystemTx) pgx.Tx { return t.(*systemTx).pg }

// BackupTables are what a backup holds.
func BackupTables() []string { return backupTables[:] }
