package schedule

import "context"

// Beside plans an enquiry next to the plan of all accepted orders in two ways: with
// what is new put into that plan, and with the same schedule read from scratch.
// Both are nil where the first way is not taken.
func Beside(ctx context.Context, p *Problem, enquiry Order) (merged, read *Plan, err error) {
	a, err := newAsk(ctx, p, enquiry)
	if err != nil {
		return nil, nil, err
	}
	po := policy{last: a.order.ID, quick: true}
	if (&aside{planner: a.planner, stands: a.stands, order: a.order, lots: a.stands.model.lots}).interferes() {
		return nil, nil, nil
	}
	d := a.planner.beside(a.stands, po)
	d.fill()
	merged = d.plan
	whole := &aside{planner: a.planner, stands: a.stands, lots: d.model.lots}
	d.book.shelf = a.stands.shares()
	whole.copyLots(d.book.shelf)
	d.model.lots = whole.lots
	return merged, a.planner.read(d, policy{quick: true}), nil
}
