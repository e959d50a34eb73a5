// Package schedule plans a workshop: it turns an order book and a clock into
// batches, times, molds and allocations, says whether a date can be promised,
// and finds ways out when a batch fails.
//
// # Problem
//
// Lot sizing in front, then a resource-constrained project scheduling problem
// with minimum and maximum time lags, working calendars, a choice of molds, a
// lexicographic objective (see Objective) and a published plan to stay near.
// A Problem holds all of it as a value, the clock included; every question is a
// pure function of it. The same problem gives the same plan, whatever machine
// and however many processors: every choice goes by an order on ids, and the
// search is seeded and counts schedules, not time.
//
// # Algorithm
//
//   - Demand (demand.go, book.go): the lines of accepted orders, by deadline,
//     take what is on the shelf, in molds, on the rack and published; first what
//     they are allocated already. Published batches that nobody needs are
//     dropped. What is left over is pooled by design and cut into lots.
//   - Lots (lots.go, newlots.go): as few batches as the molds of a session, the
//     hours and the rack allow, then the least surplus. Each lot keeps a few
//     mixes of molds as alternatives.
//   - Times (model.go, running.go): each batch is a job of make, cut and wrap for
//     the core in schedule/solve. Facts are fixed tasks. Published batches have
//     a base that they leave only for something that matters more.
//   - Reading (read.go, outcome.go, remake.go, explain.go): pieces are given out
//     anew by when they are ready; lateness, margins, reasons follow.
//
// Solve repeats this with other ways to pool and cut demand when orders are late
// and no bound (bound.go) proves that they must be, and last inserts what the book
// lacks as a promise would (insert.go), so that what was promised is kept. Promise asks first whether
// the enquiry fits beside the standing plan (beside.go): the accepted orders are
// planned without it, stay where they are, and it gets what is left. That takes no
// search, can not harm anybody, and gives a date whatever state the book is in. Only
// where that is no yes is it planned together with what is not published yet; then
// what would have to change is tried, one change at a time.
// Reshuffle plans once for each way out and names what it costs whom.
//
// # Complexity
//
// A plan without search takes about n log n for n batches, plus the margins, a
// search by halving for each order. The search multiplies that by its budget.
//
// # Ties
//
// Orders tie by weight, then id; sources of pieces by key; lots by key; molds by
// their place in Problem.Molds; plans are replaced only by strictly better ones.
//
// # Rejected
//
// Lots and times in one integer program: exact, but a workshop's questions are
// asked on a phone, and minutes over a year are too many variables. Lots that
// carry their times in whole days: evening hours of three hours are where the
// conflicts are. Random restarts without a base: every answer would move what
// was promised.
package schedule
