package schedule

import (
	"encoding/json"
	"fmt"

	"ripeline/schedule/solve/chain"
)

// Limits of a day-grained problem: far beyond any workshop, and small enough
// that no sum can overflow.
const (
	mostHorizon  = 3660
	mostDayKinds = 200
	mostDayNum   = 1_000_000
)

// need reads a number that must be there, from least to most.
func need(name string, v *int, least, most int) (int, error) {
	if v == nil {
		return 0, &FieldError{name, fmt.Sprintf("is missing; write a whole number from %d to %d", least, most)}
	}
	if *v < least || *v > most {
		return 0, &FieldError{name, fmt.Sprintf("is %d; it must be from %d to %d", *v, least, most)}
	}
	return *v, nil
}

// numbers reads many and keeps the first error.
type numbers struct {
	prefix string
	err    error
}

func (n *numbers) need(name string, v *int, least, most int) int {
	x, err := need(n.prefix+name, v, least, most)
	if n.err == nil {
		n.err = err
	}
	return x
}

// orNone reads a number that may be left out.
func (n *numbers) orNone(name string, v *int, most int) int {
	if v == nil {
		return chain.None
	}
	return n.need(name, v, 0, most)
}

func (f *daysFile) problem() (*DaysProblem, error) {
	n := &numbers{}
	p := &DaysProblem{core: chain.Problem{
		Days:  n.need("horizon", f.Horizon, 1, mostHorizon),
		Today: n.need("today", &f.Today, 0, mostDayNum),
		Store: n.need("rack_capacity", f.Rack, 0, mostDayNum),
	}}
	if n.err != nil {
		return nil, n.err
	}
	steps := []struct {
		name string
		days *string
	}{{"make_open", f.MakeOpen}, {"cut_open", f.CutOpen}, {"wrap_open", f.WrapOpen}}
	for i, step := range steps {
		open, err := openDays(step.name, step.days, p.core.Days)
		if err != nil {
			return nil, err
		}
		p.core.Open[i] = open
	}
	var err error
	if p.core.Effort, err = minutesOfDays(f.Minutes, p.core.Days); err != nil {
		return nil, err
	}
	if err := f.molds(p); err != nil {
		return nil, err
	}
	return p, f.batches(p)
}

func openDays(name string, days *string, horizon int) ([]bool, error) {
	if days == nil {
		return nil, &FieldError{name, "is missing; write a 0 or a 1 for each day of the horizon"}
	}
	if len(*days) != horizon {
		return nil, &FieldError{name, fmt.Sprintf("has %d characters; write one for each of the %d days", len(*days), horizon)}
	}
	open := make([]bool, horizon)
	for d, c := range []byte(*days) {
		if c != '0' && c != '1' {
			return nil, &FieldError{name, fmt.Sprintf("has %q on day %d; write 0 or 1", c, d)}
		}
		open[d] = c == '1'
	}
	return open, nil
}

// minutesOfDays reads a number for each day, or one for all.
func minutesOfDays(raw json.RawMessage, horizon int) ([]int, error) {
	bad := &FieldError{"maker_minutes", fmt.Sprintf("write a whole number for each of the %d days, or one for all, from 0 to %d", horizon, mostDayNum)}
	var all *int
	list := make([]*int, horizon) // a null is no number
	if json.Unmarshal(raw, &all) == nil {
		for d := range list {
			list[d] = all
		}
	} else if err := json.Unmarshal(raw, &list); err != nil {
		return nil, bad
	}
	if len(list) != horizon {
		return nil, bad
	}
	minutes := make([]int, horizon)
	for d, m := range list {
		if m == nil || *m < 0 || *m > mostDayNum {
			return nil, bad
		}
		minutes[d] = *m
	}
	return minutes, nil
}

func (f *daysFile) molds(p *DaysProblem) error {
	if len(f.Molds) == 0 || len(f.Molds) > mostDayKinds {
		return &FieldError{"moulds", fmt.Sprintf("lists %d kinds; it must be from 1 to %d", len(f.Molds), mostDayKinds)}
	}
	for i, raw := range f.Molds {
		var m daysMold
		if err := decodeDays("moulds", i, raw, &m); err != nil {
			return err
		}
		count, err := need(fmt.Sprintf("moulds[%d].count", i), m.Count, 0, mostDayNum)
		if err != nil {
			return err
		}
		kind := chain.Kind{Name: m.Kind, Units: make([]int, p.core.Days)}
		if kind.Name == "" {
			kind.Name = fmt.Sprintf("kind %d", i)
		}
		for d := range kind.Units {
			kind.Units[d] = count
		}
		p.core.Kinds = append(p.core.Kinds, kind)
	}
	return f.outages(p)
}

func (f *daysFile) outages(p *DaysProblem) error {
	for i, raw := range f.Out {
		var o daysOut
		if err := decodeDays("mould_out", i, raw, &o); err != nil {
			return err
		}
		n := &numbers{prefix: fmt.Sprintf("mould_out[%d].", i)}
		kind := n.need("kind", o.Kind, 0, len(p.core.Kinds)-1)
		from, to := n.need("from", o.From, -mostDayNum, mostDayNum), n.need("to", o.To, -mostDayNum, mostDayNum)
		units := n.need("units", o.Units, 0, mostDayNum)
		if n.err != nil {
			return n.err
		}
		for d := max(from, 0); d <= min(to, p.core.Days-1); d++ {
			p.core.Kinds[kind].Units[d] = max(p.core.Kinds[kind].Units[d]-units, 0)
		}
	}
	return nil
}

// mostDayBatches bounds the batches of a problem.
const mostDayBatches = 2000

func (f *daysFile) batches(p *DaysProblem) error {
	if len(f.Batches) > mostDayBatches {
		return &FieldError{"batches", fmt.Sprintf("lists %d; it must be at most %d", len(f.Batches), mostDayBatches)}
	}
	seen := map[string]bool{}
	for i, raw := range f.Batches {
		var b daysBatch
		if err := decodeDays("batches", i, raw, &b); err != nil {
			return err
		}
		if b.ID == "" || seen[b.ID] {
			return &FieldError{fmt.Sprintf("batches[%d].id", i), fmt.Sprintf("%q is missing or used twice; give each batch its own", b.ID)}
		}
		seen[b.ID] = true
		c, err := b.chain(fmt.Sprintf("batches[%d].", i), p)
		if err != nil {
			return err
		}
		p.ids, p.core.Chains = append(p.ids, b.ID), append(p.core.Chains, c)
	}
	return nil
}

func (b *daysBatch) chain(prefix string, p *DaysProblem) (chain.Chain, error) {
	n := &numbers{prefix: prefix}
	c := chain.Chain{
		Name: b.ID, Kinds: b.Molds,
		Release: n.need("release", b.Release, -mostDayNum, mostDayNum),
		Due:     n.need("due", b.Due, -mostDayNum, mostDayNum),
		Weight:  n.need("weight", b.Weight, 0, mostDayNum),
		LagMin:  n.need("cut_min", b.CutMin, 0, mostDayNum),
		Rest:    n.need("cure", b.Cure, 0, mostDayNum),
		Load:    n.need("rack", b.Rack, 0, mostDayNum),
		Effort: [chain.Steps]int{
			n.need("make_minutes", b.MakeMinutes, 0, mostDayNum),
			n.need("cut_minutes", b.CutMinutes, 0, mostDayNum),
			n.need("wrap_minutes", b.WrapMinutes, 0, mostDayNum),
		},
	}
	c.LagMax = n.need("cut_max", b.CutMax, c.LagMin, mostDayNum)
	last, kinds := p.core.Days-1, len(p.core.Kinds)-1
	c.Fixed.At = [chain.Steps]int{n.orNone("fix_make", b.FixMake, last), n.orNone("fix_cut", b.FixCut, last), n.orNone("fix_wrap", b.FixWrap, last)}
	c.Base.At = [chain.Steps]int{n.orNone("base_make", b.BaseMake, mostDayNum), n.orNone("base_cut", b.BaseCut, mostDayNum), n.orNone("base_wrap", b.BaseWrap, mostDayNum)}
	c.Fixed.Kind, c.Base.Kind = n.orNone("fix_kind", b.FixKind, kinds), n.orNone("base_kind", b.BaseKind, kinds)
	for i, k := range b.Molds {
		n.need(fmt.Sprintf("moulds[%d]", i), &k, 0, kinds)
	}
	return c, n.err
}
