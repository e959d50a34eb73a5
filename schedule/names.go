package schedule

import (
	"cmp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A person never reads the ids of the book, nor the keys of batches that are not
// in it yet: these functions name what a sentence is about.

// called is what a person calls a batch within a sentence: its lot, or its
// design when it has none.
func (l *lot) called() string {
	switch {
	case l.batch == nil:
		return "a new batch of " + l.design.called()
	case l.batch.Lot == "":
		return "a batch of " + l.design.called()
	}
	return "batch " + l.batch.Lot
}

// calledBatch is the same for a batch of a plan.
func (p *Problem) calledBatch(b *PlanBatch) string {
	l := lot{design: p.design(b.DesignID)}
	for i := range p.Batches {
		if p.Batches[i].ID == b.Key {
			l.batch = &p.Batches[i]
		}
	}
	return l.called()
}

// called is what a person calls a step.
func (s Step) called() string {
	if s == StepMake {
		return "pour"
	}
	return string(s)
}

func (d *Design) called() string { return cmp.Or(d.Name, "soap") }

func (m *Mold) called() string { return cmp.Or(m.Name, "mold") }

// called is what a person calls an order.
func (o *Order) called() string {
	return cmp.Or(o.Name, "the order for "+on(o.NeededBy))
}

// name is what a person calls the order of an id.
func (p *Problem) name(orderID string) string {
	if o := p.order(orderID); o != nil {
		return o.called()
	}
	return "an order"
}

// sentence begins a sentence with what is called so.
func sentence(called string) string {
	first, size := utf8.DecodeRuneInString(called)
	return string(unicode.ToUpper(first)) + called[size:]
}

// together joins names as a sentence does.
func together(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}
