// Package calc is the arithmetic of the soap maker's trade: lye and water,
// batter and mold, cut plan, fragrance limits, curing, label and cost.
//
// Values go in and values come out. The package reads no clock, does no input
// or output beyond the tables embedded in it, and imports nothing of the
// project.
//
// Quantities are integers in one fixed unit each (see Mass, Length, Volume,
// Area, Density, SV, PPM, Temperature, Money), so that sums are exact. Where a
// result can not be a whole number of its unit it is computed as an exact
// fraction and rounded once, half away from zero, unless its doc comment names
// another direction. A value rounded for display is never computed with again.
//
// Figures from outside carry their source beside them, and how far to trust
// it: published, second-hand (read in a copy or quotation), from memory, or
// common practice.
package calc
