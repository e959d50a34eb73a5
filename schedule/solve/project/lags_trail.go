package project

// Every variable (a start, the makespan, the order of a pair) has two sides: 2v
// is the variable and 2v+1 its negative. Each side has only a lower bound, low,
// so "at most" needs no code of its own: x <= k is side 2v+1 at least -k.

// literal says that a side is at least a value.
type literal struct {
	side int32
	at   int32
}

// not is the opposite: x >= k against -x >= 1-k.
func (l literal) not() literal { return literal{l.side ^ 1, 1 - l.at} }

// reason tells why a bound was set: enough to explain it later, if ever asked.
type reason struct {
	kind reasonKind
	of   int32 // edge, clause or resource
	at   int32 // with byProfile: the full point in time
}

type reasonKind int32

const (
	byDecision reasonKind = iota
	byEdge                // of: the edge that pushed
	byEdgeOff             // of: the edge that no longer fits, so that its condition is false
	byClause              // of: the clause left with one literal
	byProfile             // of: the resource that has no room at the time
)

// step is one tightened bound.
type step struct {
	side     int32
	low, was int32 // the bound now and before
	before   int32 // the step that set was; none at the root
	level    int32
	why      reason
}

const none = -1

// trail is the bounds of every side and how they came about.
type trail struct {
	low    []int32 // of each side
	last   []int32 // the latest step of each side; none when the root's bound holds
	steps  []step
	levels []int32 // where each level's steps begin
	head   int     // steps before it were propagated
	// broken holds literals that are all true and can not be so together.
	broken []literal
}

// variable adds a variable and returns its number.
func (t *trail) variable(least, most int32) int32 {
	t.low = append(t.low, least, -most)
	t.last = append(t.last, none, none)
	return int32(len(t.low)/2 - 1)
}

func (t *trail) level() int32 { return int32(len(t.levels)) }

// least and most are the bounds of a variable.
func (t *trail) least(v int32) int32 { return t.low[2*v] }
func (t *trail) most(v int32) int32  { return -t.low[2*v+1] }
func (t *trail) fixed(v int32) bool  { return t.low[2*v]+t.low[2*v+1] == 0 }

func (t *trail) holds(l literal) bool { return t.low[l.side] >= l.at }
func (t *trail) fails(l literal) bool { return t.low[l.side^1] >= 1-l.at }

// set makes a literal true. It returns false, with broken filled, when the
// opposite is already true.
func (t *trail) set(l literal, why reason) bool {
	if t.low[l.side] >= l.at {
		return true
	}
	t.steps = append(t.steps, step{
		side: l.side, low: l.at, was: t.low[l.side],
		before: t.last[l.side], level: t.level(), why: why,
	})
	t.last[l.side] = int32(len(t.steps) - 1)
	t.low[l.side] = l.at
	if l.at+t.low[l.side^1] <= 0 {
		return true
	}
	t.broken = append(t.broken[:0], l, l.not())
	return false
}

// decide opens a level with an arbitrary literal.
func (t *trail) decide(l literal) {
	t.levels = append(t.levels, int32(len(t.steps)))
	t.set(l, reason{kind: byDecision})
}

// undo takes the last step back.
func (t *trail) undo() {
	s := &t.steps[len(t.steps)-1]
	t.low[s.side] = s.was
	t.last[s.side] = s.before
	t.steps = t.steps[:len(t.steps)-1]
}

// back returns to a level.
func (t *trail) back(level int32) {
	if level >= t.level() {
		return
	}
	for int32(len(t.steps)) > t.levels[level] {
		t.undo()
	}
	t.levels = t.levels[:level]
	t.head = min(t.head, len(t.steps))
}

// settle forgets how the root's bounds came about: they hold for good.
func (t *trail) settle() {
	for i := range t.steps {
		t.last[t.steps[i].side] = none
	}
	t.steps = t.steps[:0]
	t.head = 0
}

// lowBefore is the bound of a side just before a step was taken.
func (t *trail) lowBefore(side, at int32) int32 {
	i, low := t.last[side], t.low[side]
	for i >= at {
		low, i = t.steps[i].was, t.steps[i].before
	}
	return low
}

// madeBy is the step that made a true literal true, none when the root did.
func (t *trail) madeBy(l literal) int32 {
	i := t.last[l.side]
	for i != none && t.steps[i].was >= l.at {
		i = t.steps[i].before
	}
	return i
}
