package chain

// choice is a way to split a state in two.
type choice struct {
	chain int
	kind  splitKind
	step  int
	at    int  // the last day, or the kind, of the first side
	flip  bool // the second side first
	score float64
}

type splitKind int

const (
	noSplit splitKind = iota
	splitLate
	splitBase
	splitDays
	splitKinds
)

// choose picks where the relaxation is least decided: first whether a chain is
// late or differs from its base, then the step whose day spreads most.
func (s *solver) choose(st *state) choice {
	var best choice
	for i := range s.n {
		s.considerLate(st, i, &best)
		s.considerBase(st, i, &best)
	}
	if best.kind != noSplit {
		return best
	}
	for i := range s.n {
		s.considerDays(st, i, &best)
		s.considerKinds(st, i, &best)
	}
	if best.kind == noSplit {
		return s.anySplit(st)
	}
	return best
}

func (c *choice) offer(o choice) {
	if o.score > c.score {
		*c = o
	}
}

// doubt is largest where a share of a whole is one half.
func doubt(share, whole int) float64 {
	p := float64(share) / float64(whole)
	return p * (1 - p)
}

// leastDoubt is the doubt below which late or not is left to the days.
const leastDoubt = 0.02

func (s *solver) considerLate(st *state, i int, best *choice) {
	c := &s.p.Chains[i]
	ends := st.days(i, End)
	if s.stage == anySchedule || ends.min() > c.Due || ends.max() <= c.Due {
		return
	}
	if d := doubt(s.mean.late[i], s.mean.rounds); d > leastDoubt {
		best.offer(choice{chain: i, kind: splitLate, step: End, at: c.Due, flip: 2*s.mean.late[i] > s.mean.rounds, score: d * float64(c.Weight)})
	}
}

func (s *solver) considerBase(st *state, i int, best *choice) {
	c := &s.p.Chains[i]
	if s.stage < 2 || !c.hasBase() || st.moved(i) || !st.allows(i, c.Base) {
		return
	}
	if d := doubt(s.mean.changed[i], s.mean.rounds); d > leastDoubt {
		best.offer(choice{chain: i, kind: splitBase, flip: 2*s.mean.changed[i] > s.mean.rounds, score: d})
	}
}

func (s *solver) considerDays(st *state, i int, best *choice) {
	n := float64(s.mean.rounds)
	for step := range Steps {
		ds := st.days(i, step)
		lo, hi := ds.min(), ds.max()
		if lo == hi {
			continue
		}
		mean := float64(s.mean.at[i][step]) / n
		spread := float64(s.mean.square[i][step])/n - mean*mean
		if spread < 1e-6 {
			continue
		}
		at := min(max(int(mean), lo), hi-1)
		best.offer(choice{chain: i, kind: splitDays, step: step, at: at, flip: s.picks[i].place.At[step] > at, score: spread})
	}
}

// kindDoubt weighs doubt about a kind against spread in days.
const kindDoubt = 8

func (s *solver) considerKinds(st *state, i int, best *choice) {
	kinds := st.kindsOf(i)
	if kinds.count() == 1 {
		return
	}
	for k := kinds.next(0); k >= 0; k = kinds.next(k + 1) {
		if d := doubt(s.mean.kinds[i][k], s.mean.rounds); d > 0 {
			best.offer(choice{chain: i, kind: splitKinds, at: k, flip: s.picks[i].place.Kind != k, score: d * kindDoubt})
		}
	}
}

// anySplit splits the first chain that has a choice left.
func (s *solver) anySplit(st *state) choice {
	for i := range s.n {
		for step := range Steps {
			ds := st.days(i, step)
			if ds.count() > 1 {
				pick := s.picks[i].place.At[step]
				at := min(max(pick, ds.min()), ds.max()-1)
				return choice{chain: i, kind: splitDays, step: step, at: at, flip: pick > at}
			}
		}
		if kinds := st.kindsOf(i); kinds.count() > 1 {
			return choice{chain: i, kind: splitKinds, at: s.picks[i].place.Kind}
		}
	}
	return choice{}
}

// apply leaves one side of a choice in a state.
func (s *solver) apply(st *state, c choice, first bool) {
	switch c.kind {
	case splitLate, splitDays:
		if first {
			st.days(c.chain, c.step).clip(0, c.at)
		} else {
			st.days(c.chain, c.step).clip(c.at+1, s.p.Days)
		}
	case splitKinds:
		if first {
			st.kindsOf(c.chain).clip(c.at, c.at)
		} else {
			st.kindsOf(c.chain).drop(c.at)
		}
	case splitBase:
		if first {
			st.restrict(c.chain, s.p.Chains[c.chain].Base)
		} else {
			st.setMoved(c.chain)
		}
	}
}
