package schedule

import "slices"

// rescueOrders bounds the search of rescue: about this many orders are given
// their pieces anew in all.
const rescueOrders = 400

// rescue gives pieces anew where orders are late: by due date alone, one that is
// late in any case takes what would have had the next in time. The rule of Moore
// and Hodgson (1968) says which to serve after the others: of those up to the
// first late one, that with the most pieces for its weight. The plan keeps what
// is best by lateness.
func (pl *planner) rescue(d *draft, plan *Plan, po policy) {
	po.yield = map[string]bool{}
	at := plan
	for range max(2, rescueOrders/(1+len(plan.Orders))) {
		worst := pl.inTheWay(at, po)
		if worst == "" {
			return
		}
		po.yield[worst] = true
		next := *plan
		next.Allocations = pl.allotPlan(d, &next, po)
		next.Orders = pl.outcomes(&next)
		if pl.problem.delays(&next).compare(pl.problem.delays(plan)) < 0 {
			plan.Allocations, plan.Orders = next.Allocations, next.Orders
		}
		at = &next
	}
}

// inTheWay is the order that the rule of Moore and Hodgson sends back next; ""
// when those that are left are in time.
func (pl *planner) inTheWay(plan *Plan, po policy) string {
	var before []*Order
	for _, c := range pl.claims(po) {
		if po.yield[c.order.ID] || c.order.ID == po.last {
			break
		}
		if !slices.Contains(before, c.order) {
			before = append(before, c.order)
		}
		if plan.outcome(c.order.ID).Missed() {
			return heaviest(before, c.order)
		}
	}
	return ""
}

// heaviest is the order with the most pieces for its weight of those that ask
// for a design that a late one asks for; the first of equals.
func heaviest(orders []*Order, late *Order) string {
	worst := late
	for _, o := range orders {
		shared := slices.ContainsFunc(o.Lines, func(l Line) bool {
			return slices.ContainsFunc(late.Lines, func(m Line) bool { return l.DesignID == m.DesignID })
		})
		if shared && o.pieces()*worst.Weight > worst.pieces()*o.Weight {
			worst = o
		}
	}
	return worst.ID
}

// pieces is all an order asks for.
func (o *Order) pieces() int {
	sum := 0
	for _, l := range o.Lines {
		sum += l.Pieces
	}
	return sum
}
