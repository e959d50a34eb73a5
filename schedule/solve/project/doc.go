// Package project schedules activities that share renewable resources, under
// minimum and maximum time lags. It knows nothing of what is being made.
//
// # Problem
//
// Activities run without a break, take units of resources of constant capacity
// while they do, and are held apart by lags from start to start. Wanted is the
// least makespan (the resource-constrained project scheduling problem, RCPSP, and
// with maximum lags RCPSP/max) or the least weighted tardiness. Both are NP-hard
// (Blazewicz, Lenstra and Rinnooy Kan 1983).
//
// # Makespan without maximum lags
//
// Schedules are built serially: activities in an order, each as early as lags and
// free units allow, on a timeline that holds all resources of a moment side by
// side in one word (Kolisch 1996 on such schemes). Some order gives the best
// schedule. Every schedule is moved right and left again, as double justification
// does (Valls, Ballestin and Quintanilla 2005; first Li and Willis 1992). Orders
// come from a population: half of them are a parent's order into which a stretch
// of time of another is put as a whole (after Debels and Vanhoucke 2007), half a
// parent's in which the activities of a short stretch are drawn later by chance.
// The child replaces the longest, unless it is longer or there already.
//
// After a tenth of the budget the exact search for maximum lags has its turn,
// below the makespan known: it learns a clause from every dead end (Schutt, Feydy,
// Stuckey and Wallace 2011), and either proves that nothing is shorter, or ends
// with a bound and perhaps a better schedule, which joins the population. Beyond
// 60 activities its share shrinks with the square of their number.
//
// A schedule built in either direction of time counts as one; so does a dead end.
// The bound before any search is the longest way through the lags, and for each
// resource its work at full use between the least head and tail.
//
// # Tardiness
//
// Where no two activities can run together and no lags are given, the answer is a
// sequence: iterated dynasearch (Congram, Potts and van de Velde 2002), with
// exchanges and with moves forwards and backwards (as Grosso, Della Croce and
// Tadei 2004). A dynamic program finds the best set of changes that do not
// overlap; one such set counts as one schedule. Then a few activities change
// places by chance. The bound is a Lagrangian one: prices of lateness of at most
// the weights, mended in rounds, for which sorting finds the cheapest sequence
// (Potts and Van Wassenhove 1985). Prices are integers, so it is sound.
//
// Otherwise orders are built serially and changed by moves and exchanges, as long
// as that is no worse. The bound is what the longest ways through the lags cost.
// With maximum lags the schedule is the shortest that was found: feasible, and no
// more is claimed for it than that bound.
//
// # Complexity
//
// Building a schedule of n activities takes n times the moments of its timeline,
// at most 2n, so at most n squared, and in practice little more than n. A set of
// changes of a sequence takes the third power of n at worst. The exact search is
// exponential at worst; its preparation takes the third power, for which reason
// it is left out beyond 300 activities. The budget bounds all of it, and not the
// clock, so that every machine gives the same answer.
//
// # Ties
//
// Activities tie by their place in a topological order, which goes by their place
// in the problem. A schedule is replaced as the answer only by a better one.
//
// # Rejected
//
// All of these were tried with one seed on every fifth instance of 120 activities
// at 5000 schedules, so small differences say little. Two populations, one pushed
// left and one right, with one schedule for each child: behind double justification
// at populations of 20 and 40. Generations instead of single replacements: within
// chance of each other. Tournaments between parents: worse with 20 plans, better
// with 40, no better at best, so left out as one thing less. Drawing activities
// later alone, from one schedule: about as good; crossing is kept because both
// together did better. A grid of units of time instead of moments was not tried:
// it grows with the unit chosen.
package project
