package orders

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// maxProposals bounds the proposals that can be open at once.
const maxProposals = 50

// publish makes the draft the published plan: batches, allocations, told
// dates, tasks, revision and journal.
func (r *round) publish(ctx context.Context, d draft, diff schedule.Diff) (PlanChange, error) {
	ids, err := r.storeBatches(ctx, d)
	if err != nil {
		return PlanChange{}, err
	}
	r.snap.Allocations = r.snap.planned(d.plan, ids)
	if err := r.tx.SetAllocations(ctx, r.snap.Allocations); err != nil {
		return PlanChange{}, fmt.Errorf("publish plan: %w", err)
	}
	outcomes := r.outcomes(d.plan)
	if err := r.tell(ctx, outcomes); err != nil {
		return PlanChange{}, err
	}
	if err := r.tx.EndProposals(ctx, ProposalSuperseded, ""); err != nil {
		return PlanChange{}, err
	}
	rev := PlanRevision{
		Why: r.cause.why, Objective: d.plan.Objective, Bound: d.plan.Bound, Proved: d.plan.Proved,
		Diff: renamed(diff, ids), Outcomes: outcomes, Problems: orEmpty(d.plan.Problems),
	}
	if err := r.addRevision(ctx, &rev); err != nil {
		return PlanChange{}, err
	}
	if err := r.syncTasks(ctx, d.plan, outcomes, rev.Number); err != nil {
		return PlanChange{}, err
	}
	return PlanChange{Published: true, Revision: rev.Number, Diff: rev.Diff, Proposals: []Proposal{}}, nil
}

// storeBatches writes the draft's batches and returns the id of each new key.
// The round's snapshot follows.
func (r *round) storeBatches(ctx context.Context, d draft) (map[string]string, error) {
	if err := r.drop(ctx, d.dropped); err != nil {
		return nil, err
	}
	for _, b := range d.moved {
		if err := r.updateBatch(ctx, b); err != nil {
			return nil, err
		}
	}
	if err := r.followFacts(ctx, d.unmoved()); err != nil {
		return nil, err
	}
	ids := make(map[string]string)
	for _, pb := range d.fresh {
		b, err := r.newBatch(ctx, pb)
		if err != nil {
			return nil, err
		}
		ids[pb.Key] = b.ID
		r.snap.Batches = append(r.snap.Batches, b)
	}
	return ids, nil
}

// drop cancels planned batches; the round's snapshot follows.
func (r *round) drop(ctx context.Context, batches []Batch) error {
	for _, b := range batches {
		b.State, b.EndedAt = BatchCancelled, r.now
		if err := r.tx.Batches().Update(ctx, &b); err != nil {
			return fmt.Errorf("cancel batch %s: %w", b.Lot, err)
		}
		r.snap.Batches = slices.DeleteFunc(r.snap.Batches, func(x Batch) bool { return x.ID == b.ID })
	}
	return nil
}

// dropBarred cancels the batches that may not be poured any more, and returns
// their ids: they leave the published plan whatever waits for a yes.
func (r *round) dropBarred(ctx context.Context, d draft) ([]string, error) {
	barred := slices.DeleteFunc(slices.Clone(d.dropped), func(b Batch) bool { return !r.blocked(b.DesignID) })
	if len(barred) == 0 {
		return nil, nil
	}
	if err := r.drop(ctx, barred); err != nil {
		return nil, err
	}
	ids := idsOf(barred)
	r.snap.Allocations = slices.DeleteFunc(r.snap.Allocations, func(a Allocation) bool { return slices.Contains(ids, a.BatchID) })
	if err := r.tx.SetAllocations(ctx, r.snap.Allocations); err != nil {
		return nil, fmt.Errorf("take back pieces of what may not be poured: %w", err)
	}
	return ids, nil
}

// unmoved is the draft without the facts of batches that move anyway.
func (d draft) unmoved() draft {
	d.facts = slices.DeleteFunc(slices.Clone(d.facts), func(b Batch) bool {
		return slices.ContainsFunc(d.moved, func(m Batch) bool { return m.ID == b.ID })
	})
	return d
}

// followFacts writes the windows that follow from facts, whatever becomes of
// the plan.
func (r *round) followFacts(ctx context.Context, d draft) error {
	for _, b := range d.facts {
		if err := r.updateBatch(ctx, b); err != nil {
			return err
		}
	}
	return nil
}

func (r *round) updateBatch(ctx context.Context, b Batch) error {
	if err := r.tx.Batches().Update(ctx, &b); err != nil {
		return fmt.Errorf("move batch %s: %w", b.Lot, err)
	}
	for i := range r.snap.Batches {
		if r.snap.Batches[i].ID == b.ID {
			r.snap.Batches[i] = b
		}
	}
	return nil
}

// forced is the draft with the moves that facts call for among its facts: those
// of the batch that something just happened to, and of batches in the making that
// can not go on as published.
func (r *round) forced(d draft) draft {
	for _, b := range d.moved {
		if b.ID != r.cause.own() && !r.overtaken(b.ID) {
			continue
		}
		d.facts = append(slices.DeleteFunc(slices.Clone(d.facts), func(f Batch) bool { return f.ID == b.ID }), b)
	}
	return d
}

// overtaken reports whether a poured or cut batch can not go on as published,
// whoever says no to it: the time for its next step has passed, or it would be
// wrapped before its shortest cure is over. One that its weighings alone put off
// waits for a yes, even past the time it was to be wrapped.
func (r *round) overtaken(id string) bool {
	b, _ := find(r.snap.Batches, id, func(b Batch) string { return b.ID })
	design, _ := find(r.problem.Designs, b.DesignID, func(d schedule.Design) string { return d.ID })
	ripe := civil.Of(b.Cut.From.In(r.problem.Zone)).AddDays(design.CureMin)
	wrap := civil.Of(b.Wrap.From.In(r.problem.Zone))
	soon, missed := wrap.Before(ripe), b.Wrap.From.Before(r.now)
	switch b.State {
	case BatchPoured:
		return soon || missed || b.Cut.From.Before(r.now)
	case BatchCuring:
		return soon || missed && !wrap.Before(b.CureUntil)
	case BatchPlanned, BatchWrapped, BatchFailed, BatchCancelled: // free to move, or ended
	}
	return false
}

// newBatch adds a batch of the plan to the book. Its lot code keeps the day it
// was first planned for, however often it moves, until it is poured.
func (r *round) newBatch(ctx context.Context, pb schedule.PlanBatch) (Batch, error) {
	d, _ := find(r.snap.Designs, pb.DesignID, func(d Design) string { return d.ID })
	lot, err := nextLot(ctx, r.tx, d.LotCode, lotDay(civil.Of(pb.Make.From.In(r.problem.Zone))))
	if err != nil {
		return Batch{}, fmt.Errorf("name a batch of %s: %w", d.Name, err)
	}
	b := Batch{Lot: lot, DesignID: pb.DesignID, State: BatchPlanned}.adopt(pb)
	if err := r.tx.Batches().Insert(ctx, &b); err != nil {
		return Batch{}, fmt.Errorf("add batch %s: %w", b.Lot, err)
	}
	return b, nil
}

// tell notes the ready date that a customer was told: the first one published
// after the order was accepted, and a later one that the maker said yes to.
func (r *round) tell(ctx context.Context, outcomes []schedule.OrderOutcome) error {
	for i := range r.snap.Orders {
		o := &r.snap.Orders[i]
		got, ok := find(outcomes, o.ID, func(x schedule.OrderOutcome) string { return x.OrderID })
		if !ok || got.Ready.IsZero() || got.Short > 0 {
			continue
		}
		if o.Told.IsZero() || r.cause.taken && got.Ready.After(o.Told) {
			o.Told = got.Ready
			if err := r.tx.Orders().Update(ctx, o); err != nil {
				return fmt.Errorf("note the told date of order %d: %w", o.Number, err)
			}
		}
	}
	return nil
}

// addRevision stores the revision and journals it.
func (r *round) addRevision(ctx context.Context, rev *PlanRevision) error {
	rev.At, rev.By = r.now, r.actor.Name
	rev.Diff.Added = append(slices.Clone(r.added), rev.Diff.Added...)
	if err := r.tx.AddRevision(ctx, rev); err != nil {
		return fmt.Errorf("add plan revision: %w", err)
	}
	text := fmt.Sprintf("Published plan %d. %s", rev.Number, rev.Why)
	if said := r.costs(rev.Diff); len(said) > 0 {
		text += " " + strings.Join(said, " ")
	}
	return r.book.journal(ctx, r.tx, r.actor, "plan.publish", fmt.Sprint(rev.Number), text)
}

// syncTasks brings the stored tasks in line with the snapshot as it now is.
func (r *round) syncTasks(ctx context.Context, plan *schedule.Plan, outcomes []schedule.OrderOutcome, revision int) error {
	wanted, err := r.snap.wanted(plan, outcomes)
	if err != nil {
		return err
	}
	next := *r.snap
	next.Tasks = wanted // whose trials are the plan's
	inTheWay, err := next.obstacles(r.now)
	if err != nil {
		return err
	}
	tellObstacles(wanted, inTheWay)
	again, err := r.wantedAgain(ctx, wanted)
	if err != nil {
		return err
	}
	end := taskEnd{tx: r.tx, snap: r.snap, planned: r.planned, zone: r.problem.Zone}
	tasks, err := merged(append(again, r.snap.Tasks...), wanted, end.end(ctx), r.now, revision)
	if err != nil {
		return err
	}
	if len(tasks) == 0 {
		return nil
	}
	if err := r.tx.PutTasks(ctx, tasks); err != nil {
		return fmt.Errorf("store tasks: %w", err)
	}
	return nil
}

// wantedAgain is the tasks to order something that were done and have to be done
// again while they are still ahead, or for the same day, as when what was ordered comes
// too late after all: they open again, since a second one would stand beside them in a
// calendar.
func (r *round) wantedAgain(ctx context.Context, wanted []Task) ([]Task, error) {
	today := civil.Of(r.now.In(r.problem.Zone))
	from := today
	fresh := make(map[taskKey]civil.Date)
	for _, t := range wanted {
		open := slices.ContainsFunc(r.snap.Tasks, func(o Task) bool { return o.key() == t.key() })
		if t.Kind == TaskSupplies && !open {
			fresh[t.key()] = t.Day
			from = earliest(from, t.Day)
		}
	}
	if len(fresh) == 0 {
		return nil, nil
	}
	all, err := r.tx.Tasks(ctx, from)
	if err != nil {
		return nil, err
	}
	var out []Task
	for _, t := range all {
		day, asked := fresh[t.key()]
		if asked && t.Status == TaskDone && (t.Day == day || !t.Day.Before(today)) {
			out = append(out, t)
			delete(fresh, t.key())
		}
	}
	return out, nil
}

func earliest(a, b civil.Date) civil.Date {
	if b.Before(a) {
		return b
	}
	return a
}

// propose leaves complete plans for the maker to choose from. What happened
// already is published all the same: the work of a lost batch ends, an order
// that lost pieces is short of them, and the later steps of a batch go where
// its pour or cut put them. What may not be poured any more leaves the plan.
func (r *round) propose(ctx context.Context, d draft, ways []schedule.Proposal) (PlanChange, error) {
	if err := r.followFacts(ctx, r.forced(d)); err != nil {
		return PlanChange{}, err
	}
	barred, err := r.dropBarred(ctx, d)
	if err != nil {
		return PlanChange{}, err
	}
	outcomes, problems := r.standing(d.plan), r.last.Problems
	if !r.snap.draft(d.plan).changes() { // all of it stands already, and what is wrong with it too
		problems = d.plan.Problems
	}
	rev := PlanRevision{Number: r.snap.Workshop.PlanRevision}
	if !r.sameOutcomes(r.before(), outcomes) || !slices.Equal(problems, r.last.Problems) {
		rev = PlanRevision{
			Why: r.cause.why, Objective: r.rated(outcomes), Bound: r.last.Bound, Diff: renamed(r.loss(barred), nil), Outcomes: outcomes, Problems: orEmpty(problems),
		}
		if err := r.addRevision(ctx, &rev); err != nil {
			return PlanChange{}, err
		}
	}
	if err := r.tell(ctx, outcomes); err != nil {
		return PlanChange{}, err
	}
	if err := r.syncTasks(ctx, nil, outcomes, rev.Number); err != nil {
		return PlanChange{}, err
	}
	if err := r.tx.EndProposals(ctx, ProposalSuperseded, ""); err != nil {
		return PlanChange{}, err
	}
	ps := r.proposals(ways, rev.Number)
	if err := r.tx.AddProposals(ctx, ps); err != nil {
		return PlanChange{}, fmt.Errorf("store proposals: %w", err)
	}
	text := fmt.Sprintf("%s %s for a yes.", count(len(ps), "proposal"), map[bool]string{true: "waits", false: "wait"}[len(ps) == 1])
	if err := r.book.journal(ctx, r.tx, r.actor, "plan.propose", ps[0].ID, text+" "+ps[0].Why); err != nil {
		return PlanChange{}, err
	}
	change := PlanChange{Revision: rev.Number, Diff: ps[0].Diff, Proposals: ps}
	if r.newPlanned {
		change.Published, change.Diff = true, rev.Diff
	}
	return change, nil
}

// loss is the difference that a loss makes by itself, with the batches that are
// barred.
func (r *round) loss(barred []string) schedule.Diff {
	_, runs := find(r.snap.Batches, r.cause.fact, func(b Batch) string { return b.ID })
	if !r.cause.lost || runs {
		return schedule.Diff{Dropped: barred}
	}
	return schedule.Diff{Dropped: append([]string{r.cause.fact}, barred...)}
}

// proposals is the ways as rows, against the given plan revision. A loss that
// still waits for a choice stays the reason.
func (r *round) proposals(ways []schedule.Proposal, base int) []Proposal {
	why := r.cause.why
	if !r.cause.lost && r.undecided() {
		why = r.open[0].Why
	}
	out := make([]Proposal, len(ways))
	for i, w := range ways {
		out[i] = Proposal{
			ID: uuid.NewString(), At: r.now, Why: why, Rank: i + 1, Kind: w.Kind, Title: w.Title, Costs: orEmpty(w.Costs),
			Status: ProposalOpen, BaseRevision: base, BookRevision: r.revision, Diff: w.Diff, Plan: w.Plan,
		}
	}
	return out
}

// orEmpty is s, or an empty list for none, which JSON tells apart.
func orEmpty[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}

// renamed is the diff with the ids of new batches in place of their keys.
func renamed(diff schedule.Diff, ids map[string]string) schedule.Diff {
	name := func(key string) string {
		if id, ok := ids[key]; ok {
			return id
		}
		return key
	}
	diff.Moves, diff.Added = orEmpty(slices.Clone(diff.Moves)), orEmpty(slices.Clone(diff.Added))
	diff.Dropped, diff.Late = orEmpty(diff.Dropped), orEmpty(diff.Late)
	for i := range diff.Moves {
		diff.Moves[i].BatchKey = name(diff.Moves[i].BatchKey)
	}
	for i := range diff.Added {
		diff.Added[i] = name(diff.Added[i])
	}
	return diff
}
