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
	dearest           []int64 // that a price may become
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
	trial             []Place
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
	s := &solver{p: p, n: len(p.Chains), ctx: ctx, budget: budget}
	s.cost, s.work = p.tighten(ctx, root, budget)
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
	for _, list := range []*[]int64{&s.y, &s.topY, &s.push, &s.capacity, &s.measure, &s.dearest, &s.excess} {
		*list = make([]int64, s.rows())
	}
	s.storeSum, s.tail, s.mid = make([]int64, p.Days+1), make([]int64, p.Days), make([]int64, p.Days)
	s.best, s.bestAt = make([]int64, p.Days+longest+1), make([]int, p.Days+longest+1)
	for step := range Steps {
		s.via.days[step] = make([]int64, p.Days)
	}
	s.via.kinds = make([]int64, len(p.Kinds))
	s.picks, s.order, s.until = make([]priced, s.n), make([]int, s.n), make([]int, p.Days+1)
	s.trial = make([]Place, s.n)
	s.mean, s.use = newMeans(s.n, len(p.Kinds)), newUse(len(p.Kinds), p.Days)
	s.scratch, s.scratch2 = make(set, root.words), make(set, root.words)
	s.setRows()
	s.builder = s.newBuilder(root)
	return s
}

// Effort spent on schedules outside the proofs.
const (
	firstTries = 200   // orders of insertion, until one fits
	firstTurns = 3_000 // of neighbourhood search, before any proof
	laterShare = 50    // budget for each turn of it, where a proof was not finished
)

// Levels beside those of Value.
const anySchedule = -1 // only whether there is one

func (s *solver) solve(root *state) (*Answer, error) {
	if found, err := s.first(root); err != nil {
		return nil, err
	} else if !found {
		return nil, s.explain()
	}
	s.builder.search(rand.New(rand.NewPCG(1, 2)), firstTurns)
	answer := &Answer{Proved: true}
	for level := range levels {
		proved, err := s.decide(root, level)
		if err != nil {
			return nil, err
		}
		answer.Proved = answer.Proved && proved
		if level == 0 {
			answer.LateBound = s.lateBound(proved)
		}
	}
	answer.Places, answer.Value, answer.Work = s.places, s.value, s.work
	return answer, nil
}

// first looks for any schedule; false means that it is proved that there is none.
func (s *solver) first(root *state) (bool, error) {
	s.stage, s.scale = anySchedule, 1<<20
	if !s.propagate(root) {
		return false, s.ctx.Err()
	}
	s.sumPrices()
	s.builder.begin(rand.New(rand.NewPCG(3, 4)), firstTries)
	if s.found {
		return true, nil
	}
	s.explore(root, s.y, 0, 0)
	if err := s.ctx.Err(); err != nil {
		return false, err
	}
	if !s.found && s.work >= s.budget {
		return false, &NotFoundError{s.work}
	}
	return s.found, nil
}

// decide finds the least of one level with the levels before at their limits,
// and says whether it is proved.
func (s *solver) decide(root *state, level int) (bool, error) {
	s.stage, s.halt, s.open = level, false, far
	best := s.value.fields()[level]
	if best > 0 {
		s.limit[level] = best - 1
		s.scale = 1 << 20
		for s.scale > 1 && s.scale*int64(best) > 1<<31 {
			s.scale >>= 1
		}
		clear(s.y)
		s.explore(root, s.y, 0, 0)
		if s.halt {
			s.builder.search(rand.New(rand.NewPCG(5, uint64(level))), s.budget/laterShare)
		}
	}
	s.limit[level] = s.value.fields()[level]
	return !s.halt, s.ctx.Err()
}

// lateBound is what no schedule can be less late than.
func (s *solver) lateBound(proved bool) int {
	if proved {
		return s.value.Late
	}
	return min(s.value.Late, int((s.open+s.scale-1)/s.scale))
}

// passing is what a bound must exceed to rule out a schedule worth finding.
func (s *solver) passing() int64 {
	if s.stage == anySchedule {
		return 0
	}
	return int64(s.limit[s.stage]) * s.scale
}

// offer keeps a copy of a schedule that is better than the best.
func (s *solver) offer(places []Place) {
	v := s.p.value(places)
	if s.found && !v.Less(s.value) {
		return
	}
	s.places, s.value, s.found = append(s.places[:0], places...), v, true
	if s.stage == anySchedule {
		s.halt = true
		return
	}
	fields := v.fields()
	for l := range s.stage {
		if fields[l] > s.limit[l] {
			return
		}
	}
	s.limit[s.stage] = min(s.limit[s.stage], fields[s.stage]-1)
}

func (s *solver) offerPicks() {
	for i := range s.trial {
		s.trial[i] = s.picks[i].place
	}
	s.offerTrial()
}

func (s *solver) offerSettled(st *state) {
	for i := range s.trial {
		s.trial[i] = st.place(i)
	}
	s.offerTrial()
}

// offerTrial offers a schedule that was not put together place by place; it is
// checked first, as nothing else stands between a slip of the bound and the answer.
func (s *solver) offerTrial() {
	if s.builder.fits(s.trial) {
		s.offer(s.trial)
	}
}
