package chain

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
	if s.stopped() {
		s.open = min(s.open, total)
		return
	}
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
		if total > s.passing() {
			return far, true
		}
		if !s.filter(&n.st, total) || s.stopped() {
			return total, false
		}
		rounds = nodeRounds / 2
	}
}
