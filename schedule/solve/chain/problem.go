package chain

import "fmt"

// Steps of a chain, in order.
const (
	Start = iota // takes a unit of a kind
	Shift        // gives the unit back and enters the store
	End          // leaves the store
	Steps        // how many there are
)

// None stands for a day or a kind that is not set.
const None = -1

// Free is a place with nothing set.
var Free = Place{At: [Steps]int{None, None, None}, Kind: None}

// Place says on which day each step of a chain happens and which kind it uses.
type Place struct {
	At   [Steps]int
	Kind int
}

// Kind is a kind of unit; Units counts them on each day.
type Kind struct {
	Name  string
	Units []int
}

// Chain is three steps that belong together.
type Chain struct {
	Name                 string
	Release              int // first day of a start that is not fixed
	Due, Weight          int
	Kinds                []int // kinds that will do
	LagMin, LagMax, Rest int   // days from start to shift; least days from shift to end
	Load                 int   // of the store, from shift up to the day before the end
	Effort               [Steps]int
	Fixed, Base          Place // what happened; what was planned before
}

// Problem is a set of chains that share units, a store, and the effort of each day.
type Problem struct {
	Days   int
	Today  int // first day of any step that is not fixed
	Open   [Steps][]bool
	Effort []int // of each day, for all steps together
	Store  int
	Kinds  []Kind
	Chains []Chain
}

// Value is what a schedule costs; earlier fields come first.
type Value struct {
	Late    int // sum of the weights of chains that end after they are due
	Tardy   int // days by which they do
	Changes int // chains that differ from their base
}

// Less says whether v is better than w.
func (v Value) Less(w Value) bool {
	if v.Late != w.Late {
		return v.Late < w.Late
	}
	if v.Tardy != w.Tardy {
		return v.Tardy < w.Tardy
	}
	return v.Changes < w.Changes
}

func (v Value) fields() [levels]int { return [levels]int{v.Late, v.Tardy, v.Changes} }

// levels counts the fields of Value.
const levels = 3

// Answer is a schedule, with a bound on the first field of its value.
type Answer struct {
	Places    []Place // by chain
	Value     Value
	LateBound int
	Proved    bool // no schedule is better in any field
	Work      int  // chains priced by the search
}

// NotFoundError says that the search ended before it found a schedule or a
// proof that there is none.
type NotFoundError struct{ Work int }

func (e *NotFoundError) Error() string {
	return fmt.Sprintf("no schedule was found, and none was ruled out, within %d steps of search; give it a larger budget", e.Work)
}

// value sums what the places cost.
func (p *Problem) value(places []Place) Value {
	var v Value
	for i := range p.Chains {
		one := p.Chains[i].value(places[i])
		v.Late += one.Late
		v.Tardy += one.Tardy
		v.Changes += one.Changes
	}
	return v
}

func (c *Chain) value(at Place) Value {
	var v Value
	if over := at.At[End] - c.Due; over > 0 {
		v.Late, v.Tardy = c.Weight, over
	}
	if !c.keeps(at) {
		v.Changes = 1
	}
	return v
}

// keeps says whether a place differs nowhere from the base; where the base says
// nothing, nothing differs.
func (c *Chain) keeps(at Place) bool {
	for s, day := range c.Base.At {
		if day != None && day != at.At[s] {
			return false
		}
	}
	return c.Base.Kind == None || c.Base.Kind == at.Kind
}

// keepsLags says whether the set days of a place are as far apart as they must be.
func (c *Chain) keepsLags(at Place) bool {
	start, shift, end := at.At[Start], at.At[Shift], at.At[End]
	switch {
	case start != None && shift != None && (shift-start < c.LagMin || shift-start > c.LagMax):
		return false
	case shift != None && end != None && end-shift < c.Rest:
		return false
	}
	return start == None || end == None || end-start >= c.LagMin+c.Rest
}

func (c *Chain) hasBase() bool { return c.Base != Free }

func (c *Chain) wholeBase() bool {
	for _, day := range c.Base.At {
		if day == None {
			return false
		}
	}
	return c.Base.Kind != None
}
