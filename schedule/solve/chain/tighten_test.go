package chain

import (
	"context"
	"math/rand/v2"
	"reflect"
	"testing"
)

// raisePlainly is the definition of raise: every load of the others is tried.
func raisePlainly(groups [][]int64, capacity int64) {
	for g := range groups {
		for j, size := range groups[g] {
			if size <= 0 || size > capacity {
				continue
			}
			groups[g][j] = capacity - fullestPlainly(groups, g, 0, capacity-size)
		}
	}
}

// fullestPlainly is the most that the groups from one on, but for another, can
// put into a room.
func fullestPlainly(groups [][]int64, other, from int, room int64) int64 {
	if from == len(groups) {
		return 0
	}
	best := fullestPlainly(groups, other, from+1, room)
	if from == other {
		return best
	}
	for _, size := range groups[from] {
		if size <= room {
			best = max(best, size+fullestPlainly(groups, other, from+1, room-size))
		}
	}
	return best
}

// TestRaise compares raise with its definition, with and without a common unit
// and with capacities on both sides of the words of a set.
func TestRaise(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	raised := 0
	for range 2000 {
		capacity, unit := r.IntN(200), 1+r.IntN(3)*r.IntN(5)
		var got, want [][]int64
		for range 1 + r.IntN(5) {
			var group []int64
			for range r.IntN(4) {
				group = append(group, int64(r.IntN(120/unit)*unit))
			}
			got, want = append(got, append([]int64(nil), group...)), append(want, append([]int64(nil), group...))
		}
		before := clone(got)
		(&tightener{left: mostTightening}).raise(got, capacity*unit)
		if fitTogether(before, int64(capacity*unit)) {
			want = before // nothing to tell apart
		} else {
			raisePlainly(want, int64(capacity*unit))
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("%v in %d became %v, not %v", before, capacity*unit, got, want)
		}
		if !reflect.DeepEqual(before, got) {
			raised++
		}
	}
	if raised < 200 {
		t.Errorf("%d of 2000 were raised", raised)
	}
}

func clone(groups [][]int64) [][]int64 {
	var all [][]int64
	for _, group := range groups {
		all = append(all, append([]int64(nil), group...))
	}
	return all
}

// efforts counts the raised efforts of a problem, and fails where one was lowered.
func efforts(t *testing.T, p *Problem, got tightened) int {
	t.Helper()
	raised := 0
	for i := range p.Chains {
		for s, own := range p.Chains[i].Effort {
			for d, e := range got.effort[i][s] {
				if e < int64(min(own, p.Effort[d]+1)) {
					t.Fatalf("chain %d, step %d, day %d: %d became %d", i, s, d, own, e)
				}
				if e > int64(own) {
					raised++
				}
			}
		}
	}
	return raised
}

// TestTightenKeepsToItsBudget: what it costs is counted, and stays a share of
// the budget however large the numbers are.
func TestTightenKeepsToItsBudget(t *testing.T) {
	for name, p := range map[string]*Problem{
		"many days":  alike(60, 365, 480, Free),
		"long days":  alike(10, 60, 100_000, Free),
		"long tasks": alike(40, 365, 1_000_000, Free),
	} {
		if name == "long tasks" {
			for i := range p.Chains {
				p.Chains[i].Effort = [Steps]int{400_001 + 77*i, 300_007 + i, 200_003}
			}
		}
		root := p.full()
		for _, budget := range []int{1, 1000, DefaultBudget} {
			got, work := p.tighten(context.Background(), &root, budget)
			// one member's search may pass the limit, by the capacity
			if most := min(mostTightening/perPriced, budget/tighteningShare) + 3*1_000_000/perPriced; work > most {
				t.Errorf("%s: %d is %d over its share of a budget of %d", name, work, work-most, budget)
			}
			if raised := efforts(t, p, got); budget == 1 && raised > 0 {
				t.Errorf("%s: %d raised without a budget", name, raised)
			}
		}
	}
}

// TestTightenStops: a context that has ended leaves the days as they are.
func TestTightenStops(t *testing.T) {
	p := alike(20, 30, 10, Free)
	root := p.full()
	got, work := p.tighten(context.Background(), &root, DefaultBudget)
	if efforts(t, p, got) == 0 || work == 0 {
		t.Fatal("nothing is raised: the test tests nothing")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if got, _ := p.tighten(ctx, &root, DefaultBudget); efforts(t, p, got) > 0 {
		t.Error("it goes on after the context has ended")
	}
}
