package orders

import (
	"context"

	"ripeline/schedule"
	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

// errUnbuilt stands in until the use case is written.
var errUnbuilt = ErrNotFound

// replan raises the book's revision, plans the changed book, and either
// publishes the new plan (nothing promised and nothing inside the firm window
// moves) or leaves it as proposals.
func (b *Book) replan(ctx context.Context, tx Tx, a Actor, why string) (PlanChange, error) {
	return PlanChange{}, errUnbuilt
}

// Promise answers whether the question's lines can be ready by its date.
// It writes nothing. Any role may ask.
func (b *Book) Promise(ctx context.Context, a Actor, q Question) (*schedule.Answer, error) {
	return nil, errUnbuilt
}

// TakeOrder adds an order, as an enquiry or, with accept, promised at once.
func (b *Book) TakeOrder(ctx context.Context, a Actor, in OrderInput, accept bool) (Order, PlanChange, error) {
	return Order{}, PlanChange{}, errUnbuilt
}

// ChangeOrder replaces what the order says; version must be the stored one.
func (b *Book) ChangeOrder(ctx context.Context, a Actor, id string, version int, in OrderInput) (Order, PlanChange, error) {
	return Order{}, PlanChange{}, errUnbuilt
}

// AcceptOrder promises an enquiry; the ready date of the plan becomes Told.
func (b *Book) AcceptOrder(ctx context.Context, a Actor, id string, version int) (Order, PlanChange, error) {
	return Order{}, PlanChange{}, errUnbuilt
}

// EndOrder declines an enquiry or cancels an accepted order.
func (b *Book) EndOrder(ctx context.Context, a Actor, id string, version int) (Order, PlanChange, error) {
	return Order{}, PlanChange{}, errUnbuilt
}

// HandOver says the order's pieces left; all must be wrapped and allocated.
func (b *Book) HandOver(ctx context.Context, a Actor, id string, version int) (Order, PlanChange, error) {
	return Order{}, PlanChange{}, errUnbuilt
}

// Order returns one order, and Orders a page of them by needed-by date.
func (b *Book) Order(ctx context.Context, a Actor, id string) (Order, error) {
	return Order{}, errUnbuilt
}

// Orders returns a page of orders by needed-by date.
func (b *Book) Orders(ctx context.Context, a Actor, q ListQuery) (Page[Order], error) {
	return Page[Order]{}, errUnbuilt
}

// Batch returns one batch.
func (b *Book) Batch(ctx context.Context, a Actor, id string) (Batch, error) {
	return Batch{}, errUnbuilt
}

// Batches returns a page of batches by make time.
func (b *Book) Batches(ctx context.Context, a Actor, q ListQuery) (Page[Batch], error) {
	return Page[Batch]{}, errUnbuilt
}

// Allocations returns who gets what from where, of all open orders.
func (b *Book) Allocations(ctx context.Context, a Actor) ([]Allocation, error) {
	return nil, errUnbuilt
}

// Pour, Cut, Wrap and Fail record what happened to a batch, weigh adds a
// weighing; each re-plans. Helpers may call them.

// Pour records that a planned batch was poured.
func (b *Book) Pour(ctx context.Context, a Actor, id string, version int, f PourFact) (Batch, PlanChange, error) {
	return Batch{}, PlanChange{}, errUnbuilt
}

// Cut records that a poured batch was cut, and the pieces spoiled by then.
func (b *Book) Cut(ctx context.Context, a Actor, id string, version int, f CutFact) (Batch, PlanChange, error) {
	return Batch{}, PlanChange{}, errUnbuilt
}

// Wrap records that a curing batch was wrapped; its sound pieces become stock.
func (b *Book) Wrap(ctx context.Context, a Actor, id string, version int, f WrapFact) (Batch, PlanChange, error) {
	return Batch{}, PlanChange{}, errUnbuilt
}

// Fail records that a batch, or some pieces of it, is lost, and proposes ways
// out; a batch that is only planned can not fail.
func (b *Book) Fail(ctx context.Context, a Actor, id string, version int, f FailFact) (Batch, PlanChange, error) {
	return Batch{}, PlanChange{}, errUnbuilt
}

// Weigh adds a weighing to a curing batch.
func (b *Book) Weigh(ctx context.Context, a Actor, id string, version int, w Weighing) (Batch, error) {
	return Batch{}, errUnbuilt
}

// Pin fixes (or frees) a planned batch's published times.
func (b *Book) Pin(ctx context.Context, a Actor, id string, version int, pinned bool) (Batch, PlanChange, error) {
	return Batch{}, PlanChange{}, errUnbuilt
}

// TrialPassed records that a design's trial was judged good (or withdraws it).
func (b *Book) TrialPassed(ctx context.Context, a Actor, designID string, version int, passed bool) (Design, PlanChange, error) {
	return Design{}, PlanChange{}, errUnbuilt
}

// Plan returns the published plan.
func (b *Book) Plan(ctx context.Context, a Actor) (PlanView, error) { return PlanView{}, errUnbuilt }

// Revisions returns a page of published plans, newest first.
func (b *Book) Revisions(ctx context.Context, a Actor, q ListQuery) (Page[PlanRevision], error) {
	return Page[PlanRevision]{}, errUnbuilt
}

// Replan plans the book again from now.
func (b *Book) Replan(ctx context.Context, a Actor) (PlanChange, error) {
	return PlanChange{}, errUnbuilt
}

// Proposals returns the open proposals, best first.
func (b *Book) Proposals(ctx context.Context, a Actor) ([]Proposal, error) { return nil, errUnbuilt }

// TakeProposal publishes a proposal's plan; ErrConflict when the book has
// changed since it was made.
func (b *Book) TakeProposal(ctx context.Context, a Actor, id string) (PlanChange, error) {
	return PlanChange{}, errUnbuilt
}

// DismissProposals ends the open proposals; the published plan stands.
func (b *Book) DismissProposals(ctx context.Context, a Actor) error { return errUnbuilt }

// Today returns what there is to do today and tomorrow.
func (b *Book) Today(ctx context.Context, a Actor) (TodayView, error) {
	return TodayView{}, errUnbuilt
}

// Tasks returns the published tasks whose last day is not before from.
func (b *Book) Tasks(ctx context.Context, a Actor, from civil.Date) ([]Task, error) {
	return nil, errUnbuilt
}

// FeedByToken returns the calendar of a feed's secret token, and when any of
// it last changed; ErrNotFound when the token is unknown or revoked. pageURL
// is the address of the plan's page.
func (b *Book) FeedByToken(ctx context.Context, token, pageURL string) (ical.Feed, error) {
	return ical.Feed{}, errUnbuilt
}
