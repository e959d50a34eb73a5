package chain

import (
	"context"
	"errors"
	"math/rand/v2"
	"reflect"
	"runtime"
	"testing"
)

// against holds the solver's answer against exhaustive search, and returns the
// schedule where there is one.
func against(t *testing.T, name string, p *Problem) ([]Place, bool) {
	t.Helper()
	want, exists := exhaustive(p)
	answer, err := Solve(context.Background(), p, 0)
	var none *InfeasibleError
	if errors.As(err, &none) {
		if exists {
			t.Errorf("%s: said to be impossible, but %+v can be had", name, want)
		}
		checkReason(t, name, p, none)
		return nil, false
	}
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if err := check(p, answer.Places); err != nil {
		t.Errorf("%s: %v", name, err)
	}
	if got := worth(p, answer.Places); got != answer.Value || got != want || !answer.Proved || answer.LateBound != want.Late {
		t.Errorf("%s: answer %+v bound %d proved %v is worth %+v; the best is %+v", name, answer.Value, answer.LateBound, answer.Proved, got, want)
	}
	return answer.Places, true
}

// checkReason tries the reason of an impossible problem by itself.
func checkReason(t *testing.T, name string, p *Problem, e *InfeasibleError) {
	t.Helper()
	if len(e.Chains) == 0 {
		t.Errorf("%s: no chain is to blame", name)
	}
	if _, exists := exhaustive(p.part(e.Chains, nil)); exists {
		t.Errorf("%s: the chains %v are to blame, but they can be placed", name, e.Chains)
	}
	for _, share := range e.Lacking {
		if share < 0 || share >= shareds {
			t.Errorf("%s: lacks %d, which is nothing", name, share)
		}
	}
	if _, exists := exhaustive(p.part(e.Chains, []Shared{Units, Store, Effort})); exists != (len(e.Lacking) > 0) {
		t.Errorf("%s: with plenty of everything the chains %v fit: %v, but %v is lacking", name, e.Chains, exists, e.Lacking)
	}
}

// TestAgainstExhaustiveSearch plans small workshops from nothing and again after
// something happened, and compares each value with the best of all schedules.
func TestAgainstExhaustiveSearch(t *testing.T) {
	planned, replanned, impossible := 0, 0, 0
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 9))
		p := workshop(r, 2+r.IntN(3), 11+r.IntN(4))
		places, ok := against(t, "plan", p)
		if !ok {
			impossible++
			continue
		}
		planned++
		if _, ok := against(t, "replan", replan(r, p, places)); ok {
			replanned++
		} else {
			impossible++
		}
	}
	t.Logf("%d planned, %d replanned, %d impossible", planned, replanned, impossible)
	if planned < 60 || replanned < 30 || impossible < 40 {
		t.Errorf("%d planned, %d replanned, %d impossible: the draw no longer covers all three", planned, replanned, impossible)
	}
}

// TestLongDays crosses the words of the sets of days: the same problem, put off
// by many days, has the same value.
func TestLongDays(t *testing.T) {
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 7))
		p := workshop(r, 3, 12)
		want, exists := exhaustive(p)
		later := putOff(p, 57+int(seed)*3)
		answer, err := Solve(context.Background(), later, 0)
		if (err == nil) != exists {
			t.Fatalf("seed %d: exists %v, but: %v", seed, exists, err)
		}
		if exists && (answer.Value != want || check(later, answer.Places) != nil) {
			t.Errorf("seed %d: %+v, and put off %+v", seed, want, answer.Value)
		}
	}
}

// putOff moves a problem some days into the future.
func putOff(p *Problem, by int) *Problem {
	later := *p
	later.Days += by
	later.Effort = append(make([]int, by), p.Effort...)
	for step := range Steps {
		later.Open[step] = append(make([]bool, by), p.Open[step]...)
	}
	later.Kinds, later.Chains = nil, nil
	for _, k := range p.Kinds {
		later.Kinds = append(later.Kinds, Kind{k.Name, append(make([]int, by), k.Units...)})
	}
	for _, c := range p.Chains {
		c.Release += by
		c.Due += by
		later.Chains = append(later.Chains, c)
	}
	return &later
}

// TestSmallBudget keeps a plan that is not proved honest: feasible, no better
// than its bound, and not called proved unless it is the best.
func TestSmallBudget(t *testing.T) {
	unproved := 0
	for seed := range uint64(60) {
		p := workshop(rand.New(rand.NewPCG(seed, 5)), 4, 14)
		best, err := Solve(context.Background(), p, 0)
		if err != nil {
			continue
		}
		answer, err := Solve(context.Background(), p, 1)
		var later *NotFoundError
		if errors.As(err, &later) {
			continue
		}
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if err := check(p, answer.Places); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		if answer.LateBound > best.Value.Late || answer.Proved && answer.Value != best.Value {
			t.Errorf("seed %d: %+v bound %d proved %v, but %+v can be had", seed, answer.Value, answer.LateBound, answer.Proved, best.Value)
		}
		if !answer.Proved {
			unproved++
		}
	}
	if unproved == 0 {
		t.Error("a budget of one step proves everything: it is not kept to")
	}
}

// TestMoreNeverHurts: another unit, a larger store or a longer day makes no
// proved value worse.
func TestMoreNeverHurts(t *testing.T) {
	for seed := range uint64(30) {
		p := workshop(rand.New(rand.NewPCG(seed, 3)), 5, 18)
		before, err := Solve(context.Background(), p, 0)
		if err != nil || !before.Proved {
			continue
		}
		for share := range shareds {
			all := make([]int, len(p.Chains))
			for i := range all {
				all[i] = i
			}
			after, err := Solve(context.Background(), p.part(all, []Shared{share}), 0)
			if err != nil || after.Proved && before.Value.Less(after.Value) {
				t.Errorf("seed %d: with plenty of %d, %+v became %+v (%v)", seed, share, before.Value, after.Value, err)
			}
		}
	}
}

func TestSameAnswerOnAnyMachine(t *testing.T) {
	p := workshop(rand.New(rand.NewPCG(2, 2)), 7, 40)
	first, err := Solve(context.Background(), p, 0)
	if err != nil {
		t.Fatal(err)
	}
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	second, err := Solve(context.Background(), p, 0)
	if err != nil || !reflect.DeepEqual(first, second) {
		t.Errorf("one processor gives %+v (%v), several %+v", second, err, first)
	}
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	r := rand.New(rand.NewPCG(1, 1))
	stopped := 0
	for range 20 {
		if _, err := Solve(ctx, workshop(r, 5, 18), 0); errors.Is(err, context.Canceled) {
			stopped++
		}
	}
	if stopped < 15 {
		t.Errorf("a cancelled context stopped %d of 20 searches", stopped)
	}
}

func TestNothingToPlan(t *testing.T) {
	answer, err := Solve(context.Background(), workshop(rand.New(rand.NewPCG(1, 1)), 0, 10), 0)
	if err != nil || !answer.Proved || len(answer.Places) != 0 {
		t.Errorf("no chains: %+v, %v", answer, err)
	}
}
