package orders

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"ripeline/schedule/civil"
)

// LabelLot is a lot of an oil in the batch.
type LabelLot struct {
	IngredientID string     `json:"ingredient_id"`
	Ingredient   string     `json:"ingredient"`
	LotID        string     `json:"lot_id"`
	Code         string     `json:"code"`
	ExpiresOn    civil.Date `json:"expires_on"`
}

// usedOils is what the uses took of oils, with the lots it was of.
func usedOils(ctx context.Context, tx Tx, uses []LotUse) ([]LabelLot, error) {
	ingredients, lots, err := ofUses(ctx, tx, uses)
	if err != nil {
		return nil, err
	}
	var out []LabelLot
	for _, u := range uses {
		i, _ := find(ingredients, u.IngredientID, func(i Ingredient) string { return i.ID })
		lot, _ := find(lots, u.LotID, func(l Lot) string { return l.ID })
		if i.Kind == KindOil {
			out = append(out, LabelLot{i.ID, i.Name, lot.ID, lot.Code, lot.ExpiresOn})
		}
	}
	return out, nil
}

// codeNote says of a batch that is not poured yet that its lot code may change.
func (l *Label) codeNote(x Batch) {
	if x.ID != "" && x.PouredAt.IsZero() {
		l.Notes = append(l.Notes, "The lot code follows the day of the pour: print labels once that is recorded, when the code stays as it is.")
	}
}

// durability counts the months from the wrap, done or planned; soap is not said to
// keep longer than the oils in it (common practice).
func (l *Label) durability(w Workshop, m making) error {
	at := m.batch.WrappedAt
	if at.IsZero() {
		at = m.batch.Wrap.From
	}
	if w.BestBefore == 0 {
		l.Missing = append(l.Missing, "How long it keeps is not set: give the months from the wrap in the settings.")
		return nil
	}
	if at.IsZero() {
		l.Notes = append(l.Notes, fmt.Sprintf("Best before: %d months from the wrap of its batch, or sooner where an oil in it is good for less.", w.BestBefore))
		return nil
	}
	wrapped, err := w.dateOf(at)
	if err != nil {
		return err
	}
	l.BestBefore = monthsAfter(wrapped, w.BestBefore)
	first, unknown := m.firstOil()
	if first == nil || !first.ExpiresOn.Before(monthEnd(l.BestBefore)) {
		l.Notes = append(l.Notes, fmt.Sprintf("Best before counts %d months from the wrap, %s.%s", w.BestBefore, wrapped, m.oilsNote(unknown)))
		return nil
	}
	l.BestLot = first
	l.endWith(*first, wrapped, m.oilsNote(unknown))
	return nil
}

// endWith ends the durability with an oil: with the last whole month in which it is
// good, since a label states a month.
func (l *Label) endWith(oil LabelLot, wrapped civil.Date, note string) {
	l.BestBefore = oil.ExpiresOn
	if oil.ExpiresOn != monthEnd(oil.ExpiresOn) {
		l.BestBefore = civil.Date{Year: oil.ExpiresOn.Year, Month: oil.ExpiresOn.Month, Day: 1}.AddDays(-1)
	}
	why := fmt.Sprintf("%s, %s, is good until %s", oil.Ingredient, oil.called(), oil.ExpiresOn)
	if l.BestBefore.Before(wrapped) {
		l.BestBefore = civil.Date{}
		l.Missing = append(l.Missing, why+fmt.Sprintf(", which leaves no whole month after the wrap, %s: no best before can be given. Check the soap, and have it judged before any of it is sold.", wrapped))
		return
	}
	l.Notes = append(l.Notes, fmt.Sprintf("Best before ends with an oil in it: %s, sooner than the months from the wrap, %s (common practice).%s", why, wrapped, note))
}

// called is what a person calls the lot.
func (o LabelLot) called() string {
	if o.Code == "" {
		return "lot of unknown code"
	}
	return "lot " + o.Code
}

// firstOil is the lot of an oil in the batch that is good for the shortest time, nil
// when no end is on record; unknown are the oils of which some has none.
func (m making) firstOil() (first *LabelLot, unknown []string) {
	for _, o := range m.oils {
		switch {
		case !o.ExpiresOn.IsZero():
			if first == nil || o.ExpiresOn.Before(first.ExpiresOn) {
				first = &o
			}
		case !slices.Contains(unknown, o.Ingredient):
			unknown = append(unknown, o.Ingredient)
		}
	}
	return first, unknown
}

// oilsNote says what is not known of the oils' ends.
func (m making) oilsNote(unknown []string) string {
	switch {
	case m.batch.ID == "" || m.batch.PouredAt.IsZero():
		return " An oil that is good for less shortens it; which lots go in is known once the batch is poured."
	case len(m.oils) == 0:
		return " Which oils went in is not on record: one that is good for less shortens it."
	case len(unknown) > 0:
		return " How long all of it is good is not on record of " + strings.Join(unknown, ", ") + ": an oil that is good for less shortens it."
	}
	return ""
}

// monthsAfter is the same day so many months on, or the last of that month
// where it has no such day.
func monthsAfter(d civil.Date, months int) civil.Date {
	last := civil.Of(time.Date(d.Year, d.Month+time.Month(months)+1, 0, 0, 0, 0, 0, time.UTC))
	last.Day = min(d.Day, last.Day)
	return last
}

// monthEnd is the last day of the month.
func monthEnd(d civil.Date) civil.Date {
	return civil.Of(time.Date(d.Year, d.Month+1, 0, 0, 0, 0, 0, time.UTC))
}
