package project

// node is a question the search may decide: is the variable at least at? Only
// literals that took part in conflicts have one.
type node struct {
	variable, at int32
	heat         float64 // grows with each conflict it takes part in, fades with time
	place        int32   // in the heap; none when not there
}

// tree picks what to decide: the hottest open question.
type tree struct {
	nodes  []node
	ids    map[uint64]int32
	heap   []int32
	taken  []taken // nodes out of the heap because they are settled for now
	gain   float64
	goal   []int32 // the value of each variable in the best schedule
	guided bool    // there is a goal
}

type taken struct{ node, level int32 }

const fading = 0.95

// bump heats the question of a literal.
func (e *engine) bump(l literal) {
	v, at := l.side/2, l.at
	if l.side&1 == 1 {
		at = 1 - l.at
	}
	key := uint64(uint32(v))<<32 | uint64(uint32(at))
	id, known := e.ids[key]
	if !known {
		id = int32(len(e.nodes))
		e.ids[key] = id
		e.nodes = append(e.nodes, node{v, at, 0, none})
		e.enter(id)
	}
	n := &e.nodes[id]
	n.heat += e.gain
	if n.place != none {
		e.rise(n.place)
	}
	if n.heat > 1e100 {
		e.cool()
	}
}

// cool scales all heat down before it overflows.
func (t *tree) cool() {
	for i := range t.nodes {
		t.nodes[i].heat *= 1e-100
	}
	t.gain *= 1e-100
}

func (t *tree) hotter(a, b int32) bool {
	x, y := &t.nodes[a], &t.nodes[b]
	return x.heat > y.heat || x.heat == y.heat && a < b
}

func (t *tree) enter(id int32) {
	if t.nodes[id].place != none {
		return
	}
	t.nodes[id].place = int32(len(t.heap))
	t.heap = append(t.heap, id)
	t.rise(t.nodes[id].place)
}

func (t *tree) rise(i int32) {
	id := t.heap[i]
	for i > 0 {
		up := (i - 1) / 2
		if !t.hotter(id, t.heap[up]) {
			break
		}
		t.heap[i] = t.heap[up]
		t.nodes[t.heap[i]].place = i
		i = up
	}
	t.heap[i] = id
	t.nodes[id].place = i
}

// pop takes the hottest node out.
func (t *tree) pop() int32 {
	top := t.heap[0]
	t.nodes[top].place = none
	n := int32(len(t.heap) - 1)
	id := t.heap[n]
	t.heap = t.heap[:n]
	if n == 0 {
		return top
	}
	var i int32
	for {
		down := 2*i + 1
		if down >= n {
			break
		}
		if down+1 < n && t.hotter(t.heap[down+1], t.heap[down]) {
			down++
		}
		if !t.hotter(t.heap[down], id) {
			break
		}
		t.heap[i] = t.heap[down]
		t.nodes[t.heap[i]].place = i
		i = down
	}
	t.heap[i] = id
	t.nodes[id].place = i
	return top
}

// back returns to a level; questions settled behind it are open again.
func (e *engine) back(level int32) {
	e.trail.back(level)
	for n := len(e.taken); n > 0 && e.taken[n-1].level > level; n-- {
		e.enter(e.taken[n-1].node)
		e.taken = e.taken[:n-1]
	}
}

// hottest decides the hottest open question as the best schedule answers it.
func (e *engine) hottest() (literal, bool) {
	for len(e.heap) > 0 {
		id := e.pop()
		n := &e.nodes[id]
		if level := e.level(); e.least(n.variable) >= n.at || e.most(n.variable) < n.at {
			if level > 0 {
				e.taken = append(e.taken, taken{id, level})
			}
			continue
		}
		e.taken = append(e.taken, taken{id, e.level() + 1})
		l := literal{2 * n.variable, n.at}
		if e.guided && e.goal[n.variable] >= n.at {
			return l, true
		}
		return l.not(), true
	}
	return literal{}, false
}

// soonest starts the activity that can start first; of several the one with
// the least freedom. False: every start is fixed.
func (e *engine) soonest() (literal, bool) {
	best := int32(none)
	for v := range e.starts {
		if e.fixed(v) {
			continue
		}
		if best == none || e.least(v) < e.least(best) || e.least(v) == e.least(best) && e.most(v) < e.most(best) {
			best = v
		}
	}
	if best == none {
		return literal{}, false
	}
	return literal{2 * best, e.least(best) + 1}.not(), true
}
