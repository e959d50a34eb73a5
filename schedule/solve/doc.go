// Package solve is the planner's scheduling core. It knows activities,
// renewable resources, working calendars, minimum and maximum time lags,
// alternatives and due dates; it knows nothing of what is being made.
//
// # Problem
//
// Resource-constrained project scheduling with generalized precedence
// (RCPSP/max, Bartusch, Möhring and Radermacher 1988; Neumann, Schwindt and
// Zimmermann 2003), calendars, and alternative modes. Activities joined by a
// maximum lag form one Job, so that no placement can strand a part of it. Lags
// are counted in minutes or in cells of a caller's grid (the caller's days, so
// that a day with a clock change is still one day). A lag may carry a wish
// above its minimum. A Span holds a resource from one task of a job to another.
//
// The objective is lexicographic: weighted number of late goals, weighted
// tardiness in cells, changes against a base schedule, cells short of wished
// lags, cost of the modes chosen, sum of finish times.
//
// # Algorithm
//
// A serial schedule generation scheme takes the jobs in a priority order and
// gives each its componentwise earliest feasible placement next to those
// already placed. That placement is a least fixpoint: every constraint
// of a job against standing profiles has the form "if the others start no
// earlier than this, then this one starts no earlier than that", so raising
// lower bounds until nothing changes ends at the earliest placement, or proves
// that there is none. A maximum lag that fails raises the earlier task (the
// unscheduling step of the literature, done in one jump).
//
// The order starts as earliest due date first (Jackson 1955), behind whatever
// already runs. Where goals are late it is improved by large-neighbourhood
// search (Shaw 1998) around late goals: jobs are moved to the front, sent to
// the back, exchanged, or freed from their base times. The rule of Moore and
// Hodgson (1968), send back what makes others late, is one of the moves. The
// search is seeded and its budget counts schedules built, so a given problem
// always gives the same answer, on any machine.
//
// # Complexity
//
// A profile holds one event per start or end; a query is a binary search and a
// scan of the events it covers. Placing a job takes a handful of queries for
// each task, so a schedule of n jobs takes about n log n time in the usual case
// where each job meets a bounded number of conflicts.
//
// # Ties
//
// Jobs tie by their place in Problem.Jobs, modes by their place in Job.Modes.
// The search replaces its best schedule only by a strictly better one.
//
// # Rejected
//
// Parallel generation (Kelley 1963) builds only non-delay schedules, which need
// not contain an optimum for due dates. Placing tasks singly strands the later
// task of a maximum lag and needs backtracking. A time-indexed program is exact
// but has a variable for each minute; days are too coarse for evening hours.
package solve
