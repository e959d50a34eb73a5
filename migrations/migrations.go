// Package migrations holds the database's schema as numbered SQL files that
// are applied in order and never changed once released. A file begins by
// saying why it exists. There is no way back in them: a release is undone by
// restoring a backup, since a down step would silently drop what was written.
//
// Conventions that orders/postgres relies on:
//   - every table of a workshop has the column workshop_id and the primary key
//     (workshop_id, ...), and refers to other such tables by composite keys that
//     include workshop_id, so that no row can point into another workshop;
//   - after creating such a table a migration calls ripeline_guard_table(table);
//   - a constraint is named table__field, where field is the JSON name of what
//     it limits, so that a violation can be reported at that field;
//   - numbers are bigint: what a program can hold, the column can hold, and
//     CHECKs say what is sensible.
package migrations

import "embed"

// Files are the migrations, for goose.
//
//go:embed *.sql
var Files embed.FS

// Grants is applied after the migrations, at every start, because roles come
// and go without a change of the schema. It is safe to repeat.
//
//go:embed grants/grants.sql
var Grants string
