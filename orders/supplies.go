package orders

import (
	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// larder is what there is of one ingredient, and what is to come.
type larder struct {
	lots   []Lot      // as they are used up
	coming []Purchase // first to arrive first
}

// good is what has not expired on a day.
func (l *larder) good(day civil.Date) calc.Mass {
	var sum calc.Mass
	for _, lot := range l.lots {
		if !lot.Expired(day) {
			sum += lot.Left
		}
	}
	return sum
}

// comes is the day from which there is so much beyond what is left on the shelf:
// when what is on order has come, or, where that is too little or later, what is
// ordered today.
func (l *larder) comes(mass calc.Mass, today, ordered civil.Date) civil.Date {
	have := l.good(today)
	for _, p := range l.coming {
		if have += p.Quantity; have >= mass || p.Quantity == 0 {
			if at := latest(p.ArrivesOn, today); at.Before(ordered) {
				return at
			}
			break
		}
	}
	return ordered
}

// use takes so much of the lots that are good on a day, what expires first.
func (l *larder) use(mass calc.Mass, day civil.Date) (lacks calc.Mass) {
	for i := range l.lots {
		if lot := &l.lots[i]; !lot.Expired(day) {
			took := min(mass, lot.Left)
			lot.Left, mass = lot.Left-took, mass-took
		}
	}
	return mass
}

func latest(a, b civil.Date) civil.Date {
	if b.After(a) {
		return b
	}
	return a
}

// take uses up so much on a day: what expires first, then what has arrived by
// then. It returns what is lacking.
func (l *larder) take(mass calc.Mass, day civil.Date) (lacks calc.Mass) {
	mass = l.use(mass, day)
	for i := range l.coming {
		p := &l.coming[i]
		switch {
		case p.ArrivesOn.After(day):
		case p.Quantity == 0: // the amount was not said: taken to be enough
			return 0
		default:
			took := min(mass, p.Quantity)
			mass -= took
			if p.Quantity -= took; p.Quantity == 0 {
				p.ArrivesOn = usedUp
			}
		}
	}
	return mass
}

// usedUp is a day on which what was used up of an arrival comes again: never.
var usedUp = civil.Date{Year: 9999, Month: 12, Day: 31}

// volumeOf is the batter a batch needs for its molds; a mold that the cut does
// not fit any more needs none.
func (s *Snapshot) volumeOf(d Design, molds []schedule.MoldUse) calc.Volume {
	var all []moldFill
	for _, use := range molds {
		m, _ := find(s.Molds, use.MoldID, func(m Mold) string { return m.ID })
		if fills, err := m.fills(use, d.Cut); err == nil {
			all = append(all, fills...)
		}
	}
	total, err := volumeOf(all)
	if err != nil {
		return 0 // nothing is poured, so nothing is lacking
	}
	return total
}
