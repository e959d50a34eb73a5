package orders

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// MaxUses is how many lots can be written of one batch.
const MaxUses = 200

// withLye is the needs and the lye. A recipe need not name its lye: then it is
// the workshop's own of that alkali, and of several the one there is most of that is
// good on the day. A guess that the maker can correct is better than lye that no trace finds.
func (m mixture) withLye(ingredients []Ingredient, day civil.Date) []need {
	out := slices.Clone(m.needs)
	for _, part := range []struct {
		alkali Alkali
		mass   calc.Mass
	}{{AlkaliNaOH, m.lye.NaOH}, {AlkaliKOH, m.lye.KOH}} {
		if part.mass <= 0 || slices.ContainsFunc(m.needs, func(n need) bool { return n.ingredient.isLye(part.alkali) }) {
			continue
		}
		ours := slices.DeleteFunc(slices.Clone(ingredients), func(i Ingredient) bool { return i.Retired || !i.isLye(part.alkali) })
		if len(ours) > 0 {
			most := slices.MinFunc(ours, func(i, j Ingredient) int {
				return cmp.Or(cmp.Compare(j.OnHand-j.expiredBy(day), i.OnHand-i.expiredBy(day)), cmp.Compare(i.Name, j.Name), cmp.Compare(i.ID, j.ID))
			})
			out = append(out, need{ingredient: most, mass: part.mass})
		}
	}
	return out
}

func (i Ingredient) isLye(a Alkali) bool {
	return i.Kind == KindLye && cmp.Or(i.Alkali, AlkaliNaOH) == a
}

// sameAlkali reports whether o is a lye of the same alkali as i.
func (i Ingredient) sameAlkali(o Ingredient) bool {
	return i.Kind == KindLye && o.isLye(cmp.Or(i.Alkali, AlkaliNaOH))
}

// drawn is what the needs take of the lots on a day: of each ingredient what
// expires first, nothing that has expired. What no lot covers is left without
// one.
func drawn(needs []need, lots []Lot, day civil.Date) []LotUse {
	var out []LotUse
	for _, n := range needs {
		rest := n.mass
		for _, l := range sortedLots(lots) {
			if l.IngredientID != n.ingredient.ID || !l.Good(day) || l.Left == 0 || rest == 0 {
				continue
			}
			took := min(l.Left, rest)
			out = append(out, LotUse{IngredientID: n.ingredient.ID, LotID: l.ID, Mass: took})
			rest -= took
		}
		if rest > 0 {
			out = append(out, LotUse{IngredientID: n.ingredient.ID, Mass: rest})
		}
	}
	return out
}

// drawLots writes what a batch that was just poured took, and lowers the stock.
// It never stands in the way of the fact; what is lacking is said.
func drawLots(ctx context.Context, tx Tx, day civil.Date, x *Batch) ([]string, error) {
	snap, err := tx.Snapshot(ctx)
	if err != nil {
		return nil, err
	}
	needs, err := snap.workings().needsOf(*x)
	if err != nil {
		return []string{fmt.Sprintf("What it took can not be worked out (%s), so no lots were written.", err)}, nil
	}
	x.Uses = drawn(needs, snap.Lots, day)
	if err := takeOfLots(ctx, tx, nil, x.Uses); err != nil {
		return nil, fmt.Errorf("lots of %s: %w", x.Lot, err)
	}
	return snap.lotless(x.Uses), nil
}

// Lotless is the uses of no lot on record, of ingredients that are kept by lots.
func Lotless(uses []LotUse, ingredients []Ingredient) []LotUse {
	return slices.DeleteFunc(slices.Clone(uses), func(u LotUse) bool {
		i, _ := find(ingredients, u.IngredientID, func(i Ingredient) string { return i.ID })
		return u.LotID != "" || i.Lots == 0
	})
}

// lotless says of which ingredients with lots there was too little on record.
func (s *Snapshot) lotless(uses []LotUse) []string {
	var lacks []string
	for _, u := range Lotless(uses, s.Ingredients) {
		i, _ := find(s.Ingredients, u.IngredientID, func(i Ingredient) string { return i.ID })
		lacks = append(lacks, s.Workshop.mass(u.Mass)+" "+i.Name)
	}
	if len(lacks) == 0 {
		return nil
	}
	return []string{"No lot on record covers " + strings.Join(lacks, ", ") + "; say on the batch's page where that came from."}
}

// takeOfLots puts back what a batch took before and takes what it takes now.
func takeOfLots(ctx context.Context, tx Tx, before, now []LotUse) error {
	change := make(map[string]calc.Mass)
	for _, u := range before {
		change[u.LotID] += u.Mass
	}
	for _, u := range now {
		change[u.LotID] -= u.Mass
	}
	delete(change, "")
	for _, u := range slices.Concat(before, now) { // in their order, each once
		back := change[u.LotID]
		delete(change, u.LotID)
		if back == 0 {
			continue
		}
		l, err := tx.Lots().Get(ctx, u.LotID)
		if err != nil {
			return err
		}
		l.Left += back
		if err := tx.Lots().Update(ctx, &l); err != nil {
			return err
		}
	}
	return nil
}

// CorrectLots replaces what a poured batch is said to have been made of; stock
// follows. Helpers may call it. A lot can give no more than it holds. One that had
// expired by the pour, or was not there yet, is written as said, with a warning.
func (b *Book) CorrectLots(ctx context.Context, a Actor, id string, version int, in LotsUsed) (Batch, PlanChange, error) {
	return b.changeBatch(ctx, a, Helper, id, version, func(e event, x *Batch) (fact, error) {
		if x.PouredAt.IsZero() {
			return fact{}, x.refuse("corrected", "Its lots are written when it is poured.")
		}
		f := fact{action: "batch.lots", text: "Corrected the lots of " + x.Lot + "."}
		f.before = func(ctx context.Context, tx Tx, x *Batch) ([]string, error) {
			uses, err := checkUses(ctx, tx, x.Uses, in.Uses)
			if err != nil {
				return nil, err
			}
			before := x.Uses
			x.Uses = uses
			if err := takeOfLots(ctx, tx, before, uses); err != nil {
				return nil, err
			}
			if err := b.journalUses(ctx, tx, a, *x, before); err != nil {
				return nil, err
			}
			return unfitLots(ctx, tx, uses, e.day(x.PouredAt))
		}
		return f, nil
	})
}

// journalUses tells in the journal what a batch is said to have used, and what it
// was said to have used before.
func (b *Book) journalUses(ctx context.Context, tx Tx, a Actor, x Batch, before []LotUse) error {
	w, err := tx.Workshop(ctx)
	if err != nil {
		return err
	}
	was, err := usesText(ctx, tx, w, before)
	if err != nil {
		return err
	}
	now, err := usesText(ctx, tx, w, x.Uses)
	if err != nil {
		return err
	}
	return b.journal(ctx, tx, a, "batch.lots", x.ID, fmt.Sprintf("%s was written down as made of: %s. Now it is: %s.", x.Lot, was, now))
}

// usesText lists what was used: of what, which lot, how much.
func usesText(ctx context.Context, tx Tx, w Workshop, uses []LotUse) (string, error) {
	if len(uses) == 0 {
		return "nothing", nil
	}
	parts := make([]string, len(uses))
	for n, u := range uses {
		i, err := tx.Ingredients().Get(ctx, u.IngredientID)
		if err != nil {
			return "", err
		}
		lot := "no lot"
		if u.LotID != "" {
			l, err := tx.Lots().Get(ctx, u.LotID)
			if err != nil {
				return "", err
			}
			lot = "lot " + l.called()
		}
		parts[n] = fmt.Sprintf("%s, %s, %s", i.Name, lot, w.mass(u.Mass))
	}
	return strings.Join(parts, "; "), nil
}

// unfitLots says which of the lots that a batch is said to be made of were not to
// be used on the day of its pour.
func unfitLots(ctx context.Context, tx Tx, uses []LotUse, poured civil.Date) ([]string, error) {
	var out []string
	for _, u := range uses {
		if u.LotID == "" {
			continue
		}
		l, err := tx.Lots().Get(ctx, u.LotID)
		if err != nil {
			return nil, err
		}
		if l.Good(poured) {
			continue
		}
		i, err := tx.Ingredients().Get(ctx, l.IngredientID)
		if err != nil {
			return nil, err
		}
		text := fmt.Sprintf("%s, lot %s, was received on %s, after the pour of %s; check both dates and the lot.", i.Name, l.called(), l.ReceivedOn, poured)
		if l.Expired(poured) {
			text = fmt.Sprintf("%s, lot %s, was good until %s and had expired by the pour of %s. Check the soap before any of it is sold or given away.", i.Name, l.called(), l.ExpiresOn, poured)
		}
		out = append(out, text)
	}
	return out, nil
}

// checkUses completes and checks what a batch is said to have used; had is what
// was written so far, which the lots get back.
func checkUses(ctx context.Context, tx Tx, had, uses []LotUse) ([]LotUse, error) {
	var c Check
	c.Want(len(uses) <= MaxUses, "lots_used", fmt.Sprintf("has more than %d entries; leave some out", MaxUses))
	out := slices.Clone(uses[:min(len(uses), MaxUses)])
	for i := range out {
		u, at := &out[i], fmt.Sprintf("lots_used[%d].", i)
		c.Want(u.Mass > 0 && u.Mass <= maxOnHand, at+"used_mg", "must be more than 0 and at most 10,000 kg; leave the entry out when none was used")
		var err error
		if u.LotID == "" {
			var i Ingredient
			i, err = known(ctx, &c, tx.Ingredients(), at+"ingredient_id", u.IngredientID, "ingredient")
			u.IngredientID = i.ID
		} else {
			err = u.checkLot(ctx, tx, &c, at, had)
		}
		if err != nil {
			return nil, err
		}
		for _, v := range out[:i] {
			if u.LotID == "" && u.IngredientID == "" {
				break // said above
			}
			c.Want(v.LotID != u.LotID || v.IngredientID != u.IngredientID, at+"lot_id", "is there twice; add the two up")
		}
	}
	return out, c.Err()
}

// checkLot checks a use of a lot on record.
func (u *LotUse) checkLot(ctx context.Context, tx Tx, c *Check, at string, had []LotUse) error {
	l, err := known(ctx, c, tx.Lots(), at+"lot_id", u.LotID, "lot")
	if err != nil || l.ID == "" {
		return err
	}
	u.LotID = l.ID
	u.IngredientID = cmp.Or(u.IngredientID, l.IngredientID)
	c.Want(u.IngredientID == l.IngredientID, at+"lot_id", "is a lot of another ingredient; choose one of this")
	holds := l.Left
	for _, h := range had {
		if h.LotID == l.ID {
			holds += h.Mass
		}
	}
	if u.Mass <= holds {
		return nil
	}
	w, err := tx.Workshop(ctx)
	c.Add(at+"used_mg", fmt.Sprintf("is more than lot %s holds: at most %s can have come of it", l.called(), w.atMost(holds)))
	return err
}
