package chain

import (
	"fmt"
	"math/rand/v2"
)

// workshop draws a small problem of the kind that people have: a short working
// week, few units, a store that nearly fills, tight days.
func workshop(r *rand.Rand, chains, days int) *Problem {
	p := &Problem{Days: days, Store: 4 + r.IntN(4)}
	for k := range 1 + r.IntN(2) {
		kind := Kind{Name: fmt.Sprintf("kind %d", k), Units: make([]int, days)}
		out := r.IntN(2 * days)
		for d := range kind.Units {
			kind.Units[d] = 1
			if d >= out && d < out+3 {
				kind.Units[d] = 0
			}
		}
		p.Kinds = append(p.Kinds, kind)
	}
	for step := range Steps {
		p.Open[step] = make([]bool, days)
		for d := range days {
			p.Open[step][d] = r.IntN(10) < 6
		}
	}
	p.Effort = make([]int, days)
	for d := range days {
		p.Effort[d] = 3 + r.IntN(3)
	}
	for i := range chains {
		p.Chains = append(p.Chains, drawChain(r, p, i))
	}
	return p
}

func drawChain(r *rand.Rand, p *Problem, i int) Chain {
	c := Chain{
		Name: fmt.Sprintf("C%d", i), Release: r.IntN(4), Weight: 1 + r.IntN(3),
		LagMin: r.IntN(3), Rest: r.IntN(4), Load: 1 + r.IntN(4),
		Effort: [Steps]int{1 + r.IntN(3), r.IntN(3), r.IntN(3)},
		Fixed:  Free, Base: Free,
	}
	c.LagMax = c.LagMin + r.IntN(2)
	c.Due = c.Release + c.LagMin + c.Rest + r.IntN(4)
	c.Kinds = []int{r.IntN(len(p.Kinds))}
	if len(p.Kinds) == 2 && r.IntN(2) == 0 {
		c.Kinds = []int{0, 1}
	}
	return c
}

// replan turns a problem into one with a past, a published plan, and sometimes
// half a plan or a fact that contradicts the rest.
func replan(r *rand.Rand, p *Problem, published []Place) *Problem {
	next := *p
	next.Today = r.IntN(p.Days / 2)
	next.Chains = append([]Chain(nil), p.Chains...)
	for i := range next.Chains {
		c, at := &next.Chains[i], published[i]
		c.Base = at
		if r.IntN(8) == 0 {
			c.Base.At[r.IntN(Steps)] = None
		}
		for step, day := range at.At {
			if day < next.Today {
				c.Fixed.At[step], c.Fixed.Kind = day, at.Kind
			}
		}
		if r.IntN(20) == 0 && c.Fixed.At[Start] != None {
			c.Fixed.At[Start] = r.IntN(p.Days)
		}
	}
	k := &next.Kinds[r.IntN(len(next.Kinds))]
	k.Units = append([]int(nil), k.Units...)
	for d := next.Today; d < min(next.Today+3, p.Days); d++ {
		k.Units[d] = 0
	}
	return &next
}

// exhaustive tries every combination of places, one chain after the other, and
// returns the least value.
func exhaustive(p *Problem) (Value, bool) {
	all := make([][]Place, len(p.Chains))
	for i := range p.Chains {
		all[i] = everyPlace(p, &p.Chains[i])
	}
	t := &tally{p: p, all: all, places: make([]Place, len(p.Chains))}
	t.try(0)
	return t.best, t.found
}

func everyPlace(p *Problem, c *Chain) []Place {
	var places []Place
	for a := range p.Days {
		for b := a; b < p.Days; b++ {
			for e := b; e < p.Days; e++ {
				for k := range p.Kinds {
					if at := (Place{[Steps]int{a, b, e}, k}); checkChain(p, c, at) == nil {
						places = append(places, at)
					}
				}
			}
		}
	}
	return places
}

// tally is an exhaustive search; it cuts nothing but what is already too full
// or no better than the best.
type tally struct {
	p      *Problem
	all    [][]Place
	places []Place
	best   Value
	found  bool
}

func (t *tally) try(i int) {
	v := worth(t.p, t.places[:i])
	if t.found && !v.Less(t.best) {
		return
	}
	if i == len(t.all) {
		t.best, t.found = v, true
		return
	}
	for _, at := range t.all[i] {
		t.places[i] = at
		if t.fits(i + 1) {
			t.try(i + 1)
		}
	}
}

func (t *tally) fits(n int) bool {
	last := t.places[n-1].At
	for day := last[0]; day <= last[2]; day++ {
		if checkDay(t.p, t.places[:n], day) != nil {
			return false
		}
	}
	return true
}
