package schedule_test

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"ripeline/schedule"
	"ripeline/schedule/civil"
	"ripeline/schedule/plancheck"
)

// batch finds a published batch.
func (s *scenario) batch(id string) *schedule.Batch {
	for i := range s.p.Batches {
		if s.p.Batches[i].ID == id {
			return &s.p.Batches[i]
		}
	}
	s.fail("there is no batch %s", id)
	return nil
}

func (s *scenario) lose() {
	b := s.batch(s.next())
	s.p.Batches = slices.DeleteFunc(s.p.Batches, func(x schedule.Batch) bool { return x.ID == b.ID })
}

func (s *scenario) sound() { s.batch(s.next()).Sound = s.number(s.next()) }

func (s *scenario) pin() { s.batch(s.next()).Pinned = true }

func (s *scenario) cureUntil() { s.batch(s.next()).CureUntil = s.date(s.next()) }

func (s *scenario) cancel() {
	id := s.next()
	s.p.Orders = slices.DeleteFunc(s.p.Orders, func(o schedule.Order) bool { return o.ID == id })
}

// asked finds an order.
func (s *scenario) asked(id string) *schedule.Order {
	for i := range s.p.Orders {
		if s.p.Orders[i].ID == id {
			return &s.p.Orders[i]
		}
	}
	s.fail("there is no order %s", id)
	return nil
}

func (s *scenario) pieces() { s.asked(s.next()).Lines[0].Pieces = s.number(s.next()) }

func (s *scenario) needed() { s.asked(s.next()).NeededBy = s.date(s.next()) }

// publish makes the last plan the published one, its batches named b1, b2, ...
func (s *scenario) publish() {
	named := len(s.p.Batches)
	for i := range s.plan.Batches {
		b := &s.plan.Batches[i]
		if !b.New {
			continue
		}
		named++
		id := fmt.Sprintf("b%d", named)
		for j := range s.plan.Allocations {
			if s.plan.Allocations[j].BatchKey == b.Key {
				s.plan.Allocations[j].BatchKey = id
			}
		}
		b.Key, b.New = id, false
	}
	s.p = *publish(&s.p, s.plan)
	for i := range s.p.Stock {
		stock := &s.p.Stock[i]
		stock.For = nil
		for _, a := range s.plan.Allocations {
			if a.StockID == stock.ID {
				stock.For = append(stock.For, schedule.Share{LineID: a.LineID, Pieces: a.Pieces})
			}
		}
	}
}

// obstacles tells what is in the way of the published plan.
func (s *scenario) obstacles() {
	found := obstacles(s.t, s.where, &s.p)
	if len(found) == 0 {
		s.out.WriteString("nothing is in the way\n")
	}
	for _, o := range found {
		fmt.Fprintf(&s.out, "in the way of %s: %s (%s): %s\n", o.BatchID, o.Step, o.Kind, o.Text)
	}
}

// until lets time pass, and all happen as published.
func (s *scenario) until() {
	s.p.Now = civil.At(s.date(s.next()), s.clock(s.next()), s.p.Zone)
	var left []schedule.Batch
	for _, b := range s.p.Batches {
		switch {
		case !b.Wrap.To.After(s.p.Now):
			s.p.Stock = append(s.p.Stock, schedule.Stock{ID: b.ID, DesignID: b.DesignID, Pieces: b.Sound, For: b.For})
			continue
		case !b.Cut.To.After(s.p.Now):
			b.State = schedule.Curing
		case !b.Make.To.After(s.p.Now):
			b.State = schedule.Poured
		}
		left = append(left, b)
	}
	s.p.Batches = left
}

func (s *scenario) check(p *schedule.Problem, plan *schedule.Plan) {
	s.t.Helper()
	for _, finding := range plancheck.Check(p, plan) {
		s.t.Errorf("%s: %s", s.where, finding)
	}
}

func (s *scenario) solve() {
	plan, err := schedule.Solve(context.Background(), &s.p)
	if err != nil {
		s.fail("%v", err)
	}
	s.check(&s.p, plan)
	s.plan = plan
	s.printPlan("plan", plan)
	s.printMoves(schedule.DiffPublished(&s.p, plan))
}

func (s *scenario) promise() {
	o := s.readOrder(false)
	a, err := schedule.Promise(context.Background(), &s.p, o)
	if err != nil {
		s.fail("%v", err)
	}
	fmt.Fprintf(&s.out, "promise %s: %s", o.ID, a.Verdict)
	if a.Proved {
		s.out.WriteString(" (proved)")
	}
	fmt.Fprintf(&s.out, ", ready %s", a.Ready)
	for _, date := range []struct {
		name string
		day  civil.Date
	}{{"last safe pour", a.LastSafePour}, {"earliest", a.Earliest}, {"bound", a.Bound}} {
		if !date.day.IsZero() {
			fmt.Fprintf(&s.out, ", %s %s", date.name, date.day)
		}
	}
	s.out.WriteString("\n")
	for _, r := range a.Reasons {
		fmt.Fprintf(&s.out, "  because: %s\n", r.Text)
	}
	for _, alt := range a.Alternatives {
		fmt.Fprintf(&s.out, "  or: %s: %s\n", alt.Kind, alt.Text)
	}
	s.words = nil
}

func (s *scenario) reshuffle() {
	list, err := schedule.Reshuffle(context.Background(), &s.p)
	if err != nil {
		s.fail("%v", err)
	}
	for _, pr := range list {
		s.check(&s.p, pr.Plan)
		fmt.Fprintf(&s.out, "proposal %s: %s", pr.Kind, pr.Title)
		if pr.SafeToPublish {
			s.out.WriteString(" (safe to publish)")
		}
		s.out.WriteString("\n")
		for _, cost := range pr.Costs {
			fmt.Fprintf(&s.out, "  %s\n", cost)
		}
	}
}

func (s *scenario) printPlan(title string, plan *schedule.Plan) {
	fmt.Fprintf(&s.out, "%s at %s: %s\n", title, s.p.Now.Format("Mon 2 Jan 15:04"), plan.Objective.Words()[0])
	for _, b := range plan.Batches {
		fmt.Fprintf(&s.out, "  %s %s %d of %d:", b.Key, b.DesignID, b.Sound, b.Pieces)
		if !b.Trial.From.IsZero() {
			fmt.Fprintf(&s.out, " trial %s,", s.span(b.Trial))
		}
		fmt.Fprintf(&s.out, " make %s, cut %s,", s.span(b.Make), s.span(b.Cut))
		for _, part := range b.WrapParts {
			fmt.Fprintf(&s.out, " wrap %s", s.span(part))
		}
		for _, h := range b.Holds {
			fmt.Fprintf(&s.out, "; %s: %s", h.Step, h.Kind)
		}
		s.out.WriteString("\n")
	}
	for _, o := range plan.Orders {
		fmt.Fprintf(&s.out, "  %s ready %s of %s", o.OrderID, o.Ready, o.Deadline)
		if o.LateDays > 0 {
			fmt.Fprintf(&s.out, ", %d days late", o.LateDays)
		}
		if o.Short > 0 {
			fmt.Fprintf(&s.out, ", %d pieces short", o.Short)
		}
		if o.CureLess > 0 {
			fmt.Fprintf(&s.out, ", %d days less cure", o.CureLess)
		}
		if !o.RemakeBy.IsZero() {
			fmt.Fprintf(&s.out, ", remake by %s", o.RemakeBy.In(s.p.Zone).Format("Mon 2 Jan 15:04"))
		}
		s.out.WriteString("\n")
	}
	for _, r := range plan.Problems {
		fmt.Fprintf(&s.out, "  problem: %s\n", r.Text)
	}
	if len(plan.Dropped) > 0 {
		fmt.Fprintf(&s.out, "  dropped: %s\n", strings.Join(plan.Dropped, ", "))
	}
}

func (s *scenario) printMoves(d schedule.Diff) {
	for _, m := range d.Moves {
		firm := ""
		if m.Firm {
			firm = ", firm"
		}
		fmt.Fprintf(&s.out, "  moved: %s %s from %s to %s%s\n", m.BatchKey, m.Step, s.span(m.From), s.span(m.To), firm)
	}
}

// span writes a stretch of work by the clock on the wall.
func (s *scenario) span(i schedule.Interval) string {
	return i.From.In(s.p.Zone).Format("Mon 2 Jan 15:04") + i.To.In(s.p.Zone).Format("-15:04")
}
