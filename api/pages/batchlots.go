package pages

import (
	"cmp"
	"errors"
	"fmt"

	"ripeline/orders"
)

// lotsView is what a batch was made of, with the form that corrects it.
type lotsView struct {
	Rows   []tracedUse
	Note   string
	Trace  string
	Action string
	Fields [][]field
}

// lotsView draws the lots of a poured batch; nil before the pour.
func (v *visit) lotsView(f *form, names *shelf, b orders.Batch) (*lotsView, error) {
	if b.PouredAt.IsZero() {
		return nil, nil //nolint:nilnil // nothing is drawn before the pour
	}
	view := &lotsView{Action: "/batches/" + b.ID + "/lots", Trace: "/trace?" + query("batch_id", b.ID)}
	lots, err := v.lotsFor(b)
	if err != nil {
		return nil, err
	}
	for _, u := range b.Uses {
		l, _ := byID(lots, u.LotID, func(l orders.Lot) string { return l.ID })
		view.Rows = append(view.Rows, v.tracedUse(
			orders.TracedBatch{PouredAt: b.PouredAt},
			orders.TracedUse{Ingredient: names.ingredientName(u.IngredientID), LotID: u.LotID, Code: l.Code, ExpiresOn: l.ExpiresOn, Mass: u.Mass},
		))
	}
	if len(b.Uses) == 0 {
		view.Note = "No lots are on record for this batch. Say here which it was made of, so that it can be traced."
	} else if lacks := v.lotless(names, b); lacks != "" {
		view.Note = lacks
	}
	if v.may(orders.Helper) {
		view.Fields = v.lotFields(f, names, b, lots)
	}
	return view, nil
}

// lotless says for how much no lot is on record; "" when for none, or only for
// what is not kept by lots at all.
func (v *visit) lotless(names *shelf, b orders.Batch) string {
	var lacks []string
	for _, u := range orders.Lotless(b.Uses, names.ingredients) {
		lacks = append(lacks, v.words.mass(u.Mass)+" of "+names.ingredientName(u.IngredientID))
	}
	if len(lacks) == 0 {
		return ""
	}
	return "The lots on record do not cover " + join(lacks) + ". Receive the lot it came from, or choose another below."
}

// lotsFor is the lots that can have gone into the batch: those with something
// left, and those it is said to have used.
func (v *visit) lotsFor(b orders.Batch) ([]orders.Lot, error) {
	lots, err := all(func(q orders.ListQuery) (orders.Page[orders.Lot], error) {
		return v.Book.Lots.List(v.ctx(), v.actor, q)
	}, orders.ListQuery{})
	if err != nil {
		return nil, err
	}
	for _, u := range b.Uses {
		if _, there := byID(lots, u.LotID, func(l orders.Lot) string { return l.ID }); there || u.LotID == "" {
			continue
		}
		l, err := v.Book.Lots.Get(v.ctx(), v.actor, u.LotID)
		if err != nil && !errors.Is(err, orders.ErrNotFound) {
			return nil, err
		}
		if err == nil {
			lots = append(lots, l)
		}
	}
	return lots, nil
}

// moreUses is how many empty rows the form has for further lots, and mostUses
// how many rows it reads: all that it can have drawn.
const (
	moreUses = 2
	mostUses = orders.MaxUses + moreUses
)

// lotFields has a row for each use, in which the lot and the amount can change,
// and some for further lots.
func (v *visit) lotFields(f *form, names *shelf, b orders.Batch, lots []orders.Lot) [][]field {
	var rows [][]field
	typed := f.values.Has(rowName("lots_used", 0, "used_mg")) // then what is stored is not shown among it
	for i := range len(b.Uses) + moreUses {
		u := orders.LotUse{}
		if i < len(b.Uses) && !typed {
			u = b.Uses[i]
		}
		lot := rowName("lots_used", i, "lot_id")
		ingredient := f.input("hidden", rowName("lots_used", i, "ingredient_id"), "Ingredient", u.IngredientID)
		title, none := names.ingredientName(ingredient.Value), "No lot on record"
		if ingredient.Value == "" {
			title, none = fmt.Sprintf("Another lot, %d", i-len(b.Uses)+1), "None"
		}
		choices := []option{{Label: none}}
		for _, l := range lots {
			if ingredient.Value == "" || l.IngredientID == ingredient.Value {
				choices = append(choices, option{Value: l.ID, Label: v.lotChoice(names, l, v.words.date(b.PouredAt))})
			}
		}
		used := f.quantityInput(rowName("lots_used", i, "used_mg"), "Used of "+lowerFirst(title), f.words.massValue(u.Mass), f.words.massUnit())
		rows = append(rows, []field{f.selectInput(lot, title, u.LotID, choices), used, ingredient})
	}
	return rows
}

// dropEmptied leaves out the uses whose amount was emptied: none of it was used.
func (f *form) dropEmptied() {
	for i := range mostUses {
		if f.text(rowName("lots_used", i, "ingredient_id")) == "" || f.text(rowName("lots_used", i, "used_mg")) != "" {
			continue
		}
		for _, key := range []string{"ingredient_id", "lot_id", "used_mg"} {
			f.values.Del(rowName("lots_used", i, key))
		}
	}
}

func lowerFirst(s string) string {
	for i, r := range s {
		return lower(string(r)) + s[i+len(string(r)):]
	}
	return s
}

func (v *visit) correctLots() error {
	return v.batchStep(func(f *form, id string) (orders.Batch, orders.PlanChange, error) {
		f.dropEmptied()
		var in orders.LotsUsed
		for i := range f.compact("lots_used", mostUses, "lot_id", "used_mg") {
			in.Uses = append(in.Uses, orders.LotUse{
				IngredientID: f.text(rowName("lots_used", i, "ingredient_id")), LotID: f.text(rowName("lots_used", i, "lot_id")),
				Mass: f.mass(rowName("lots_used", i, "used_mg")),
			})
		}
		if !f.ok() {
			return orders.Batch{}, orders.PlanChange{}, errRejected
		}
		return v.Book.CorrectLots(v.once(f), v.actor, id, f.version(), in)
	}, func(b orders.Batch) string {
		return fmt.Sprintf("The lots of %s are corrected; the shelf follows.", cmp.Or(b.Lot, "the batch"))
	})
}
