package orders

import (
	"cmp"
	"context"
	"fmt"

	"ripeline/calc"
)

// setTick writes a change of the sheet that was checked. What it overwrites or
// takes back is told in the journal; what is so already stays as it was noted.
func (b *Book) setTick(ctx context.Context, tx Tx, a Actor, s Sheet, in TickInput) error {
	w, err := tx.Workshop(ctx)
	if err != nil {
		return err
	}
	now := Tick{Item: in.Item, At: b.now(), Person: a.Name, Reading: in.Reading}
	var had string
	var same bool
	if r, ok := find(s.Readings, in.Item, func(r SheetReading) string { return r.Item }); ok {
		had, same = r.noted(w), in.Reading == r.Reading
	} else {
		item, _ := s.item(in.Item)
		had, same = item.ticked(w), in.Done == !item.At.IsZero() && item.Earlier == nil
		now.Text, now.Mass = item.Text, item.Mass
	}
	if same {
		return nil
	}
	did := "Took back"
	if in.Done {
		did, err = "Noted anew", tx.SetTick(ctx, s.BatchID, now)
	} else {
		err = tx.ClearTick(ctx, s.BatchID, in.Item)
	}
	if err != nil || had == "" {
		return err
	}
	return b.journal(ctx, tx, a, "batch.tick", s.BatchID, fmt.Sprintf("%s on the sheet of %s: %s.", did, s.Lot, had))
}

// noted is the reading as it stands in words, "" while there is none.
func (r SheetReading) noted(w Workshop) string {
	if r.At.IsZero() {
		return ""
	}
	value := fmt.Sprintf("%d min", r.Reading)
	if r.Item != ReadTrace {
		value = w.temperature(calc.Temperature(r.Reading))
	}
	return fmt.Sprintf("%s, %s, by %s", r.Text, value, cmp.Or(r.By, "someone"))
}

// ticked is the item's tick in words, "" while it has none.
func (i SheetItem) ticked(w Workshop) string {
	text, mass, by := i.Text, i.Mass, i.By
	switch {
	case i.Earlier != nil:
		text, mass, by = i.Earlier.Text, i.Earlier.Mass, i.Earlier.By
	case i.At.IsZero():
		return ""
	}
	if mass > 0 {
		text += ", " + w.mass(mass)
	}
	return fmt.Sprintf("%s, ticked by %s", text, cmp.Or(by, "someone"))
}

// item is the item of the sheet's work that is named so.
func (s Sheet) item(name string) (SheetItem, bool) {
	for _, stage := range s.Work {
		if i, ok := find(stage.Items, name, func(i SheetItem) string { return i.Item }); ok {
			return i, true
		}
	}
	return SheetItem{}, false
}
