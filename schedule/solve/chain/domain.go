package chain

import "math/bits"

// set is a set of small numbers, one bit each.
type set []uint64

// has is false for a number past the set's room: a base may lie past the days.
func (d set) has(x int) bool { return x>>6 < len(d) && d[x>>6]>>(x&63)&1 == 1 }
func (d set) add(x int)      { d[x>>6] |= 1 << (x & 63) }
func (d set) drop(x int)     { d[x>>6] &^= 1 << (x & 63) }

// min is the least member, or -1.
func (d set) min() int {
	for i, w := range d {
		if w != 0 {
			return i<<6 + bits.TrailingZeros64(w)
		}
	}
	return -1
}

// max is the greatest member, or -1.
func (d set) max() int {
	for i := len(d) - 1; i >= 0; i-- {
		if d[i] != 0 {
			return i<<6 + 63 - bits.LeadingZeros64(d[i])
		}
	}
	return -1
}

func (d set) count() int {
	n := 0
	for _, w := range d {
		n += bits.OnesCount64(w)
	}
	return n
}

// next is the least member from x on, or -1.
func (d set) next(x int) int {
	if x>>6 >= len(d) {
		return -1
	}
	if w := d[x>>6] >> (x & 63); w != 0 {
		return x + bits.TrailingZeros64(w)
	}
	for i := x>>6 + 1; i < len(d); i++ {
		if d[i] != 0 {
			return i<<6 + bits.TrailingZeros64(d[i])
		}
	}
	return -1
}

// last is the greatest member up to x, or -1.
func (d set) last(x int) int {
	if w := d[x>>6] << (63 - x&63); w != 0 {
		return x - bits.LeadingZeros64(w)
	}
	return d[:x>>6].max()
}

// addShifted adds the members of another set of the same room, each raised by
// the same number; those past the room are left out.
func (d set) addShifted(from set, by int) {
	words, rest := by>>6, by&63
	for i := len(d) - 1; i >= words; i-- {
		w := from[i-words] << rest
		if rest > 0 && i > words {
			w |= from[i-words-1] >> (64 - rest)
		}
		d[i] |= w
	}
}

// clip keeps the members from a to b and says whether any was dropped.
func (d set) clip(a, b int) bool {
	changed := false
	for x := d.next(0); x >= 0; x = d.next(x + 1) {
		if x < a || x > b {
			d.drop(x)
			changed = true
		}
	}
	return changed
}

// state holds what each chain may still do: days of each step, kinds, and
// whether it must be counted as differing from its base.
type state struct {
	bits  []uint64
	words int // of a set of days
	kinds int // words of a set of kinds
}

func newState(n, days, kinds int) state {
	s := state{words: (days + 63) / 64, kinds: (kinds + 63) / 64}
	s.bits = make([]uint64, n*s.stride())
	return s
}

func (s *state) stride() int { return Steps*s.words + s.kinds + 1 }

func (s *state) days(i, step int) set {
	at := i*s.stride() + step*s.words
	return s.bits[at : at+s.words]
}

func (s *state) kindsOf(i int) set {
	at := i*s.stride() + Steps*s.words
	return s.bits[at : at+s.kinds]
}

func (s *state) moved(i int) bool { return s.bits[(i+1)*s.stride()-1] != 0 }
func (s *state) setMoved(i int)   { s.bits[(i+1)*s.stride()-1] = 1 }

// place is the place of a chain with one choice left for everything.
func (s *state) place(i int) Place {
	at := Place{Kind: s.kindsOf(i).min()}
	for step := range Steps {
		at.At[step] = s.days(i, step).min()
	}
	return at
}

// settled says whether every chain has one choice left for everything.
func (s *state) settled(n int) bool {
	for i := range n {
		for step := range Steps {
			if s.days(i, step).count() != 1 {
				return false
			}
		}
		if s.kindsOf(i).count() != 1 {
			return false
		}
	}
	return true
}

// allows says whether a chain may still take every set part of a place.
func (s *state) allows(i int, at Place) bool {
	for step, day := range at.At {
		if day != None && !s.days(i, step).has(day) {
			return false
		}
	}
	return at.Kind == None || s.kindsOf(i).has(at.Kind)
}

// restrict leaves a chain only the set parts of a place.
func (s *state) restrict(i int, at Place) {
	for step, day := range at.At {
		if day != None {
			s.days(i, step).clip(day, day)
		}
	}
	if at.Kind != None {
		s.kindsOf(i).clip(at.Kind, at.Kind)
	}
}

// full is the state before anything is decided.
func (p *Problem) full() state {
	s := newState(len(p.Chains), p.Days, len(p.Kinds))
	for i := range p.Chains {
		c := &p.Chains[i]
		for step := range Steps {
			c.fillDays(s.days(i, step), step, p)
		}
		for _, k := range c.Kinds {
			if c.Fixed.Kind == None || c.Fixed.Kind == k {
				s.kindsOf(i).add(k)
			}
		}
		if !c.keepsLags(c.Base) { // its days may each be open, but not to the chain
			s.setMoved(i)
		}
	}
	return s
}

func (c *Chain) fillDays(d set, step int, p *Problem) {
	if day := c.Fixed.At[step]; day != None {
		d.add(day)
		return
	}
	first := p.Today
	if step == Start {
		first = max(first, c.Release)
	}
	for day := max(first, 0); day < p.Days; day++ {
		if p.Open[step][day] {
			d.add(day)
		}
	}
}
