// Package postgres keeps the order book in PostgreSQL 15 or later. It holds
// all SQL of the program but the migrations, and no business rules.
//
// # Transactions
//
// Store's exported methods own their transactions. A Write locks its
// workshop's row first, so that the writes of one workshop happen one after
// another whatever the number of replicas, while workshops do not wait for
// each other. The lock is FOR NO KEY UPDATE: it excludes other writers but not
// the foreign-key checks of the reminder loop. A Read is one snapshot.
//
// # Isolation
//
// Row-level security is forced on every table of a workshop. A transaction
// names its workshop in the setting ripeline.workshop; a System transaction
// sets ripeline.scope instead, by which it may look up people, tokens, feeds
// and deliveries across workshops but has to name a workshop to write. A role
// that row-level security does not bind steps down to the role ripeline_guard
// in each transaction. Both settings end with the transaction. Queries name
// the workshop as well, so each guard holds alone.
//
// # Errors
//
// A database error becomes an orders error by its code and by the name of the
// violated constraint, never by its text; see translate. Text is stored as it
// comes, instants in UTC to the microsecond, an absent date or instant as NULL.
package postgres
