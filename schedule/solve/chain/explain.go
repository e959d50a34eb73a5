package chain

import "fmt"

// Shared is something that chains share.
type Shared int

// What chains share.
const (
	Units Shared = iota
	Store
	Effort
	shareds
)

// InfeasibleError says why a problem has no schedule. These chains can not be
// placed together; with one fewer they could, or it is not known that they
// could not. Lacking lists what they would need more of; nothing in it: the
// chains' own facts, days and lags already leave no way.
type InfeasibleError struct {
	Chains  []int
	Lacking []Shared
}

func (e *InfeasibleError) Error() string {
	return fmt.Sprintf("%d chains can not be placed together", len(e.Chains))
}

// explainBudget is spent on finding the reason, shared by its steps.
const explainBudget = 400_000

// explain looks for a small part of an impossible problem that is impossible,
// leaving out what it can: chains, then what they share.
func (s *solver) explain() error {
	for i := range s.n {
		if s.impossible([]int{i}, nil, s.budget) {
			return s.because([]int{i})
		}
	}
	chains := make([]int, s.n)
	for i := range chains {
		chains[i] = i
	}
	share := explainBudget / s.n
	for i := s.n - 1; i >= 0 && s.ctx.Err() == nil; i-- {
		fewer := without(chains, i)
		if s.impossible(fewer, nil, share) {
			chains = fewer
		}
	}
	return s.because(chains)
}

// because is the error that blames some chains, or the context's where it ended
// before all was tried.
func (s *solver) because(chains []int) error {
	lacking := s.lacking(chains)
	if err := s.ctx.Err(); err != nil {
		return err
	}
	return &InfeasibleError{chains, lacking}
}

func without(chains []int, out int) []int {
	var rest []int
	for _, i := range chains {
		if i != out {
			rest = append(rest, i)
		}
	}
	return rest
}

// lacking lists what the chains must share for the problem to be impossible.
func (s *solver) lacking(chains []int) []Shared {
	var plenty, needed []Shared
	for share := range shareds {
		if s.impossible(chains, append(plenty, share), explainBudget/4) {
			plenty = append(plenty, share)
		} else {
			needed = append(needed, share)
		}
	}
	return needed
}

// impossible says whether it is proved, within a budget, that some chains can
// not be placed, with plenty of some things.
func (s *solver) impossible(chains []int, plenty []Shared, budget int) bool {
	part := s.p.part(chains, plenty)
	root := part.full()
	found, err := newSolver(s.ctx, part, budget, &root).first(&root)
	return err == nil && !found
}

// part is a problem with some of the chains and plenty of some things.
func (p *Problem) part(chains []int, plenty []Shared) *Problem {
	part := *p
	part.Chains = nil
	load := 0
	for _, i := range chains {
		part.Chains = append(part.Chains, p.Chains[i])
		load += p.Chains[i].Load
	}
	for _, share := range plenty {
		switch share {
		case Units:
			part.Kinds = manyUnits(p.Kinds, p.Days, len(chains))
		case Store:
			part.Store = max(p.Store, load)
		case Effort:
			part.Effort = longDays(part.Chains, p.Days)
		}
	}
	return &part
}

func manyUnits(kinds []Kind, days, units int) []Kind {
	many := make([]Kind, len(kinds))
	for k := range many {
		many[k] = Kind{kinds[k].Name, repeated(units, days)}
	}
	return many
}

func longDays(chains []Chain, days int) []int {
	sum := 0
	for i := range chains {
		for _, e := range chains[i].Effort {
			sum += e
		}
	}
	return repeated(sum, days)
}

func repeated(x, n int) []int {
	a := make([]int, n)
	for i := range a {
		a[i] = x
	}
	return a
}
