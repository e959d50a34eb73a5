package orders

import (
	"context"
	"errors"
	"fmt"
	"time"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// catalog wires the rules of each plain kind of record.
func (b *Book) catalog() {
	b.Closed = records(b, recordRules[ClosedDays]{
		name: "closed days", table: Tx.Closed, meta: func(r *ClosedDays) *Meta { return &r.Meta },
		check: b.checkClosed, label: func(r *ClosedDays) string { return r.From.String() + " to " + r.To.String() },
		plans: true, least: Owner,
	})
	b.Extras = records(b, recordRules[ExtraWindow]{
		name: "extra hours", table: Tx.Extras, meta: func(r *ExtraWindow) *Meta { return &r.Meta },
		check: b.checkExtra, label: func(r *ExtraWindow) string { return fmt.Sprintf("%s %s-%s", r.Date, r.From, r.To) },
		plans: true, least: Owner,
	})
	b.Molds = records(b, recordRules[Mold]{
		name: "mold", table: Tx.Molds, meta: func(r *Mold) *Meta { return &r.Meta },
		check: checkMold, label: func(r *Mold) string { return r.Name }, plans: true, least: Owner,
	})
	b.MoldOuts = records(b, recordRules[MoldOut]{
		name: "missing mold", table: Tx.MoldOuts, meta: func(r *MoldOut) *Meta { return &r.Meta },
		check: b.checkMoldOut, label: func(r *MoldOut) string { return fmt.Sprintf("%d from %s to %s", r.Units, r.From, r.To) },
		plans: true, least: Owner,
	})
	b.Racks = records(b, recordRules[Rack]{
		name: "rack", table: Tx.Racks, meta: func(r *Rack) *Meta { return &r.Meta },
		check: checkRack, label: func(r *Rack) string { return r.Name }, plans: true, least: Owner,
	})
	b.catalogGoods()
}

// catalogGoods wires what is mixed, ordered and sold.
func (b *Book) catalogGoods() {
	b.Ingredients = records(b, recordRules[Ingredient]{
		name: "ingredient", table: Tx.Ingredients, meta: func(r *Ingredient) *Meta { return &r.Meta },
		check: b.checkIngredient, added: b.stockUp, shown: b.shelved, label: func(r *Ingredient) string { return r.Name }, plans: true, least: Owner,
	})
	b.Lots = records(b, recordRules[Lot]{
		name: "lot", table: Tx.Lots, meta: func(r *Lot) *Meta { return &r.Meta },
		check: b.checkLot, gone: unusedLot, label: func(r *Lot) string { return r.called() }, plans: true, least: Owner,
	})
	b.Purchases = records(b, recordRules[Purchase]{
		name: "purchase", table: Tx.Purchases, meta: func(r *Purchase) *Meta { return &r.Meta },
		check: b.checkPurchase, label: func(r *Purchase) string { return "arriving " + r.ArrivesOn.String() }, plans: true, least: Owner,
	})
	b.Recipes = records(b, recordRules[Recipe]{
		name: "recipe", table: Tx.Recipes, meta: func(r *Recipe) *Meta { return &r.Meta },
		check: checkRecipe, label: func(r *Recipe) string { return r.Name }, plans: true, least: Owner,
	})
	b.Designs = records(b, recordRules[Design]{
		name: "design", table: Tx.Designs, meta: func(r *Design) *Meta { return &r.Meta },
		check: checkDesign, label: func(r *Design) string { return r.Name }, plans: true, least: Owner,
	})
	b.Trials = records(b, recordRules[Trial]{
		name: "trial", table: Tx.Trials, meta: func(r *Trial) *Meta { return &r.Meta },
		check: b.checkTrial, label: func(r *Trial) string { return fmt.Sprintf("%s on %s", r.Verdict, r.JudgedOn) }, plans: true, least: Owner,
	})
	b.Customers = records(b, recordRules[Customer]{
		name: "customer", table: Tx.Customers, meta: func(r *Customer) *Meta { return &r.Meta },
		check: checkCustomer, label: func(r *Customer) string { return r.Name }, least: Owner,
	})
	b.Stock = records(b, recordRules[Stock]{
		name: "stock", table: Tx.Stocks, meta: func(r *Stock) *Meta { return &r.Meta },
		check: checkStock, gone: keepWrapped, label: func(r *Stock) string { return fmt.Sprintf("%d pieces", r.Pieces) }, plans: true, least: Owner,
	})
	b.Rules = records(b, recordRules[ReminderRule]{
		name: "reminder", table: Tx.Rules, meta: func(r *ReminderRule) *Meta { return &r.Meta },
		check: b.checkRule, label: func(r *ReminderRule) string { return r.Name }, least: Owner,
	})
}

func records[T any](b *Book, rules recordRules[T]) Records[T] { return Records[T]{b, rules} }

// today is the workshop's local date.
func (b *Book) today(ctx context.Context, tx Tx) (civil.Date, error) {
	w, err := tx.Workshop(ctx)
	if err != nil {
		return civil.Date{}, err
	}
	return w.dateOf(b.now())
}

// location is the workshop's zone.
func (w Workshop) location() (*time.Location, error) {
	loc, err := civil.LoadZone(w.Zone)
	if err != nil {
		return nil, fmt.Errorf("workshop %s: %w", w.ID, err)
	}
	return loc, nil
}

func (w Workshop) dateOf(t time.Time) (civil.Date, error) {
	loc, err := w.location()
	if err != nil {
		return civil.Date{}, err
	}
	return civil.Of(t.In(loc)), nil
}

// fold adds calc's field errors to c, each under the name that rename gives.
func (c *Check) fold(err error, rename func(string) string) error {
	if err == nil {
		return nil
	}
	var many calc.FieldErrors
	if !errors.As(err, &many) {
		return err
	}
	for _, f := range many {
		c.Add(rename(f.Field), f.Message)
	}
	return nil
}

// known records a message unless the record with id exists.
func known[T any](ctx context.Context, c *Check, t Table[T], field, id, what string) (T, error) {
	var none T
	if id == "" {
		c.Add(field, "is missing; choose the "+what)
		return none, nil
	}
	r, err := t.Get(ctx, id)
	if errors.Is(err, ErrNotFound) {
		c.Add(field, "is no "+what+" of this workshop; choose another")
		return none, nil
	}
	return r, err
}

// within records a message unless low <= v <= high.
func within[N int | int64 | float64 | calc.PPM | calc.Length | calc.Mass](c *Check, field string, v, low, high N, unit string) {
	c.Want(v >= low && v <= high, field, fmt.Sprintf("must lie between %v and %v %s", low, high, unit))
}
