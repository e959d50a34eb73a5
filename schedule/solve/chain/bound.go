package chain

// Rounds of price changes at the root and at other nodes.
const (
	rootRounds = 800
	nodeRounds = 20
)

// unit is the fixed-point one of the excess of a row.
const unit = 256

// steepest is the most that counts of the excess of a row, so that no sum of
// squares overflows; it takes thousands of times the capacity to reach it.
const steepest = 1 << 25

// bound raises the prices in s.y, by steps against the excess of the picked
// places, to where the bound is best; it returns the bound in units of s.scale
// and whether it passes the limit. Each step aims at just passing it (Polyak
// 1969), and shortens when it does not help (Held, Wolfe and Crowder 1974).
func (s *solver) bound(st *state, rounds int) (int64, bool) {
	s.mean.reset()
	passed := s.passing()
	top, length, idle := -far, int64(unit), 0
	clear(s.push)
	for range rounds {
		if s.ctx.Err() != nil {
			break
		}
		total := s.evaluate(st)
		if total > passed {
			return total, true
		}
		s.balance()
		s.mean.add(s)
		if total > top {
			top, idle = total, 0
			copy(s.topY, s.y)
		} else if idle++; idle == 6 {
			length, idle = length/2, 0
			copy(s.y, s.topY)
		}
		if s.fits() {
			s.offerPicks()
			if s.halt {
				return total, true
			}
			passed = s.passing()
		}
		if length < 2 || !s.step(passed+s.scale-total, length) {
			break
		}
	}
	copy(s.y, s.topY)
	top = s.evaluate(st)
	return top, top > passed
}

// fits says whether the picked places share what there is.
func (s *solver) fits() bool {
	for _, over := range s.excess {
		if over > 0 {
			return false
		}
	}
	return true
}

// step moves the prices along the excess, smoothed with the steps before;
// false means that there is nothing to move.
func (s *solver) step(gap, length int64) bool {
	var norm int64
	for r, over := range s.excess {
		if s.y[r] == 0 && over <= 0 && s.push[r] <= 0 {
			s.push[r] = 0
			continue
		}
		g := over * unit / s.measure[r]
		g = min(max(g+s.push[r]*7/8, -steepest), steepest)
		if s.y[r] == 0 && g < 0 {
			g = 0
		}
		s.push[r] = g
		norm += g * g
	}
	if norm == 0 {
		return false
	}
	gap = min(gap, 1<<32)
	for r, g := range s.push {
		if g != 0 {
			s.y[r] = min(max(0, s.y[r]+gap*g/norm*length/s.measure[r]), s.dearest[r])
		}
	}
	return true
}

// means gathers what the rounds of a node picked: the mix that the relaxation
// can not tell apart is where to branch.
type means struct {
	rounds        int
	at, square    [][Steps]int
	late, changed []int
	kinds         [][]int
}

func newMeans(n, kinds int) means {
	m := means{at: make([][Steps]int, n), square: make([][Steps]int, n), late: make([]int, n), changed: make([]int, n), kinds: make([][]int, n)}
	for i := range m.kinds {
		m.kinds[i] = make([]int, kinds)
	}
	return m
}

func (m *means) reset() {
	m.rounds = 0
	clear(m.at)
	clear(m.square)
	clear(m.late)
	clear(m.changed)
	for i := range m.kinds {
		clear(m.kinds[i])
	}
}

func (m *means) add(s *solver) {
	m.rounds++
	for i := range s.n {
		at := s.picks[i].place
		for step, d := range at.At {
			m.at[i][step] += d
			m.square[i][step] += d * d
		}
		m.kinds[i][at.Kind]++
		if at.At[End] > s.p.Chains[i].Due {
			m.late[i]++
		}
		if !s.p.Chains[i].keeps(at) {
			m.changed[i]++
		}
	}
}
