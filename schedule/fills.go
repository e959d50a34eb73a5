package schedule

// Filling is Units molds of one kind that are filled alike, for Each pieces.
type Filling struct {
	Units int
	Each  int
}

// Fills says how units molds of the kind are filled for pieces, the fullest
// first: as many full as can be, at most one in between, the others at the
// smallest fill. Where Full lies off the steps, some may stay at the step below it.
// What a plan gives such molds comes out to the piece. Other numbers come of
// a batch whose mold or cut has changed since: it gets the fewest pieces beyond
// that the molds can hold, or all full where they do not hold as many; too few for
// the smallest fills are spread evenly. Nil for no mold.
func (f Fit) Fills(units, pieces int) []Filling {
	switch {
	case units < 1:
		return nil
	case pieces < units*f.Min:
		return f.spread(units, pieces)
	}
	pieces = f.fill(units, pieces)
	full := units
	for !f.attainable(units-full, pieces-full*f.Full) {
		full--
	}
	out := add(nil, full, f.Full)
	step, rest := max(1, f.Step), units-full
	most := (f.Full - f.Min) / step * step
	for above := pieces - full*f.Full - rest*f.Min; above > 0; above -= most {
		out = add(out, 1, f.Min+min(above, most))
		rest--
	}
	return add(out, rest, f.Min)
}

// spread is molds filled as evenly as whole steps allow, for at least pieces, the
// smallest fill disregarded.
func (f Fit) spread(units, pieces int) []Filling {
	step := max(1, f.Step)
	each := (max(0, pieces) + units - 1) / units
	high := min(f.Full, (each+step-1)/step*step)
	low := 0
	if high > step {
		low = (units*high - pieces) / step
	}
	return add(add(nil, units-low, high), low, high-step)
}

// add puts molds to a list of fillings, those filled alike together.
func add(list []Filling, units, each int) []Filling {
	switch last := len(list) - 1; {
	case units == 0:
	case last >= 0 && list[last].Each == each:
		list[last].Units += units
	default:
		list = append(list, Filling{units, each})
	}
	return list
}
