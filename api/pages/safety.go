package pages

import (
	"fmt"
	"slices"
	"strings"

	"ripeline/orders"
	"ripeline/schedule"
)

// safety is in words how safe an order is. Level is "late", "tight" or
// "safe"; Mends are where what stands against it is changed, or gone on from.
type safety struct {
	Level, Word, Text string
	Mends             []linkView
}

type riskView struct {
	Title, Href string
	Safety      safety
}

func (v *visit) risks(outcomes []schedule.OrderOutcome, against doubts) ([]riskView, error) {
	var err error
	if against.bars, err = v.barsFor(outcomes); err != nil {
		return nil, err
	}
	var out []riskView
	for _, o := range outcomes {
		order, err := v.Book.Order(v.ctx(), v.actor, o.OrderID)
		if err != nil {
			if err = forgiveGone(err); err != nil {
				return nil, err
			}
			continue
		}
		out = append(out, riskView{Title: titleOf(order), Href: "/orders/" + order.ID, Safety: v.safety(order, o, true, against)})
	}
	return out, nil
}

// barsFor is the designs of which nothing may be poured, where some order is short of
// pieces and may be so for that.
func (v *visit) barsFor(outcomes []schedule.OrderOutcome) ([]orders.Bar, error) {
	if !slices.ContainsFunc(outcomes, func(o schedule.OrderOutcome) bool { return o.Short > 0 }) {
		return nil, nil
	}
	return v.Book.Bars(v.ctx(), v.actor)
}

// doubts is what may stand against the published plan.
type doubts struct {
	bars      []orders.Bar                // what may not be poured
	obstacles []orders.Obstacle           // what can not go on as planned
	sales     map[string]orders.SaleCheck // what stands between orders and their sale, by order id
	waiting   bool                        // changes of the plan wait for a yes
}

// way is where one goes on from what can not go on as planned.
func (d doubts) way() linkView {
	if d.waiting {
		return linkView{Href: "/proposals", Title: "See the ways to go on"}
	}
	return linkView{Href: "/plan#again", Title: "Plan again"}
}

// inTheWay is what is in the way of a batch, nil when nothing is.
func (v *visit) inTheWay(batchID string, against doubts) *notice {
	o, found := byID(against.obstacles, batchID, func(o orders.Obstacle) string { return o.BatchID })
	if !found {
		return nil
	}
	return &notice{v.words.dated(o.Text), against.way()}
}

// notice says that something can not go on as planned, and where one goes on.
type notice struct {
	Text string
	Way  linkView
}

// safety says how safe an order is by what is to become of it; waits says that a
// batch of it is still to be wrapped, against what else may stand against it.
func (v *visit) safety(order orders.Order, out schedule.OrderOutcome, waits bool, against doubts) safety {
	inTheWay := orders.InTheWayOf(order.ID, against.obstacles)
	switch {
	case out.Short > 0:
		return shortSafety(order, out, against)
	case len(inTheWay) > 0:
		return v.doubtfulSafety(out, inTheWay, against.way())
	case out.LateDays > 0:
		return safety{Level: "late", Word: "Late", Text: fmt.Sprintf("Ready %s, %s after it must be. Tell the customer, or find hours and molds.", v.words.day(out.Ready), count(out.LateDays, "day"))}
	case waits && order.LaterThanTold(out.Ready):
		return safety{Level: "tight", Word: "Later than told", Text: fmt.Sprintf("Ready %s, in time, but the customer was told %s. Tell them.", v.words.day(out.Ready), v.words.day(order.Told))}
	case len(against.sales[order.ID].Flags) > 0:
		return safety{Level: "late", Word: "Not for sale", Text: strings.Join(against.sales[order.ID].Flags, " ")}
	case !waits:
		return safety{Level: "safe", Word: "On the shelf", Text: "All of it is wrapped: no batch of it is left to fail."}
	case !out.RemakeBy.After(v.now): // none was left, or the time for it has passed since
		return safety{Level: "tight", Word: "No second try", Text: fmt.Sprintf("Ready %s, in time. If a batch fails now there is no time to pour it again.", v.words.day(out.Ready))}
	}
	return safety{Level: "safe", Word: "Safe", Text: fmt.Sprintf("Ready %s. A failed batch could still be poured again until %s.", v.words.day(out.Ready), v.words.at(out.RemakeBy))}
}

// doubtfulSafety says what an order can not be made of as planned.
func (v *visit) doubtfulSafety(out schedule.OrderOutcome, inTheWay []orders.Obstacle, way linkView) safety {
	s := safety{Level: "late", Word: "Not as planned", Text: fmt.Sprintf("It was to be ready %s, but not all of it can be made as planned.", v.words.day(out.Ready)), Mends: []linkView{way}}
	for _, o := range inTheWay {
		s.Text += " " + o.Lot + ": " + v.words.dated(o.Text)
	}
	return s
}

// shortSafety says what an order that lacks pieces waits for: where a design of it
// may not be poured, no later date and no more hours help.
func shortSafety(order orders.Order, out schedule.OrderOutcome, against doubts) safety {
	s := safety{Level: "late", Word: "Short", Text: count(out.Short, "piece") + " have no batch yet."}
	if out.Short == 1 {
		s.Text = "1 piece has no batch yet."
	}
	mine := barsOf(order.Lines, against.bars)
	for _, b := range mine {
		s.Text += fmt.Sprintf(" %s may not be poured: %s.", b.Design, strings.TrimSuffix(b.Text, "."))
		s.Mends = append(s.Mends, mendLink(b))
	}
	switch {
	case len(mine) == 0 && against.waiting:
		s.Mends = append(s.Mends, against.way())
	case len(mine) == 0:
		s.Text += " Ask for a later date, or free some hours or molds."
	case len(mine) < len(designsOf(order.Lines)):
		s.Text += " Pieces of its other designs that are missing need a later date, or more hours or molds."
	}
	return s
}

// barsOf is the bars of the designs of some lines.
func barsOf(lines []orders.OrderLine, bars []orders.Bar) []orders.Bar {
	of := designsOf(lines)
	return slices.DeleteFunc(slices.Clone(bars), func(b orders.Bar) bool { return !slices.Contains(of, b.DesignID) })
}

// designsOf is the ids of the designs of some lines, each once.
func designsOf(lines []orders.OrderLine) []string {
	var ids []string
	for _, l := range lines {
		if !slices.Contains(ids, l.DesignID) {
			ids = append(ids, l.DesignID)
		}
	}
	return ids
}

// mendLink leads to what has to change before a design may be poured.
func mendLink(b orders.Bar) linkView {
	page := "/designs/"
	if b.Mend == orders.MendRecipe {
		page = "/recipes/"
	}
	return linkView{Href: page + b.MendID, Title: "Open the " + string(b.Mend) + " " + b.MendName}
}
