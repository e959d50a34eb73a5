package schedule

import "slices"

// rescueOrders bounds the search of rescue: about this many orders are given
// their pieces anew in all.
const rescueOrders = 400

// sharing is who gets which pieces, and how they are given anew.
type sharing struct {
	orders []*Order                  // whom it concerns
	claims func(policy) []*claim     // what they ask for
	again  func(to *Plan, po policy) // gives them pieces, and says what that means for them
}

// rescue gives pieces anew where orders are late: by due date alone, one that is
// late in any case takes what would have had the next in time. The rule of Moore
// and Hodgson (1968) says which to serve after the others: of those up to the
// first late one, that with the most pieces for its weight. The plan keeps what
// is best by lateness.
func (s sharing) rescue(plan *Plan, po policy) {
	po.yield = map[string]bool{}
	at := plan
	for range max(2, rescueOrders/(1+len(plan.Orders))) {
		worst := s.inTheWay(at, po)
		if worst == "" {
			return
		}
		po.yield[worst] = true
		next := *plan
		s.again(&next, po)
		if next.delays(s.orders).compare(plan.delays(s.orders)) < 0 {
			plan.Allocations, plan.Orders = next.Allocations, next.Orders
		}
		at = &next
	}
}

// inTheWay is the order that the rule of Moore and Hodgson sends back next; ""
// when those that are left are in time.
func (s sharing) inTheWay(plan *Plan, po policy) string {
	if !slices.ContainsFunc(plan.Orders, func(o OrderOutcome) bool { return o.Missed() }) {
		return ""
	}
	var before []*Order
	for _, c := range s.claims(po) {
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
