package orders

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// oilDensity stands in where an oil's density is not known; common oils lie
// between 0.89 and 0.97 g per mL (from memory).
const oilDensity = 0.915

// mixture is what one kilogram of oils becomes: a volume of batter, and the
// mass of each ingredient in it.
type mixture struct {
	volume calc.Volume
	needs  []need // in the recipe's order
}

type need struct {
	ingredient Ingredient
	mass       calc.Mass // of one kilogram of oils
}

// mixtureOf works the recipe out for one kilogram of oils.
func (s *Snapshot) mixtureOf(r Recipe) (mixture, error) {
	lye := calc.LyeRecipe{
		NaOHShare: calc.Whole, Superfat: r.Superfat, NaOHPurity: r.LyePurity,
		Water: calc.WaterRule{Basis: calc.WaterByConcentration, Value: r.LyeConcentration},
	}
	var parts []calc.Part
	var m mixture
	for _, part := range r.Parts {
		ing, ok := find(s.Ingredients, part.IngredientID, func(i Ingredient) string { return i.ID })
		if !ok {
			return mixture{}, fmt.Errorf("recipe %s: ingredient %s: %w", r.ID, part.IngredientID, ErrNotFound)
		}
		mass := part.Share.Of(calc.Kilogram)
		m.needs = append(m.needs, need{ing, mass})
		if ing.Kind == KindOil {
			lye.Oils = append(lye.Oils, calc.Oil{Name: ing.Name, Mass: mass, SV: ing.svRange()})
			parts = append(parts, calc.Part{Name: ing.Name, Mass: mass, Density: ing.density()})
		}
	}
	solved, err := calc.ComputeLye(lye)
	if err != nil {
		return mixture{}, fmt.Errorf("recipe %s: %w", r.ID, err)
	}
	solution, err := solved.Part()
	if err != nil {
		return mixture{}, fmt.Errorf("recipe %s: %w", r.ID, err)
	}
	batter, err := calc.Mix(append(parts, solution))
	if err != nil {
		return mixture{}, fmt.Errorf("recipe %s: %w", r.ID, err)
	}
	m.volume = batter.Volume
	for i := range m.needs {
		if m.needs[i].ingredient.Kind == KindLye {
			m.needs[i].mass = solved.NaOH
		}
	}
	return m, nil
}

// forVolume is the mass of the need in so much batter, rounded up.
func (m mixture) forVolume(n need, v calc.Volume) calc.Mass {
	return calc.Mass(math.Ceil(float64(n.mass) * float64(v) / float64(m.volume)))
}

func (i Ingredient) svRange() calc.SVRange {
	sv := func(v float64) calc.SV { return calc.SV(math.Round(v * float64(calc.MilligramPerGram))) }
	return calc.SVRange{Low: sv(i.SVLow), Used: sv(i.SVUsed), High: sv(i.SVHigh)}
}

func (i Ingredient) density() calc.Density {
	return calc.Density(math.Round(cmp.Or(i.Density, oilDensity) * float64(calc.GramPerML)))
}

// suppliesReady is the earliest day on which one largest batch of d can have
// all it needs; zero when it is all on the shelf. A recipe that can not be
// worked out holds nothing back here: its own check says what is wrong with it.
func (s *Snapshot) suppliesReady(d Design, r Recipe, today civil.Date) civil.Date {
	mix, err := s.mixtureOf(r)
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

// volumeOf is the batter a batch needs for its molds.
func (s *Snapshot) volumeOf(d Design, molds []schedule.MoldUse) calc.Volume {
	var total calc.Volume
	for _, use := range molds {
		m, _ := find(s.Molds, use.MoldID, func(m Mold) string { return m.ID })
		cut, err := calc.Yield(m.calcMold(), calc.CutPlan(d.Cut))
		if err != nil || use.Units < 1 {
			continue
		}
		each := (use.Pieces + use.Units - 1) / use.Units
		total += cut.FillFor(each).OfVolume(m.calcMold().Volume()) * calc.Volume(use.Units)
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
	mix, err := s.mixtureOf(r)
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
