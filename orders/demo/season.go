package demo

import (
	"context"
	"errors"
	"fmt"
	"time"

	"ripeline/calc"
	"ripeline/orders"
)

// ask is an order of the demo; by counts days from the demo's end.
type ask struct {
	title, customer, design string
	pieces, spares, keep    int
	by, weight              int
	accept                  bool
}

// earlyOrders are taken at the season's start.
func (s *season) earlyOrders(ctx context.Context) error {
	for _, name := range []string{"Guesthouse at the Ferry Steps", "Marta and Duarte", "Midwinter market committee", "The Quay choir", "Family of little Alba"} {
		c, err := s.book.Customers.Create(ctx, s.actor, orders.Customer{Name: name})
		if err != nil {
			return err
		}
		s.customers[name] = c.ID
	}
	return s.take(ctx,
		ask{"Naming day favours", "Family of little Alba", "SHL", 36, 2, 1, 14, 2, true},
		ask{"Guest soaps, winter", "Guesthouse at the Ferry Steps", "LAV", 40, 2, 0, 12, 1, true},
		ask{"Anniversary gifts", "The Quay choir", "OAT", 40, 2, 1, 21, 2, true},
		ask{"Market bars", "Midwinter market committee", "OAT", 44, 0, 0, 48, 1, true},
	)
}

// lateOrders are taken at the season's end.
func (s *season) lateOrders(ctx context.Context) error {
	return s.take(ctx,
		ask{"Wedding favours", "Marta and Duarte", "LAV", 84, 4, 2, 52, 5, true},
		ask{"Market table", "Midwinter market committee", "SLA", 60, 0, 0, 58, 2, true},
		ask{"Guest soaps, spring", "Guesthouse at the Ferry Steps", "OLD", 44, 2, 0, 75, 1, true},
		ask{"Choir thank-you bars", "The Quay choir", "OAT", 24, 1, 0, 66, 1, false},
	)
}

func (s *season) take(ctx context.Context, asks ...ask) error {
	for _, k := range asks {
		o, _, err := s.book.TakeOrder(ctx, s.actor, orders.OrderInput{
			CustomerID: s.customers[k.customer], Title: k.title, NeededBy: s.day(k.by), Weight: k.weight,
			Lines: []orders.OrderLine{{DesignID: s.designs[k.design], Pieces: k.pieces, Spares: k.spares, Keepsakes: k.keep}},
		}, k.accept)
		if err != nil {
			return fmt.Errorf("order %s: %w", k.title, err)
		}
		s.orders[k.title] = o
		if err := s.settle(ctx); err != nil {
			return err
		}
	}
	return nil
}

// settle takes the best open proposal, if the plan waits for a yes.
func (s *season) settle(ctx context.Context) error {
	open, err := s.book.Proposals(ctx, s.actor)
	if err != nil || len(open) == 0 {
		return err
	}
	_, err = s.book.TakeProposal(ctx, s.actor, open[0].ID)
	return err
}

// work lives through the season: each planned step is recorded done at its
// planned end, until now.
func (s *season) work(ctx context.Context) error {
	for {
		b, at, err := s.next(ctx)
		if err != nil {
			return err
		}
		if b.ID == "" || at.After(s.end) {
			err := s.weighDue(ctx, s.end)
			s.clock = s.end
			return err
		}
		weighed := s.clock
		if err := s.weighDue(ctx, at); err != nil {
			return err
		}
		if s.clock != weighed {
			continue // the weighings may have moved the plan
		}
		if at.After(s.clock) {
			s.clock = at
		}
		if err := s.step(ctx, b); err != nil {
			return fmt.Errorf("%s: %w", b.Lot, err)
		}
		if err := s.settle(ctx); err != nil {
			return err
		}
	}
}

// next is the batch whose next step ends first, and when that is.
func (s *season) next(ctx context.Context) (first orders.Batch, at time.Time, err error) {
	view, err := s.book.Plan(ctx, s.actor)
	if err != nil {
		return first, at, err
	}
	for _, b := range view.Batches {
		end := map[orders.BatchState]time.Time{orders.BatchPlanned: b.Make.To, orders.BatchPoured: b.Cut.To, orders.BatchCuring: b.Wrap.To}[b.State]
		if !end.IsZero() && (first.ID == "" || end.Before(at) || (end.Equal(at) && b.Lot < first.Lot)) {
			first, at = b, end
		}
	}
	return first, at, nil
}

func (s *season) step(ctx context.Context, b orders.Batch) error {
	var err error
	switch b.State {
	case orders.BatchPlanned:
		_, _, err = s.book.Pour(ctx, s.actor, b.ID, b.Version, orders.PourFact{Notes: "Light trace after nine minutes"})
	case orders.BatchPoured:
		_, _, err = s.book.Cut(ctx, s.actor, b.ID, b.Version, orders.CutFact{Spoiled: 1, Reason: "a dented corner"})
	case orders.BatchCuring:
		_, _, err = s.book.Wrap(ctx, s.actor, b.ID, b.Version, orders.WrapFact{})
	default:
		err = errors.New("nothing left to do")
	}
	return err
}

// weighDue weighs each curing batch once a week until then, on the days when
// it is due.
func (s *season) weighDue(ctx context.Context, until time.Time) error {
	for {
		page, err := s.book.Batches(ctx, s.actor, orders.ListQuery{Status: string(orders.BatchCuring), Limit: 50})
		if err != nil {
			return err
		}
		var next orders.Batch
		var at time.Time
		for _, b := range page.Items {
			due := b.CutAt.AddDate(0, 0, 7*len(b.Weighings))
			if !due.After(until) && (next.ID == "" || due.Before(at)) {
				next, at = b, due
			}
		}
		if next.ID == "" {
			return nil
		}
		if at.After(s.clock) {
			s.clock = at
		}
		if err := s.weigh(ctx, next); err != nil {
			return fmt.Errorf("weigh %s: %w", next.Lot, err)
		}
		if err := s.settle(ctx); err != nil {
			return err
		}
	}
}

// weigh weighs ten pieces of a batch, on a scale that shows tenths of a gram. The
// shares that dry away are invented, as is how far the scale strays; the halves
// dry slowly.
func (s *season) weigh(ctx context.Context, b orders.Batch) error {
	sheet, err := s.book.Sheet(ctx, s.actor, b.ID)
	if err != nil {
		return err
	}
	if sheet.Cure.Fresh == nil {
		return fmt.Errorf("what a piece weighs can not be worked out: %s", sheet.Trouble)
	}
	dries, rate := 12*pct, 0.09
	if b.DesignID == s.designs["LAV"] {
		dries, rate = 14*pct, 0.032
	}
	fresh := sheet.Cure.Fresh.Least
	drying := calc.DryingCurve{Start: fresh, End: fresh - dries.Of(fresh), Rate: rate}
	strays := [...]calc.PPM{500, -800, 400, -500, 700, -300}
	each := drying.At(s.clock.Sub(b.CutAt).Hours() / 24)
	each += strays[len(b.Weighings)%len(strays)].Of(each)
	pieces := min(10, b.Sound)
	const tenth = calc.Gram / 10
	mass := calc.Mass(pieces) * each / tenth * tenth
	_, _, err = s.book.Weigh(ctx, s.actor, b.ID, b.Version, orders.Weighing{At: s.clock, Pieces: pieces, Mass: mass})
	return err
}

// trouble loses a batch that an order counts on, and leaves the ways
// out for the visitor to choose from.
func (s *season) trouble(ctx context.Context) error {
	all, err := s.book.Allocations(ctx, s.actor)
	if err != nil {
		return err
	}
	for _, given := range all {
		if given.OrderID != s.orders["Market bars"].ID || given.BatchID == "" {
			continue
		}
		b, err := s.book.Batch(ctx, s.actor, given.BatchID)
		if err != nil {
			return err
		}
		_, _, err = s.book.Fail(ctx, s.actor, b.ID, b.Version, orders.FailFact{Reason: "Pockets of lye found when a bar was split"})
		return err
	}
	return errors.New("nothing was made for the market bars")
}
