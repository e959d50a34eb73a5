package orders

import (
	"slices"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// suppliesReady is the earliest day on which one largest batch of d can have
// all it needs; zero when it is all on the shelf. A recipe that can not be
// worked out holds nothing back here: its own check says what is wrong with it.
func (s *Snapshot) suppliesReady(d Design, r Recipe, today civil.Date) civil.Date {
	mix, err := mixtureOf(r, s.Ingredients)
	if err != nil {
		return civil.Date{}
	}
	largest := s.largestVolume(d)
	var ready civil.Date
	for _, n := range mix.needs {
		if day := s.larder(n.ingredient.ID).enough(mix.forVolume(n, largest), n.ingredient, today); day.After(ready) {
			ready = day
		}
	}
	return ready
}

// larder is what there is of one ingredient, and what is to come.
type larder struct {
	lots   []Lot      // as they are used up
	coming []Purchase // first to arrive first
}

func (s *Snapshot) larder(ingredientID string) *larder {
	l := &larder{}
	for _, lot := range sortedLots(s.Lots) {
		if lot.IngredientID == ingredientID {
			l.lots = append(l.lots, lot)
		}
	}
	for _, p := range s.Purchases {
		if p.IngredientID == ingredientID {
			l.coming = append(l.coming, p)
		}
	}
	slices.SortStableFunc(l.coming, func(a, b Purchase) int { return a.ArrivesOn.Compare(b.ArrivesOn) })
	return l
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

// enough is the day from which there is so much of i: zero when it is on the
// shelf, else when what is on order has come, else as if ordered today.
func (l *larder) enough(mass calc.Mass, i Ingredient, today civil.Date) civil.Date {
	have := l.good(today)
	if have >= mass {
		return civil.Date{}
	}
	for _, p := range l.coming {
		if have += p.Quantity; have >= mass || p.Quantity == 0 {
			return latest(p.ArrivesOn, today)
		}
	}
	return today.AddDays(i.LeadDays)
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
	for i := range l.lots {
		if lot := &l.lots[i]; !lot.Expired(day) {
			took := min(mass, lot.Left)
			lot.Left, mass = lot.Left-took, mass-took
		}
	}
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

func (s *Snapshot) largestVolume(d Design) calc.Volume {
	var largest calc.Volume
	for _, id := range d.MoldIDs {
		if m, ok := find(s.Molds, id, func(m Mold) string { return m.ID }); ok && !m.Retired {
			largest = max(largest, m.calcMold().Volume())
		}
	}
	return largest
}

// volumeOf is the batter a batch needs for its molds; a mold that the cut does
// not fit any more needs none.
func (s *Snapshot) volumeOf(d Design, molds []schedule.MoldUse) calc.Volume {
	var fills []calc.MoldFill
	for _, use := range molds {
		m, _ := find(s.Molds, use.MoldID, func(m Mold) string { return m.ID })
		if fill, err := m.filled(use, d.Cut); err == nil {
			fills = append(fills, fill)
		}
	}
	total, err := calc.WantedVolume(fills)
	if err != nil {
		return 0 // nothing is poured, so nothing is lacking
	}
	return total
}
