// Package plancheck says what is wrong with a plan. It is written from the
// rules a plan has to keep, and shares no code with the planner: it keeps its
// own clock arithmetic, sweeps over events where the planner keeps profiles, and
// recomputes every figure the plan states. Tests import it; the product does
// not.
//
// Rules may be broken by what already happened, which no plan can mend: a batch
// whose cut window has passed, a rack that is overfull. Such a break is accepted
// only where the plan names the batch and the rule in its Problems, or where
// nothing planned takes part in it.
package plancheck

import (
	"fmt"
	"slices"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// Check lists every rule the plan breaks, in words; none when it is sound.
func Check(p *schedule.Problem, plan *schedule.Plan) []string {
	c := newChecker(p, plan)
	c.checkKeys()
	for i := range plan.Batches {
		c.checkBatch(&plan.Batches[i])
	}
	c.checkHands()
	c.checkMolds()
	c.checkRack()
	c.checkTrials()
	c.checkSupplies()
	c.checkPieces()
	c.checkOutcomes()
	c.checkObjective()
	c.checkStability()
	slices.Sort(c.found)
	return c.found
}

// checker collects findings about one plan.
type checker struct {
	p       *schedule.Problem
	plan    *schedule.Plan
	designs map[string]*schedule.Design
	book    map[string]*schedule.Batch // by id
	found   []string
}

func newChecker(p *schedule.Problem, plan *schedule.Plan) *checker {
	c := &checker{p: p, plan: plan, designs: map[string]*schedule.Design{}, book: map[string]*schedule.Batch{}}
	for i := range p.Designs {
		c.designs[p.Designs[i].ID] = &p.Designs[i]
	}
	for i := range p.Batches {
		c.book[p.Batches[i].ID] = &p.Batches[i]
	}
	return c
}

func (c *checker) say(format string, args ...any) {
	c.found = append(c.found, fmt.Sprintf(format, args...))
}

// admits reports whether the plan names a break of a rule by a batch.
func (c *checker) admits(key string, kind schedule.HoldKind) bool {
	return slices.ContainsFunc(c.plan.Problems, func(r schedule.Reason) bool { return r.Batch == key && r.Kind == kind })
}

func (c *checker) day(t time.Time) civil.Date { return civil.Of(t.In(c.p.Zone)) }

// checkKeys compares the batches of the plan with those of the book.
func (c *checker) checkKeys() {
	seen := map[string]bool{}
	for i, b := range c.plan.Batches {
		if seen[b.Key] {
			c.say("batch %s is in the plan twice", b.Key)
		}
		seen[b.Key] = true
		if b.New != (c.book[b.Key] == nil) {
			c.say("batch %s: new is %v, which the book contradicts", b.Key, b.New)
		}
		if i > 0 && c.plan.Batches[i-1].Make.From.After(b.Make.From) {
			c.say("batch %s is out of order", b.Key)
		}
	}
	for i := range c.p.Batches {
		b := &c.p.Batches[i]
		dropped := slices.Contains(c.plan.Dropped, b.ID)
		homeless := slices.ContainsFunc(c.plan.Problems, func(r schedule.Reason) bool { return r.Batch == b.ID })
		switch {
		case seen[b.ID] && dropped:
			c.say("batch %s is dropped and yet planned", b.ID)
		case !seen[b.ID] && b.State != schedule.Planned && !homeless:
			c.say("batch %s is under way but not in the plan", b.ID)
		case !seen[b.ID] && b.State == schedule.Planned && !dropped && !homeless:
			c.say("batch %s is neither planned nor dropped", b.ID)
		}
	}
}

// checkBatch checks one batch by itself.
func (c *checker) checkBatch(b *schedule.PlanBatch) {
	d, old := c.designs[b.DesignID], c.book[b.Key]
	if d == nil {
		c.say("batch %s is of no known design", b.Key)
		return
	}
	if old != nil && (old.State != b.State || old.DesignID != b.DesignID) {
		c.say("batch %s is not the one in the book", b.Key)
	}
	if b.State == schedule.Planned {
		c.checkPour(b, d, old)
	} else {
		c.checkFacts(b, old)
	}
	c.checkTimes(b, d, old)
	c.checkWindows(b, d, old)
}

// checkPour checks what may be poured, and in what.
func (c *checker) checkPour(b *schedule.PlanBatch, d *schedule.Design, old *schedule.Batch) {
	if d.Blocked != "" {
		c.say("batch %s is of a design that may not be scheduled", b.Key)
	}
	sum := 0
	for _, use := range b.Molds {
		sum += use.Pieces
		if !holdsExactly(d, use) {
			c.say("batch %s: %d molds %s can not hold %d pieces", b.Key, use.Units, use.MoldID, use.Pieces)
		}
	}
	if sum != b.Pieces || sum == 0 {
		c.say("batch %s: %d pieces in its molds, %d stated", b.Key, sum, b.Pieces)
	}
	lost := int(float64(b.Pieces)*d.Spoil + 1 - 1e-9)
	published := old != nil && old.Sound > 0 && old.Pieces == b.Pieces && b.Sound == old.Sound
	if b.Sound != b.Pieces-lost && !published {
		c.say("batch %s: %d of %d pieces stated sound, %d expected", b.Key, b.Sound, b.Pieces, b.Pieces-lost)
	}
}

// checkSupplies adds up, for each planned batch, what is poured of its design until
// its day, and checks that there are supplies for that many pieces by then.
func (c *checker) checkSupplies() {
	for i := range c.plan.Batches {
		b := &c.plan.Batches[i]
		d := c.designs[b.DesignID]
		if b.State != schedule.Planned || d == nil || len(d.Supplies) == 0 {
			continue
		}
		day, poured := c.day(b.Make.From), 0
		for _, other := range c.plan.Batches {
			if other.State == schedule.Planned && other.DesignID == d.ID && !c.day(other.Make.From).After(day) {
				poured += other.Pieces
			}
		}
		there := 0
		for _, s := range d.Supplies {
			if s.From.After(day) {
				break
			}
			if there = s.Pieces; s.Endless {
				there = poured
			}
		}
		if poured > there {
			c.say("batch %s is made before its supplies are there: %d pieces of %s are poured by %s of what does for %d", b.Key, poured, d.ID, day, there)
		}
	}
}

// holdsExactly tries every number of full molds; the others hold their smallest
// fill and whole steps.
func holdsExactly(d *schedule.Design, use schedule.MoldUse) bool {
	for _, f := range d.Fits {
		if f.MoldID != use.MoldID {
			continue
		}
		reach := map[int]bool{0: true}
		for range use.Units {
			next := map[int]bool{}
			for have := range reach {
				next[have+f.Full] = true
				for n := f.Min; n <= f.Full; n += max(1, f.Step) {
					next[have+n] = true
				}
			}
			reach = next
		}
		if reach[use.Pieces] {
			return true
		}
	}
	return false
}

// checkFacts checks that what happened has not moved.
func (c *checker) checkFacts(b *schedule.PlanBatch, old *schedule.Batch) {
	if old == nil {
		c.say("batch %s is under way but not in the book", b.Key)
		return
	}
	if !old.Make.From.Equal(b.Make.From) || !old.Make.To.Equal(b.Make.To) {
		c.say("batch %s: its pour moved", b.Key)
	}
	if b.State == schedule.Curing && (!old.Cut.From.Equal(b.Cut.From) || !old.Cut.To.Equal(b.Cut.To)) {
		c.say("batch %s: its cut moved", b.Key)
	}
	if b.Pieces != old.Pieces || b.Sound != old.Sound || !slices.Equal(b.Molds, old.Molds) {
		c.say("batch %s: its pieces or molds changed", b.Key)
	}
}

// checkTimes checks lags and durations.
func (c *checker) checkTimes(b *schedule.PlanBatch, d *schedule.Design, old *schedule.Batch) {
	from, to := c.cutWindow(b, d)
	if !b.CutFrom.Equal(from) || !b.CutTo.Equal(to) {
		c.say("batch %s states a wrong cut window", b.Key)
	}
	if b.State != schedule.Curing {
		late := b.Cut.From.After(to) || d.CutWindow.Days && b.Cut.From.Equal(to)
		if b.Cut.From.Before(from) || late && (b.State != schedule.Poured || !c.admits(b.Key, schedule.HoldCut)) {
			c.say("batch %s is cut at %s, outside its window %s to %s", b.Key, b.Cut.From, from, to)
		}
		c.checkLength(b, "cut", b.Cut, d.CutFixed, d.CutPer, b.Pieces)
	}
	if b.Wrap.From.Before(b.Cut.To) {
		c.say("batch %s is wrapped before it is cut", b.Key)
	}
	cut := c.day(b.Cut.From)
	least, wished := cut.AddDays(d.CureMin), cut.AddDays(d.CureTarget)
	if old != nil && b.State != schedule.Planned {
		least, wished = lastOf(least, old.CureUntil), lastOf(wished, old.CureUntil)
	}
	if b.CureMin != least || b.CureTarget != wished {
		c.say("batch %s states wrong cure days", b.Key)
	}
	if c.day(b.Wrap.From).Before(least) {
		c.say("batch %s is wrapped on %s, before its cure is over on %s", b.Key, c.day(b.Wrap.From), least)
	}
	if b.State == schedule.Planned {
		c.checkLength(b, "make", b.Make, d.MakeFixed, d.MakePer, b.Pieces)
	}
	c.checkWrap(b, d)
}

// cutWindow is when the cut may start.
func (c *checker) cutWindow(b *schedule.PlanBatch, d *schedule.Design) (from, to time.Time) {
	if !d.CutWindow.Days {
		return b.Make.To.Add(time.Duration(d.CutWindow.Min) * time.Hour), b.Make.To.Add(time.Duration(d.CutWindow.Max) * time.Hour)
	}
	day := c.day(b.Make.From)
	from, to = civil.StartOfDay(day.AddDays(d.CutWindow.Min), c.p.Zone), civil.StartOfDay(day.AddDays(d.CutWindow.Max+1), c.p.Zone)
	if b.Make.To.After(from) {
		from = b.Make.To
	}
	return from, to
}

func (c *checker) checkLength(b *schedule.PlanBatch, step string, at schedule.Interval, fixed, per, pieces int) {
	if want := taking(fixed, per, pieces); at.To.Sub(at.From) != want {
		c.say("batch %s: its %s takes %s instead of %s", b.Key, step, at.To.Sub(at.From), want)
	}
}

// taking is the time fixed minutes and seconds for each piece take, in whole
// minutes.
func taking(fixed, per, pieces int) time.Duration {
	seconds := time.Duration(per*pieces) * time.Second
	whole := seconds.Truncate(time.Minute)
	if whole < seconds {
		whole += time.Minute
	}
	return time.Duration(fixed)*time.Minute + whole
}

// checkWrap checks that the parts of the wrapping have room for all pieces.
func (c *checker) checkWrap(b *schedule.PlanBatch, d *schedule.Design) {
	parts := b.WrapParts
	if len(parts) == 0 || !parts[0].From.Equal(b.Wrap.From) || !parts[len(parts)-1].To.Equal(b.Wrap.To) {
		c.say("batch %s: the parts of its wrapping do not make up the whole", b.Key)
		return
	}
	if len(parts) == 1 {
		c.checkLength(b, "wrap", b.Wrap, d.WrapFixed, d.WrapPer, b.Sound)
		return
	}
	room := 0
	for i, part := range parts {
		length := part.To.Sub(part.From)
		if i == 0 {
			length -= time.Duration(d.WrapFixed) * time.Minute
		}
		pieces := 0
		if d.WrapPer > 0 {
			pieces = int(length / (time.Duration(d.WrapPer) * time.Second))
		}
		if pieces < 1 {
			c.say("batch %s: a part of its wrapping holds no piece", b.Key)
		}
		if i > 0 && !part.From.After(parts[i-1].To) {
			c.say("batch %s: the parts of its wrapping are not apart", b.Key)
		}
		room += pieces
	}
	if room < b.Sound {
		c.say("batch %s: its wrapping has room for %d of %d pieces", b.Key, room, b.Sound)
	}
}

func lastOf(a, b civil.Date) civil.Date {
	if b.After(a) {
		return b
	}
	return a
}
