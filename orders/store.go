package orders

import (
	"context"
	"time"

	"ripeline/schedule/civil"
)

// Store keeps the book. Its transactions are the only way in or out.
type Store interface {
	// Write runs fn in one transaction of one workshop, serialized with every
	// other Write of that workshop, on any replica; it is retried whole when
	// the database asks for it, so fn must have no effect beside tx. When ctx
	// carries an idempotency key, see Once.
	Write(ctx context.Context, workshopID string, fn func(Tx) error) error
	// Read runs fn on one consistent snapshot of one workshop.
	Read(ctx context.Context, workshopID string, fn func(Tx) error) error
	// System runs fn across workshops, for signing in, first run and the
	// reminder loop.
	System(ctx context.Context, fn func(SystemTx) error) error
}

// ListQuery asks for a page of a list. Limit is 1..200, 50 when 0. Cursor is
// what the page before returned as Next.
type ListQuery struct {
	Limit  int
	Cursor string
	Status string     // only records of this status or state
	Parent string     // only records of this order, person, mold or batch
	Text   string     // only records whose name contains this
	All    bool       // retired ones too
	From   civil.Date // only tasks whose last day is not before this; only batches that ended, by UTC, not before this
}

// Page is part of a list. An empty Next is its end.
type Page[T any] struct {
	Items []T    `json:"items"`
	Next  string `json:"next,omitempty"`
}

// Table is the storage of one kind of record in a transaction.
type Table[T any] interface {
	Get(ctx context.Context, id string) (T, error)          // ErrNotFound
	Several(ctx context.Context, ids []string) ([]T, error) // in one query, in no order; of those there are, each once
	List(ctx context.Context, q ListQuery) (Page[T], error)
	Insert(ctx context.Context, r *T) error // gives it ID, Version 1 and times when it has none
	Update(ctx context.Context, r *T) error // ErrConflict unless its Version is the stored one; raises it
	Delete(ctx context.Context, id string, version int) error
}

// Tx is a transaction within one workshop.
type Tx interface {
	Workshop(ctx context.Context) (Workshop, error)
	UpdateWorkshop(ctx context.Context, w *Workshop) error // compares Version
	TouchBook(ctx context.Context) (int, error)            // raises and returns BookRevision
	// ClearBook deletes everything but the workshop, its hours, its people,
	// tokens and journal. PlanRevision keeps counting.
	ClearBook(ctx context.Context) error

	Closed() Table[ClosedDays]
	Extras() Table[ExtraWindow]
	Molds() Table[Mold]
	MoldOuts() Table[MoldOut]
	Racks() Table[Rack]
	Ingredients() Table[Ingredient]
	Lots() Table[Lot]           // last received first; Parent filters by ingredient; used up ones only with All
	Purchases() Table[Purchase] // first to arrive first; Parent filters by ingredient; received ones only with All
	Recipes() Table[Recipe]
	Designs() Table[Design]
	Trials() Table[Trial] // latest first; Parent filters by recipe
	Customers() Table[Customer]
	Orders() Table[Order] // newest needed-by last; Status filters
	Batches() Table[Batch]
	BatchLots(ctx context.Context, ids []string) (map[string]string, error) // lot codes by id, of those there are
	Stocks() Table[Stock]
	People() Table[Person]
	Tokens() Table[APIToken]
	Feeds() Table[Feed]
	Rules() Table[ReminderRule]

	// Making is what a batch was poured from; ErrNotFound before its pour.
	Making(ctx context.Context, batchID string) (Making, error)
	SetMaking(ctx context.Context, batchID string, m Making) error
	Ticks(ctx context.Context, batchID string) ([]Tick, error) // of its sheet, by time
	SetTick(ctx context.Context, batchID string, k Tick) error // in place of one of the same item
	ClearTick(ctx context.Context, batchID, item string) error
	WeightChecks(ctx context.Context, batchID string, limit int) ([]KeptWeights, error) // newest first
	AddWeightCheck(ctx context.Context, batchID string, k KeptWeights) error

	// Snapshot reads all that planning needs: see Snapshot.
	Snapshot(ctx context.Context) (*Snapshot, error)
	Allocations(ctx context.Context) ([]Allocation, error) // of open orders, by line, then source
	SetAllocations(ctx context.Context, all []Allocation) error
	Trace(ctx context.Context, of TraceOf) ([]TracedBatch, error) // by pour, then lot code
	NextOrderNumber(ctx context.Context) (int, error)
	NextLot(ctx context.Context, prefix string) (int, error) // 1, 2, ... for lots that begin with prefix

	Tasks(ctx context.Context, from civil.Date) ([]Task, error)    // whose last day is not before from, by day, time, id
	TaskPage(ctx context.Context, q ListQuery) (Page[Task], error) // in the same order
	PutTasks(ctx context.Context, tasks []Task) error              // inserts new ids, updates known ones

	Revision(ctx context.Context, number int) (PlanRevision, error)
	Revisions(ctx context.Context, q ListQuery) (Page[PlanRevision], error) // newest first
	AddRevision(ctx context.Context, r *PlanRevision) error                 // number = last + 1, sets the workshop's PlanRevision

	Proposals(ctx context.Context, status ProposalStatus, limit int) ([]Proposal, error) // newest set first, by rank
	Proposal(ctx context.Context, id string) (Proposal, error)
	AddProposals(ctx context.Context, ps []Proposal) error
	EndProposals(ctx context.Context, status ProposalStatus, except string) error // every open one but except; their plans go
	SetProposal(ctx context.Context, id string, status ProposalStatus) error

	Deliveries(ctx context.Context, q ListQuery) (Page[Delivery], error)  // newest first; Parent filters by person
	Journal(ctx context.Context, q ListQuery) (Page[JournalEntry], error) // newest first; Parent filters by subject
	AddJournal(ctx context.Context, e JournalEntry) error

	// Remembered returns the stored result of an idempotency key, and
	// Remember stores one. A key lives for a day at least.
	Remembered(ctx context.Context, key string) (requestHash []byte, result []byte, err error) // ErrNotFound
	Remember(ctx context.Context, key string, requestHash, result []byte) error
}

// Snapshot is the book at one revision, as planning needs it.
type Snapshot struct {
	Workshop    Workshop
	Closed      []ClosedDays  // past ones too
	Extras      []ExtraWindow // past ones too
	Molds       []Mold
	MoldOuts    []MoldOut
	Racks       []Rack
	Ingredients []Ingredient
	Lots        []Lot      // with something left; Used is not read
	Purchases   []Purchase // on order
	Recipes     []Recipe
	Designs     []Design
	Trials      []Trial
	Orders      []Order // enquiries and accepted
	Batches     []Batch // planned, poured, curing
	Stocks      []Stock // with pieces left
	Allocations []Allocation
	Tasks       []Task // open ones
	Failures    []FailureCount
}

// FailureCount is a design's history: how many batches ended, how many of
// them failed whole, and of those how many by the cut, how many pieces were
// poured and how many of them lost.
type FailureCount struct {
	DesignID                     string
	Batches, Failed, FailedByCut int
	PiecesPoured, PiecesSpoiled  int
}

// SystemTx is a transaction across workshops.
type SystemTx interface {
	CountWorkshops(ctx context.Context) (int, error)
	// CreateWorkshop adds a workshop, its owner, and what furnish puts into it.
	CreateWorkshop(ctx context.Context, w *Workshop, owner *Person, furnish func(Tx) error) error
	DeleteWorkshop(ctx context.Context, id string) error
	WorkshopIDs(ctx context.Context, after string, limit int) ([]string, error)
	PersonByEmail(ctx context.Context, email string) (workshopID string, p Person, err error)
	PersonByID(ctx context.Context, id string) (workshopID string, p Person, err error)
	TokenByHash(ctx context.Context, hash []byte) (workshopID string, t APIToken, err error) // not revoked
	FeedByHash(ctx context.Context, hash []byte) (workshopID string, f Feed, err error)      // not revoked
	Used(ctx context.Context, hash []byte, at time.Time) error                               // of a token or feed

	// Secret keeps single values of the installation: the set-up link's hash,
	// the session key. It returns ErrNotFound when absent.
	Secret(ctx context.Context, name string) ([]byte, error)
	SetSecret(ctx context.Context, name string, value []byte) error // nil deletes
	// KeepSecret stores value unless there is one already, and returns the one
	// that stands: whoever asks, at the same moment too, gets the same.
	KeepSecret(ctx context.Context, name string, value []byte) ([]byte, error)

	// SignInFailures counts failures since then of an email and from an address.
	// Until the transaction ends nobody else counts, so that attempts made at
	// once see each other.
	SignInFailures(ctx context.Context, email, addr string, since time.Time) (SignInFailures, error)
	AddSignIn(ctx context.Context, email, addr string, at time.Time) error       // a failure until it is said to be none
	SignInSucceeded(ctx context.Context, email, addr string, at time.Time) error // of one added with the same

	// AddDeliveries inserts those whose (person, date, kind, slot) is new, and
	// moves known ones that nobody has claimed yet to their new DueAt.
	AddDeliveries(ctx context.Context, workshopID string, ds []Delivery) error
	// ClaimDelivery leases one due delivery until now + lease, skipping those
	// others hold. It raises Attempts.
	ClaimDelivery(ctx context.Context, now time.Time, lease time.Duration) (workshopID string, d Delivery, err error) // ErrNotFound
	// FinishDelivery stores what became of a claimed delivery: an end, or still
	// due with a later NextTry. Attempts stays as claimed, for it tells one claim
	// from the next: ErrConflict when the lease was lost to another.
	FinishDelivery(ctx context.Context, d Delivery) error
	// PruneDeliveries deletes at most limit reminders that ended before a time, and
	// returns how many. The last of each kind that reached a person stays: the next
	// one tells what changed since.
	PruneDeliveries(ctx context.Context, before time.Time, limit int) (int, error)
	LastDelivered(ctx context.Context, personID, kind string) (Delivery, error) // ErrNotFound
}

// SignInFailures is how often signing in failed.
type SignInFailures struct {
	ByEmail int // with an e-mail address, from anywhere
	ByAddr  int // from an address, with any e-mail address
	ByBoth  int // with the one from the other
}
