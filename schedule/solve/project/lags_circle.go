package project

// circles finds orders that push each other round and round: without it a
// circle with a small surplus would creep up to the horizon step by step, and
// the failure would be blamed on bounds instead of on the orders themselves.
type circles struct {
	met  []int   // of each side: where on the way it was met, plus stamp
	way  []int32 // edges walked
	base int     // entries of met below it are from earlier walks
}

// circle walks back from a step over the edges that pushed. When the way meets
// a side twice, the conditions on the way between can not hold together; they
// are then in broken.
func (e *engine) circle(i int32) bool {
	e.base += len(e.way) + 1
	e.way = e.way[:0]
	for i != none && e.steps[i].why.kind == byEdge {
		s := &e.steps[i]
		if m := e.met[s.side]; m >= e.base {
			e.broken = e.broken[:0]
			for _, id := range e.way[m-e.base:] {
				if w := e.list[id].when; w != none {
					e.broken = append(e.broken, yes(w))
				}
			}
			return true
		}
		e.met[s.side] = e.base + len(e.way)
		e.way = append(e.way, s.why.of)
		from := e.list[s.why.of].from
		before := i
		for i = e.last[from]; i >= before; {
			i = e.steps[i].before
		}
	}
	return false
}
