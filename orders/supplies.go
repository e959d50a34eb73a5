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

// by is what there is by a day, of the shelf what has not expired on another.
func (l *larder) by(good, day civil.Date) calc.Mass {
	var sum calc.Mass
	for _, lot := range l.lots {
		if !lot.Expired(good) {
			sum += lot.Left
		}
	}
	for _, p := range l.coming {
		if !p.ArrivesOn.After(day) {
			sum += p.Quantity
		}
	}
	return sum
}

// reaches is the first day on which there is so much, of the shelf what has not
// expired on a day: the zero day for the shelf alone, and no later than a limit, from
// which there is as much as is wanted.
func (l *larder) reaches(mass calc.Mass, good, limit civil.Date) civil.Date {
	if l.by(good, civil.Date{}) >= mass {
		return civil.Date{}
	}
	for _, p := range l.coming {
		if p.ArrivesOn.Before(limit) && l.by(good, p.ArrivesOn) >= mass {
			return p.ArrivesOn
		}
	}
	return limit
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
	return l.draw(mass, day, day)
}

// draw uses up so much of what there is by a day: first of the lots that are good on
// another, then of what has arrived. It returns what is lacking.
func (l *larder) draw(mass calc.Mass, good, day civil.Date) (lacks calc.Mass) {
	mass = l.use(mass, good)
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
