package chain

import (
	"context"
	"math/big"
	"math/rand/v2"
	"testing"
)

// enlarged is a problem in larger units: weights, effort and load are many times
// as much, and so are the days and the store.
func enlarged(p *Problem, weight, effort, load int) *Problem {
	large := *p
	large.Effort, large.Store = nil, p.Store*load
	for _, e := range p.Effort {
		large.Effort = append(large.Effort, e*effort)
	}
	large.Chains = append([]Chain(nil), p.Chains...)
	for i := range large.Chains {
		c := &large.Chains[i]
		c.Weight, c.Load = c.Weight*weight, c.Load*load
		for step := range c.Effort {
			c.Effort[step] *= effort
		}
	}
	return &large
}

// TestLargeNumbers: the largest weights, efforts and loads that are read change
// nothing but the unit of the answer.
func TestLargeNumbers(t *testing.T) {
	const weight, effort, load = 333_333, 166_666, 142_857
	replanned := 0
	for seed := range uint64(120) {
		r := rand.New(rand.NewPCG(seed, 21))
		p := workshop(r, 2+r.IntN(3), 11+r.IntN(4))
		if seed%2 == 1 {
			disturb(r, p)
			replanned++
		}
		want, exists := exhaustive(p)
		large := enlarged(p, weight, effort, load)
		answer, err := Solve(context.Background(), large, 0)
		if (err == nil) != exists {
			t.Fatalf("seed %d: exists %v, but: %v", seed, exists, err)
		}
		want.Late *= weight
		if exists && (answer.Value != want || !answer.Proved || answer.LateBound != want.Late || check(large, answer.Places) != nil) {
			t.Errorf("seed %d: %+v instead of %+v", seed, answer, want)
		}
	}
}

// extreme is a problem with the largest numbers that are read.
func extreme() *Problem {
	p := alike(500, 3660, 1_000_000, Place{[Steps]int{1, 1801, 3601}, 0})
	p.Store = 1_000_000
	for i := range p.Chains {
		c := &p.Chains[i]
		c.Weight, c.Due, c.Load = 1_000_000-i, i-1_000_000, 1_000_000
		c.LagMin, c.LagMax, c.Rest = 1800, 1800, 1800
		c.Effort = [Steps]int{1_000_000, 999_999, 1_000_000 - i}
	}
	return p
}

// TestDearestPrices: with every price at its highest, the costs of the chains
// are what numbers without a limit give, and less than far; so is their sum.
func TestDearestPrices(t *testing.T) {
	p := extreme()
	root := p.full()
	s := newSolver(context.Background(), p, 1, &root)
	copy(s.y, s.dearest)
	s.stage, s.scale = 2, 1<<20
	s.limit = [levels]int{500 * 1_000_000, 500 * 1_003_660, 500}
	total := s.evaluate(&root)
	want := new(big.Int)
	for i := range p.Chains {
		cost := plainCost(s, i, s.picks[i].place)
		if !cost.IsInt64() || cost.Int64() != s.picks[i].cost || s.picks[i].cost >= far {
			t.Fatalf("chain %d costs %d, not %v", i, s.picks[i].cost, cost)
		}
		want.Add(want, cost)
	}
	for r, price := range s.y {
		have := s.capacity[r]
		for l := range s.stage {
			if r == s.atLevel(l) {
				have = int64(s.limit[l])
			}
		}
		want.Sub(want, product(price, have))
	}
	if !want.IsInt64() || want.Int64() != total {
		t.Errorf("all cost %d, not %v", total, want)
	}
}

func product(a, b int64) *big.Int { return new(big.Int).Mul(big.NewInt(a), big.NewInt(b)) }

// plainCost is the price of a place, day by day.
func plainCost(s *solver, i int, at Place) *big.Int {
	c, sum := &s.p.Chains[i], new(big.Int)
	for d := at.At[Start]; d < at.At[Shift]; d++ {
		sum.Add(sum, big.NewInt(s.y[s.atKind(at.Kind, d)]))
	}
	for d := at.At[Shift]; d < at.At[End]; d++ {
		sum.Add(sum, product(s.y[s.atStore(d)], int64(c.Load)))
	}
	for step, d := range at.At {
		sum.Add(sum, product(s.y[s.atEffort(d)], int64(c.Effort[step])))
	}
	v := c.value(at)
	sum.Add(sum, product(s.y[s.atLevel(0)], int64(v.Late)))
	sum.Add(sum, product(s.y[s.atLevel(1)], int64(v.Tardy)))
	return sum.Add(sum, product(s.scale, int64(v.Changes)))
}
