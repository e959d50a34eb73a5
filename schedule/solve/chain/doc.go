// Package chain schedules chains of three steps on a grid of days, and proves
// what it finds. It knows days, units of a few kinds, a store and the effort of
// a day; it knows nothing of what is being made.
//
// # Problem
//
// Each chain starts, shifts and ends on open days. From start to shift there is
// a minimum and a maximum lag, from shift to end a minimum. It takes one unit
// of one of its kinds from the start up to the day before the shift, a load of
// the store from the shift up to the day before the end, and effort of the days
// of its steps. Facts are fixed days and kinds, whatever the calendar says. The
// objective is lexicographic: weight of the chains that end late, days by which
// they do, chains that differ from their base. This is resource-constrained
// scheduling with minimum and maximum lags, calendars and alternative resources
// (RCPSP/max: Neumann, Schwindt and Zimmermann 2003), so NP-hard; the grid is
// coarse and the chains are few, which is what makes proofs affordable.
//
// # Algorithm
//
// Level by level: the least late weight; then, with that as a limit, the least
// tardiness; then, with both, the fewest changes. Each level is a branch and
// bound, depth first.
//
// The bound is a Lagrangian relaxation (Fisher 1981) of everything that chains
// share: a price for each unit, load and minute of each day, and for passing
// the limits of the levels before. What is left falls apart into one cheapest
// place for each chain, a shortest path over start, shift and end with prefix
// sums for what lies between. It is as strong as the linear program with a
// variable for every place of every chain (Christofides, Alvarez-Valdes and
// Tamarit 1987 use the like for makespans), and needs no such program. Prices
// follow the excess (Polyak 1969; Held, Wolfe and Crowder 1974), smoothed, and
// are handed down the tree. Any integer that the bound rules out is
// ruled out: prices are integers, so no rounding can spoil a proof.
//
// Before that, a step's effort is raised where no other steps can fill what it
// leaves of its day (coefficient tightening), which brings the relaxation
// closer to whole steps.
//
// A day or a kind whose cheapest place would lift the bound past the limit is
// dropped (reduced-cost fixing), and so is what does not fit beside the parts
// that are certain (timetabling); both repeat until nothing drops out. What is
// left is split: whether a chain is late or keeps its base, where the rounds of
// the bound disagree on it; else the step whose day spread most over the
// rounds, at its mean; else a kind.
//
// Schedules come from serial insertion by due date, large-neighbourhood search
// (Shaw 1998) with a fixed seed, in spells through schedules a little worse, and,
// at each node, insertion in the order in which the relaxation starts its
// chains. Where the budget ends a level unproved, the search goes on for a while
// without proofs.
//
// Whether there is any schedule is decided first, by the same search with nothing
// to minimise: prices then rise without end where there is none.
//
// The reason why there is none is sought by leaving chains out, and afterwards
// what they share, as long as the rest stays impossible.
//
// # Complexity
//
// Pricing a chain takes days x (kinds x lags + 1) steps; a node takes some
// dozens of pricings of all chains; the number of nodes is exponential at worst.
// The budget counts priced chains, so the answer does not depend on the machine.
// Tightening takes up to days x steps x effort of a day, is counted in the same
// coin, and stops at a share of the budget.
//
// # Ties
//
// Chains, kinds and days tie by their place in the problem, the lower first. A
// schedule is replaced only by a better one.
//
// # Rejected
//
// One search over the three levels at once: large factors between levels drown
// the lower ones in the bound. Branching on the order of pairs: most pairs never
// meet, and kinds make order conditional. A linear program: the same bound, with
// a solver to carry and fractions to distrust. Energetic reasoning over windows
// of days: it follows from the prices that are equal over the window, and the
// price search finds better ones.
package chain
