package orders

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// pantry is what there is of each ingredient, by id.
func (s *Snapshot) pantry() map[string]*larder {
	out := make(map[string]*larder, len(s.Ingredients))
	for _, i := range s.Ingredients {
		out[i.ID] = &larder{}
	}
	for _, lot := range sortedLots(s.Lots) {
		if l := out[lot.IngredientID]; l != nil {
			l.lots = append(l.lots, lot)
		}
	}
	for _, p := range s.Purchases {
		if l := out[p.IngredientID]; l != nil {
			l.coming = append(l.coming, p)
		}
	}
	for _, l := range out {
		slices.SortStableFunc(l.coming, func(a, b Purchase) int { return a.ArrivesOn.Compare(b.ArrivesOn) })
	}
	return out
}

// recipeNeeds is what one design's recipe takes.
type recipeNeeds struct {
	mix     mixture
	needs   []need      // of one kilogram of oils, the lye too
	largest calc.Volume // of its largest mold
	pieces  int         // that mold is cut into
}

// mass is what so many pieces take of a need.
func (r *recipeNeeds) mass(n need, pieces int) calc.Mass {
	return calc.Mass(math.Ceil(float64(r.mix.forVolume(n, r.largest)) * float64(pieces) / float64(r.pieces)))
}

// recipeNeeds works out what a design takes; nil for one that can not be planned
// or worked out, which its own check says.
func (s *Snapshot) recipeNeeds(of schedule.Design, today civil.Date) *recipeNeeds {
	d, _ := find(s.Designs, of.ID, func(d Design) string { return d.ID })
	recipe, ok := find(s.Recipes, d.RecipeID, func(r Recipe) string { return r.ID })
	if !ok || of.Blocked != "" {
		return nil
	}
	mix, err := mixtureOf(recipe, s.Ingredients)
	if err != nil {
		return nil
	}
	out := &recipeNeeds{mix: mix, needs: mix.withLye(s.Ingredients, today)}
	for _, f := range of.Fits {
		m, _ := find(s.Molds, f.MoldID, func(m Mold) string { return m.ID })
		if v := m.calcMold().Volume(); v > out.largest {
			out.largest, out.pieces = v, f.Full
		}
	}
	if out.pieces == 0 {
		return nil
	}
	return out
}

// shelf shares what there is among what is to be poured.
type shelf struct {
	snapshot *Snapshot
	today    civil.Date
	pantry   map[string]*larder
	recipes  map[string]*recipeNeeds // by design id
	pieces   map[string]int          // that can be poured of the shelf, by design id
}

// stockDesigns says of each design how many pieces can be poured of what is on the
// shelf, and when there can be more. The shelf serves planned batches first, by
// when they are poured, then what accepted orders still lack, by when it has to
// be ready; what is left is each design's for the next order. A recipe that can
// not be worked out holds nothing back: its own check says what is wrong with it.
func (s *Snapshot) stockDesigns(p *schedule.Problem, today civil.Date) {
	sh := &shelf{s, today, s.pantry(), map[string]*recipeNeeds{}, map[string]int{}}
	for _, d := range p.Designs {
		if r := s.recipeNeeds(d, today); r != nil {
			sh.recipes[d.ID] = r
		}
	}
	sh.serveBatches(p)
	sh.serveOrders(p)
	for i := range p.Designs {
		d := &p.Designs[i]
		r := sh.recipes[d.ID]
		if r == nil {
			continue
		}
		if d.SuppliesReady = sh.ready(r); !d.SuppliesReady.IsZero() {
			d.SuppliesPieces = min(sh.pieces[d.ID]+sh.most(r, maxPieces), maxPieces)
		}
	}
}

// serveBatches gives planned batches what they take, where all of it is there.
func (sh *shelf) serveBatches(p *schedule.Problem) {
	all := sh.snapshot.workings()
	for _, b := range sh.snapshot.plannedByPour() {
		needs, err := all.needsOf(b)
		if err != nil || sh.recipes[b.DesignID] == nil {
			continue
		}
		day := latest(sh.today, civil.Of(b.Make.From.In(p.Zone)))
		if slices.ContainsFunc(needs, func(n need) bool { return sh.pantry[n.ingredient.ID].good(day) < n.mass }) {
			continue
		}
		for _, n := range needs {
			sh.pantry[n.ingredient.ID].use(n.mass, day)
		}
		sh.pieces[b.DesignID] += b.Pieces
	}
}

// serveOrders gives what accepted orders lack what is left, as far as it goes.
func (sh *shelf) serveOrders(p *schedule.Problem) {
	given := make(map[string]int)
	for _, a := range sh.snapshot.Allocations {
		given[a.LineID] += a.Pieces
	}
	open := slices.DeleteFunc(slices.Clone(p.Orders), func(o schedule.Order) bool { return !o.Accepted })
	slices.SortStableFunc(open, func(a, b schedule.Order) int {
		return cmp.Or(a.NeededBy.AddDays(-a.HandOver).Compare(b.NeededBy.AddDays(-b.HandOver)), strings.Compare(a.ID, b.ID))
	})
	spoil := make(map[string]float64, len(p.Designs))
	for _, d := range p.Designs {
		spoil[d.ID] = d.Spoil
	}
	for _, o := range open {
		for _, l := range o.Lines {
			r := sh.recipes[l.DesignID]
			if r == nil || given[l.ID] >= l.Pieces {
				continue
			}
			poured := int(math.Ceil(float64(l.Pieces-given[l.ID]) / (1 - spoil[l.DesignID])))
			n := sh.most(r, poured)
			for _, x := range r.needs {
				sh.pantry[x.ingredient.ID].use(r.mass(x, n), sh.later(x))
			}
			sh.pieces[l.DesignID] += n
		}
	}
}

// later is when an ingredient that is ordered today is there. What is not planned
// yet counts on no lot that has expired by then.
func (sh *shelf) later(n need) civil.Date { return sh.today.AddDays(n.ingredient.LeadDays) }

// most is how many pieces, up to a limit, what is left on the shelf does for.
func (sh *shelf) most(r *recipeNeeds, limit int) int {
	for _, n := range r.needs {
		if each := float64(r.mix.forVolume(n, r.largest)) / float64(r.pieces); each > 0 {
			limit = min(limit, int(float64(sh.pantry[n.ingredient.ID].good(sh.later(n)))/each))
		}
	}
	return limit
}

// ready is the earliest day on which there can be more than what is on the shelf
// now: when what is on order suffices for one largest batch, as if more could be
// had from then on, or what is ordered today arrives; zero for today.
func (sh *shelf) ready(r *recipeNeeds) civil.Date {
	var ready civil.Date
	for _, n := range r.needs {
		ready = latest(ready, sh.pantry[n.ingredient.ID].comes(r.mass(n, r.pieces), sh.today, sh.later(n)))
	}
	if !ready.After(sh.today) {
		return civil.Date{}
	}
	return ready
}
