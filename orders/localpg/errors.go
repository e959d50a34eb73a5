package localpg

import "errors"

// The kinds of trouble Start reports. Each is wrapped in a message that names
// the path concerned and says what to do; test for the kind with errors.Is.
var (
	// ErrNoBinaries means that no usable PostgreSQL installation was found.
	ErrNoBinaries = errors.New("PostgreSQL is not installed")
	// ErrVersion means that the data was written by a major version of
	// PostgreSQL other than the one at hand.
	ErrVersion = errors.New("the data belongs to another version of PostgreSQL")
	// ErrPermissions means that other users of the machine could read or
	// replace the data.
	ErrPermissions = errors.New("the data directory is open to other users")
	// ErrOwner means that the data belongs to a user other than the one the
	// server would run as.
	ErrOwner = errors.New("the data directory belongs to another user")
	// ErrInUse means that another process already serves this directory.
	ErrInUse = errors.New("the data directory is in use")
	// ErrNotCluster means that something other than a database sits where the
	// data should be.
	ErrNotCluster = errors.New("the data directory holds something else")
	// ErrSocketPath means that no path for the socket is both short enough and
	// free of commas.
	ErrSocketPath = errors.New("no usable socket path")
	// ErrUnreachable means that the user the server runs as can not get to the
	// data directory.
	ErrUnreachable = errors.New("the data directory can not be reached")
	// ErrUser means that there is no unprivileged user to run the server as.
	ErrUser = errors.New("no unprivileged user to run PostgreSQL as")
	// ErrRole means that a database role has more power than it may have.
	ErrRole = errors.New("the database role is too powerful")
	// ErrDied means that the server process ended without being asked to.
	ErrDied = errors.New("PostgreSQL stopped unexpectedly")
)
