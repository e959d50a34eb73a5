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

// shelf shares what there is, and what is to come, among what is to be poured.
type shelf struct {
	snapshot *Snapshot
	today    civil.Date
	pantry   map[string]*larder
	recipes  map[string]*recipeNeeds // by design id
	served   map[string][]served     // by design id
}

// served is pieces that were given what they take, all of which is there on a day.
type served struct {
	day    civil.Date
	pieces int
}

// stockDesigns says of each design how many pieces can be poured by when: so many as
// that of its ingredients does for of which there is least by then. Planned batches
// are served first, by when they are poured, of the shelf and then of what is on
// order; then what accepted orders still lack, by when it has to be ready; what is
// left is each design's for the next order. What can be ordered today is there
// after its lead time, as much as is wanted, and what is poured from then on takes
// nothing away from what is there before. A recipe that can not be worked out holds
// nothing back: its own check says what is wrong with it.
func (s *Snapshot) stockDesigns(p *schedule.Problem, today civil.Date) {
	sh := &shelf{s, today, s.pantry(), map[string]*recipeNeeds{}, map[string][]served{}}
	for _, d := range p.Designs {
		if r := s.recipeNeeds(d, today); r != nil {
			sh.recipes[d.ID] = r
		}
	}
	sh.serveBatches(p)
	sh.serveOrders(p)
	for i := range p.Designs {
		d := &p.Designs[i]
		if r := sh.recipes[d.ID]; r != nil {
			d.Supplies = sh.steps(d.ID, r)
		}
	}
}

// serveBatches gives planned batches what they take, each of what is there when it is
// poured, or on the first day after on which all of it is there.
func (sh *shelf) serveBatches(p *schedule.Problem) {
	all := sh.snapshot.workings()
	for _, b := range sh.snapshot.plannedByPour() {
		needs, err := all.needsOf(b)
		if err != nil || sh.recipes[b.DesignID] == nil {
			continue
		}
		pour := latest(sh.today, civil.Of(b.Make.From.In(p.Zone)))
		for later := sh.reached(needs, pour); later.After(pour); later = sh.reached(needs, pour) {
			pour = later // what was good before may have expired
		}
		day := sh.today
		for _, n := range needs {
			if plenty := sh.plenty(n); !pour.Before(plenty) {
				day = latest(day, plenty)
				continue
			}
			l := sh.pantry[n.ingredient.ID]
			day = latest(day, l.reaches(n.mass, pour, pour))
			l.take(n.mass, pour)
		}
		sh.served[b.DesignID] = append(sh.served[b.DesignID], served{day, b.Pieces})
	}
}

// reached is the first day on which there is as much as is needed of everything, of
// what is good on a day.
func (sh *shelf) reached(needs []need, good civil.Date) civil.Date {
	day := sh.today
	for _, n := range needs {
		day = latest(day, sh.pantry[n.ingredient.ID].reaches(n.mass, good, sh.plenty(n)))
	}
	return day
}

// serveOrders gives what accepted orders lack what is left, step by step as it comes,
// and what comes after the last step as they want.
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
			if r := sh.recipes[l.DesignID]; r != nil && given[l.ID] < l.Pieces {
				poured := int(math.Ceil(float64(l.Pieces-given[l.ID]) / (1 - spoil[l.DesignID])))
				sh.serve(l.DesignID, r, poured)
			}
		}
	}
}

// serve gives so many pieces of a design what they take, as it comes.
func (sh *shelf) serve(designID string, r *recipeNeeds, pieces int) {
	for _, day := range sh.days(r) {
		n := sh.most(r, day, pieces)
		for _, x := range r.needs {
			if day.Before(sh.plenty(x)) {
				sh.pantry[x.ingredient.ID].draw(r.mass(x, n), sh.ordered(x), day)
			}
		}
		sh.served[designID] = append(sh.served[designID], served{day, n})
		pieces -= n
	}
}

// ordered is when an ingredient that is ordered today is there. What is not planned
// yet counts on no lot that has expired by then.
func (sh *shelf) ordered(n need) civil.Date { return sh.today.AddDays(n.ingredient.LeadDays) }

// plenty is the day from which there is as much of an ingredient as is wanted: when
// what is ordered today is there, or what is on order and no amount was said of.
func (sh *shelf) plenty(n need) civil.Date {
	day := sh.ordered(n)
	for _, p := range sh.pantry[n.ingredient.ID].coming {
		if p.Quantity == 0 && p.ArrivesOn.Before(day) {
			day = p.ArrivesOn
		}
	}
	return latest(sh.today, day)
}

// days lists the days, from today on, on which something comes that a recipe takes.
func (sh *shelf) days(r *recipeNeeds) []civil.Date {
	out := []civil.Date{sh.today}
	for _, n := range r.needs {
		plenty := sh.plenty(n)
		out = append(out, plenty)
		for _, p := range sh.pantry[n.ingredient.ID].coming {
			if p.ArrivesOn.After(sh.today) && p.ArrivesOn.Before(plenty) {
				out = append(out, p.ArrivesOn)
			}
		}
	}
	slices.SortFunc(out, civil.Date.Compare)
	return slices.Compact(out)
}

// most is how many pieces, up to a limit, what is left by a day does for.
func (sh *shelf) most(r *recipeNeeds, day civil.Date, limit int) int {
	for _, n := range r.needs {
		each := float64(r.mix.forVolume(n, r.largest)) / float64(r.pieces)
		if each > 0 && day.Before(sh.plenty(n)) {
			there := sh.pantry[n.ingredient.ID].by(sh.ordered(n), day)
			limit = min(limit, int(float64(there)/each))
		}
	}
	return limit
}

// steps is the supplies of a design: nothing where there is no end of them today.
func (sh *shelf) steps(designID string, r *recipeNeeds) []schedule.Supply {
	var out []schedule.Supply
	days, pieces := sh.days(r), 0
	last := days[len(days)-1]
	if last == sh.today {
		return nil
	}
	for _, day := range days[:len(days)-1] {
		there := sh.most(r, day, maxPieces)
		for _, s := range sh.served[designID] {
			if !s.day.After(day) {
				there += s.pieces
			}
		}
		if there = min(there, maxPieces); there <= pieces {
			continue
		}
		pieces = there
		step := schedule.Supply{From: day, Pieces: pieces}
		if day == sh.today {
			step.From = civil.Date{}
		}
		out = append(out, step)
	}
	return append(out, schedule.Supply{From: last, Endless: true})
}
