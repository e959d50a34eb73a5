package orders_test

import (
	"errors"
	"flag"
	"maps"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ripeline/calc"
	"ripeline/orders"
)

// lives is how many random lives are played; each takes about a second.
const lives = "6"

// TestRandomLives does things in any order, sensible or not, and checks after
// each of them that pieces add up, that sheets pour them, that what happened stays,
// and that calendars can rely on their entries.
func TestRandomLives(t *testing.T) {
	checks := flag.Lookup("rapid.checks")
	usual := checks.Value.String()
	if err := checks.Value.Set(lives); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := checks.Value.Set(usual); err != nil {
			t.Error(err)
		}
	})
	store := openStore(t)
	rapid.Check(t, func(r *rapid.T) {
		s := newShop(t, store)
		s.worksEveryEvening()
		for range rapid.IntRange(10, 30).Draw(r, "steps") {
			before, facts := s.tasks(), s.facts()
			s.act(r)
			s.goesOn(before)
			s.stayed(facts)
			s.follows()
			s.sound(false)
			s.poursTheBook()
			if rapid.Bool().Draw(r, "settles") {
				s.settles()
			}
			if t.Failed() {
				r.FailNow()
			}
		}
	})
}

// settles checks that planning the same book again at the same time changes
// nothing.
func (s *shop) settles() {
	first, err := s.book.Replan(s.ctx, s.owner)
	s.must(err)
	tasks := s.tasks()
	again, err := s.book.Replan(s.ctx, s.owner)
	s.must(err)
	if again.Published || again.Revision != first.Revision {
		s.t.Errorf("planning again published plan %d: %+v", again.Revision, again.Diff)
	}
	if now := s.tasks(); !maps.Equal(tasks, now) {
		s.t.Errorf("planning again changed tasks")
	}
}

// act does one random thing. Being refused is fine; being broken is not.
func (s *shop) act(r *rapid.T) {
	acts := map[string]func(*rapid.T) error{
		"take": s.randomTake, "change": s.randomChange, "end": s.randomEnd, "hand over": s.randomHandOver,
		"wait": s.randomWait, "pour": s.randomPour, "cut": s.randomCut, "wrap": s.randomWrap, "fail": s.randomFail,
		"weigh": s.randomWeigh, "pin": s.randomPin, "propose": s.randomProposal, "close": s.randomClosed,
	}
	name := rapid.SampledFrom([]string{
		"take", "take", "change", "end", "hand over", "wait", "wait", "pour", "pour", "cut", "cut", "wrap", "wrap", "fail",
		"weigh", "pin", "propose", "close",
	}).Draw(r, "act")
	if err := acts[name](r); err != nil && !errors.Is(err, orders.ErrConflict) && !errors.Is(err, orders.ErrInvalid) {
		s.t.Errorf("%s: %v", name, err)
	}
}

func (s *shop) randomTake(r *rapid.T) error {
	in := s.wants(rapid.IntRange(1, 80).Draw(r, "pieces"), rapid.IntRange(10, 120).Draw(r, "days"))
	_, _, err := s.book.TakeOrder(s.ctx, s.owner, in, rapid.IntRange(0, 3).Draw(r, "accepted") > 0)
	return err
}

// anOrder picks an order that is not closed; false when there is none.
func (s *shop) anOrder(r *rapid.T) (orders.Order, bool) {
	var open []orders.Order
	list, err := s.book.Orders(s.ctx, s.owner, orders.ListQuery{Limit: 200})
	s.must(err)
	for _, o := range list.Items {
		if o.Status == orders.Accepted || o.Status == orders.Enquiry {
			open = append(open, o)
		}
	}
	if len(open) == 0 {
		return orders.Order{}, false
	}
	return open[rapid.IntRange(0, len(open)-1).Draw(r, "order")], true
}

func (s *shop) randomChange(r *rapid.T) error {
	o, ok := s.anOrder(r)
	if !ok {
		return nil
	}
	if o.Status == orders.Enquiry {
		_, _, err := s.book.AcceptOrder(s.ctx, s.owner, o.ID, o.Version)
		return err
	}
	in := s.wants(rapid.IntRange(1, 80).Draw(r, "pieces"), rapid.IntRange(10, 120).Draw(r, "days"))
	if rapid.Bool().Draw(r, "same line") {
		in.Lines[0].ID = o.Lines[0].ID
	}
	_, _, err := s.book.ChangeOrder(s.ctx, s.owner, o.ID, o.Version, in)
	return err
}

func (s *shop) randomEnd(r *rapid.T) error {
	o, ok := s.anOrder(r)
	if !ok {
		return nil
	}
	_, _, err := s.book.EndOrder(s.ctx, s.owner, o.ID, o.Version)
	return err
}

func (s *shop) randomHandOver(r *rapid.T) error {
	o, ok := s.anOrder(r)
	if !ok {
		return nil
	}
	_, _, err := s.book.HandOver(s.ctx, s.owner, o.ID, o.Version, orders.HandOverFact{})
	return err
}

func (s *shop) randomWait(r *rapid.T) error {
	s.now = s.now.Add(time.Duration(rapid.IntRange(1, 300).Draw(r, "hours")) * time.Hour)
	_, err := s.book.Replan(s.ctx, s.owner)
	return err
}

// aBatch picks a batch of a state, and lets the clock reach its planned time,
// but for its wish to be early or late.
func (s *shop) aBatch(r *rapid.T, state orders.BatchState) (orders.Batch, bool) {
	all := s.batches(state)
	if len(all) == 0 {
		return orders.Batch{}, false
	}
	b := all[rapid.IntRange(0, len(all)-1).Draw(r, "batch")]
	at := map[orders.BatchState]time.Time{orders.BatchPlanned: b.Make.To, orders.BatchPoured: b.Cut.To, orders.BatchCuring: b.Wrap.To}[state]
	at = at.Add(time.Duration(rapid.IntRange(-2, 30).Draw(r, "hours late")) * time.Hour)
	if at.After(s.now) {
		s.now = at
	}
	return b, true
}

// recordedLate is when a step was done that is recorded now: mostly just now, else
// up to five weeks ago, not before the step that came before.
func (s *shop) recordedLate(r *rapid.T, before time.Time) time.Time {
	at := s.now.Add(-time.Duration(max(0, rapid.IntRange(-840, 840).Draw(r, "recorded late by hours"))) * time.Hour)
	if at.Before(before) {
		return before.Add(s.now.Sub(before) / 2)
	}
	return at
}

func (s *shop) randomPour(r *rapid.T) error {
	b, ok := s.aBatch(r, orders.BatchPlanned)
	if !ok {
		return nil
	}
	_, _, err := s.book.Pour(s.ctx, s.owner, b.ID, b.Version, orders.PourFact{At: s.recordedLate(r, time.Time{})})
	return err
}

func (s *shop) randomCut(r *rapid.T) error {
	b, ok := s.aBatch(r, orders.BatchPoured)
	if !ok {
		return nil
	}
	_, _, err := s.book.Cut(s.ctx, s.owner, b.ID, b.Version, orders.CutFact{At: s.recordedLate(r, b.PouredAt), Spoiled: rapid.IntRange(0, 12).Draw(r, "spoiled")})
	return err
}

func (s *shop) randomWrap(r *rapid.T) error {
	b, ok := s.aBatch(r, orders.BatchCuring)
	if !ok {
		return nil
	}
	_, _, err := s.book.Wrap(s.ctx, s.owner, b.ID, b.Version, orders.WrapFact{At: s.recordedLate(r, b.CutAt), Spoiled: rapid.IntRange(0, 3).Draw(r, "spoiled")})
	return err
}

func (s *shop) randomFail(r *rapid.T) error {
	state := rapid.SampledFrom([]orders.BatchState{orders.BatchPoured, orders.BatchCuring}).Draw(r, "state")
	all := s.batches(state)
	if len(all) == 0 {
		return nil
	}
	b := all[rapid.IntRange(0, len(all)-1).Draw(r, "batch")]
	_, _, err := s.book.Fail(s.ctx, s.owner, b.ID, b.Version, orders.FailFact{Pieces: rapid.IntRange(0, 20).Draw(r, "lost")})
	return err
}

func (s *shop) randomWeigh(*rapid.T) error {
	all := s.batches(orders.BatchCuring)
	if len(all) == 0 {
		return nil
	}
	w := orders.Weighing{Pieces: 1, Mass: 100 * calc.Gram}
	_, _, err := s.book.Weigh(s.ctx, s.owner, all[0].ID, 0, w)
	return err
}

func (s *shop) randomPin(r *rapid.T) error {
	all := s.batches(orders.BatchPlanned)
	if len(all) == 0 {
		return nil
	}
	_, _, err := s.book.Pin(s.ctx, s.owner, all[0].ID, 0, rapid.Bool().Draw(r, "pinned"))
	return err
}

func (s *shop) randomProposal(r *rapid.T) error {
	open, err := s.book.Proposals(s.ctx, s.owner)
	s.must(err)
	if len(open) == 0 {
		return nil
	}
	if rapid.IntRange(0, 4).Draw(r, "dismissed") == 0 {
		return s.book.DismissProposals(s.ctx, s.owner)
	}
	_, err = s.book.TakeProposal(s.ctx, s.owner, open[rapid.IntRange(0, len(open)-1).Draw(r, "proposal")].ID)
	return err
}

func (s *shop) randomClosed(r *rapid.T) error {
	from := s.today().AddDays(rapid.IntRange(0, 30).Draw(r, "from"))
	_, err := s.book.Closed.Create(s.ctx, s.owner, orders.ClosedDays{From: from, To: from.AddDays(rapid.IntRange(0, 5).Draw(r, "days"))})
	return err
}

// facts is every batch as it is.
func (s *shop) facts() map[string]orders.Batch {
	out := make(map[string]orders.Batch)
	for _, b := range s.batches("") {
		out[b.ID] = b
	}
	return out
}

// stayed checks that what had happened was not changed afterwards.
func (s *shop) stayed(before map[string]orders.Batch) {
	now := s.facts()
	for id, was := range before {
		is, ok := now[id]
		poured := was.PouredAt.IsZero() || is.PouredAt.Equal(was.PouredAt) && is.Make == was.Make && is.Pieces == was.Pieces
		cut := was.CutAt.IsZero() || is.CutAt.Equal(was.CutAt) && is.Cut == was.Cut && is.Sound <= was.Sound
		wrapped := was.WrappedAt.IsZero() || is.WrappedAt.Equal(was.WrappedAt) && is.Wrap == was.Wrap
		ended := was.EndedAt.IsZero() || is.State == was.State && is.EndedAt.Equal(was.EndedAt)
		if !ok || !poured || !cut || !wrapped || !ended || !was.PouredAt.IsZero() && is.Lot != was.Lot || len(is.Losses) < len(was.Losses) {
			s.t.Errorf("a fact of %s changed from %+v to %+v", was.Lot, was, is)
		}
	}
}
