package chain

import (
	"context"
	"math/rand/v2"
)

// DefaultBudget is the number of chains that a search may price where the
// caller gives none: about a second's work.
const DefaultBudget = 1_500_000

// solver is one search.
type solver struct {
	p      *Problem
	n      int
	cost   tightened
	units  [][]int64 // by kind, day
	ctx    context.Context
	work   int
	budget int
	halt   bool

	stage int         // the level being decided
	limit [levels]int // what a schedule worth finding does not pass
	open  int64       // least bound of what was left unexplored

	places []Place // best so far
	value  Value
	found  bool

	y, topY, push     []int64 // prices: now, at the best bound, last step
	capacity, measure []int64
	excess            []int64
	scale             int64
	charge            [levels]int64
	picks             []priced
	mean              means
	kindSum           [][]int64
	storeSum          []int64
	tail, best, mid   []int64
	bestAt            []int
	via               through
	use               use
	until             []int
	scratch, scratch2 set
	order             []int
	builder           *builder
	pool              []*node
}

// node is a state on the way down, with its prices.
type node struct {
	st state
	y  []int64
}

// Solve finds a schedule of least value, and proves it so if the budget, a
// number of chains to price, allows; 0 stands for DefaultBudget. The error is
// an *InfeasibleError where there is no schedule, a *NotFoundError where the
// budget ended first, or the context's.
func Solve(ctx context.Context, p *Problem, budget int) (*Answer, error) {
	if budget <= 0 {
		budget = DefaultBudget
	}
	root := p.full()
	s := newSolver(ctx, p, budget, &root)
	return s.solve(&root)
}

func newSolver(ctx context.Context, p *Problem, budget int, root *state) *solver {
	s := &solver{p: p, n: len(p.Chains), ctx: ctx, budget: budget, cost: p.tighten(root)}
	s.units = make([][]int64, len(p.Kinds))
	longest := 0
	for i := range p.Chains {
		longest = max(longest, p.Chains[i].Rest)
	}
	for k := range p.Kinds {
		s.units[k] = make([]int64, p.Days)
		for d, u := range p.Kinds[k].Units {
			s.units[k][d] = int64(max(u, 0))
		}
		s.kindSum = append(s.kindSum, make([]int64, p.Days+1))
	}
	for _, list := range []*[]int64{&s.y, &s.topY, &s.push, &s.capacity, &s.measure, &s.excess} {
		*list = make([]int64, s.rows())
	}
	s.storeSum, s.tail, s.mid = make([]int64, p.Days+1), make([]int64, p.Days), make([]int64, p.Days)
	s.best, s.bestAt = make([]int64, p.Days+longest+1), make([]int, p.Days+longest+1)
	for step := range Steps {
		s.via.days[step] = make([]int64, p.Days)
	}
	s.via.kinds = make([]int64, len(p.Kinds))
	s.picks, s.order, s.until = make([]priced, s.n), make([]int, s.n), make([]int, p.Days+1)
	s.mean, s.use = newMeans(s.n, len(p.Kinds)), newUse(len(p.Kinds), p.Days)
	s.scratch, s.scratch2 = make(set, root.words), make(set, root.words)
	s.setRows()
	s.builder = s.newBuilder(root)
	return s
}

// setRows writes the capacity of each row, and the measure by which steps of
// its price are taken.
func (s *solver) setRows() {
	for r := range s.measure {
		s.measure[r] = 1
	}
	for d := range s.p.Days {
		for k := range s.p.Kinds {
			s.capacity[s.atKind(k, d)] = s.units[k][d]
		}
		s.capacity[s.atStore(d)], s.measure[s.atStore(d)] = int64(s.p.Store), int64(max(s.p.Store, 1))
		s.capacity[s.atEffort(d)], s.measure[s.atEffort(d)] = int64(s.p.Effort[d]), int64(max(s.p.Effort[d], 1))
	}
	s.measure[s.atLevel(1)] = 8
}

// Shares of the budget for the first schedules and for each level.
const (
	firstTries = 200
	firstTurns = 3000
)

func (s *solver) solve(root *state) (*Answer, error) {
	s.setLimits()
	if !s.propagate(root) {
		return nil, &InfeasibleError{"there is no way to fit everything in"}
	}
	r := rand.New(rand.NewPCG(1, 2))
	s.sumPrices()
	s.builder.begin(r, firstTries)
	if s.found {
		s.builder.search(r, firstTurns)
	}
	answer := &Answer{Proved: true}
	for level := range levels {
		if done, err := s.decide(root, level, answer); err != nil {
			return nil, err
		} else if !done {
			answer.Proved = false
		}
	}
	answer.Places, answer.Value, answer.Work = s.places, s.value, s.work
	return answer, nil
}

// setLimits lets any schedule pass.
func (s *solver) setLimits() {
	s.limit = [levels]int{0, s.n * s.p.Days, s.n}
	for i := range s.p.Chains {
		s.limit[0] += s.p.Chains[i].Weight
	}
}

// decide finds the least of one level with the levels before at their limits,
// and says whether it is proved.
func (s *solver) decide(root *state, level int, answer *Answer) (bool, error) {
	s.stage, s.halt, s.open = level, false, far
	s.allow(level)
	if s.found && s.value.fields()[level] == 0 {
		s.limit[level] = 0
		return true, nil
	}
	clear(s.y)
	s.explore(root, s.y, 0, 0)
	if err := s.ctx.Err(); err != nil {
		return false, err
	}
	if !s.found {
		if s.halt {
			return false, &NotFoundError{s.work}
		}
		return false, &InfeasibleError{"there is no way to fit everything in: every case was tried"}
	}
	if level == 0 {
		answer.LateBound = s.value.Late
		if s.halt {
			answer.LateBound = min(s.value.Late, int((s.open+s.scale-1)/s.scale))
		}
	}
	s.limit[level] = s.value.fields()[level]
	return !s.halt, nil
}

// allow sets the limit of a level to one better than the best schedule, and the
// scale so that the numbers stay small.
func (s *solver) allow(level int) {
	if s.found {
		s.limit[level] = s.value.fields()[level] - 1
	}
	s.scale = 1 << 20
	for s.scale > 1 && s.scale*int64(s.limit[level]+1) > 1<<31 {
		s.scale >>= 1
	}
}

// offer keeps a copy of a schedule that is better than the best.
func (s *solver) offer(places []Place) {
	v := s.p.value(places)
	if s.found && !v.Less(s.value) {
		return
	}
	s.places, s.value, s.found = append(s.places[:0], places...), v, true
	before := v.fields()
	for l := range s.stage {
		if before[l] > s.limit[l] {
			return
		}
	}
	s.limit[s.stage] = min(s.limit[s.stage], before[s.stage]-1)
}

func (s *solver) offerPicks() {
	places := s.order2()
	s.offer(places)
}

func (s *solver) order2() []Place {
	places := make([]Place, s.n)
	for i := range places {
		places[i] = s.picks[i].place
	}
	return places
}

// explore searches a state: what is left of it after propagation, bound and
// filter is split in two, and both sides are searched. inherited is the bound
// of the state above.
func (s *solver) explore(above *state, prices []int64, depth int, inherited int64) {
	if s.stopped() {
		s.open = min(s.open, inherited)
		return
	}
	n := s.nodeAt(depth)
	copy(n.st.bits, above.bits)
	copy(n.y, prices)
	s.expand(n, depth, inherited)
}

func (s *solver) stopped() bool {
	if !s.halt && (s.work >= s.budget || s.ctx.Err() != nil) {
		s.halt = true
	}
	return s.halt
}

func (s *solver) nodeAt(depth int) *node {
	for len(s.pool) <= depth {
		st := newState(s.n, s.p.Days, len(s.p.Kinds))
		s.pool = append(s.pool, &node{st, make([]int64, s.rows())})
	}
	return s.pool[depth]
}

func (s *solver) expand(n *node, depth int, inherited int64) {
	total, closed := s.close(n, depth)
	if closed {
		return
	}
	total = max(total, inherited)
	split := s.choose(&n.st)
	if split.kind == noSplit {
		return
	}
	for side := range 2 {
		first := (side == 0) != split.flip
		child := s.nodeAt(depth + 1)
		copy(child.st.bits, n.st.bits)
		s.apply(&child.st, split, first)
		s.explore(&child.st, n.y, depth+1, total)
	}
}

// close propagates and bounds a state until neither drops anything; it says
// whether there is nothing left to find in it.
func (s *solver) close(n *node, depth int) (int64, bool) {
	rounds := nodeRounds
	if depth == 0 {
		rounds = rootRounds
	}
	var total int64
	for {
		if !s.propagate(&n.st) {
			return far, true
		}
		if n.st.settled(s.n) {
			s.offerSettled(&n.st)
			return far, true
		}
		copy(s.y, n.y)
		var passed bool
		total, passed = s.bound(&n.st, rounds)
		copy(n.y, s.y)
		if passed {
			return far, true
		}
		s.builder.buildFromPicks()
		if total > int64(s.limit[s.stage])*s.scale {
			return far, true
		}
		if !s.filter(&n.st, total) || s.stopped() {
			return total, false
		}
		rounds = nodeRounds / 2
	}
}

func (s *solver) offerSettled(st *state) {
	places := make([]Place, s.n)
	for i := range places {
		places[i] = st.place(i)
	}
	s.offer(places)
}
