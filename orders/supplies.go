package orders

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

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
		if n.ingredient.OnHand >= mix.forVolume(n, largest) {
			continue
		}
		if day := n.ingredient.arrives(today); day.After(ready) {
			ready = day
		}
	}
	return ready
}

// arrives is the day more of the ingredient can be on the shelf: when what is
// on order is expected, else as if ordered today.
func (i Ingredient) arrives(today civil.Date) civil.Date {
	if i.ExpectedOn.IsZero() {
		return today.AddDays(i.LeadDays)
	}
	if i.ExpectedOn.Before(today) {
		return today
	}
	return i.ExpectedOn
}

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

// orderBy is the last day to order what a batch lacks, and the list of it.
type orderBy struct {
	batch Batch
	day   civil.Date
	lacks []string
}

// toOrder goes through the planned batches by make time, takes what each needs
// off the shelf, and lists for each what has then still to be ordered: neither
// on the shelf nor on order in time.
func (s *Snapshot) toOrder(batches []Batch, dayOf func(Batch) civil.Date) []orderBy {
	shelf := make(map[string]calc.Mass)
	for _, i := range s.Ingredients {
		shelf[i.ID] = i.OnHand
	}
	planned := slices.DeleteFunc(slices.Clone(batches), func(b Batch) bool { return b.State != BatchPlanned })
	slices.SortFunc(planned, func(a, b Batch) int {
		return cmp.Or(a.Make.From.Compare(b.Make.From), strings.Compare(a.ID, b.ID))
	})
	var out []orderBy
	for _, b := range planned {
		if o := s.lacking(b, dayOf(b), shelf); len(o.lacks) > 0 {
			out = append(out, o)
		}
	}
	return out
}

// lacking takes what b needs off the shelf and says what there was too little
// of.
func (s *Snapshot) lacking(b Batch, make civil.Date, shelf map[string]calc.Mass) orderBy {
	out := orderBy{batch: b}
	d, _ := find(s.Designs, b.DesignID, func(d Design) string { return d.ID })
	r, _ := find(s.Recipes, d.RecipeID, func(r Recipe) string { return r.ID })
	mix, err := mixtureOf(r, s.Ingredients)
	if err != nil {
		return out
	}
	volume := s.volumeOf(d, b.Molds)
	for _, n := range mix.needs {
		i := n.ingredient
		mass := mix.forVolume(n, volume)
		have := max(0, shelf[i.ID])
		shelf[i.ID] -= mass
		onOrder := !i.ExpectedOn.IsZero() && !i.ExpectedOn.After(make)
		if have >= mass || onOrder || i.LeadDays == 0 {
			continue // nothing to wait for
		}
		out.lacks = append(out.lacks, fmt.Sprintf("%s, %s g (%d days to arrive)", i.Name, (mass-have).Grams(0), i.LeadDays))
		if day := make.AddDays(-i.LeadDays); out.day.IsZero() || day.Before(out.day) {
			out.day = day
		}
	}
	return out
}
