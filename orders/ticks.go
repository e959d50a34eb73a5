package orders

import (
	"context"
	"fmt"
	"slices"
	"time"

	"ripeline/calc"
)

// Tick says that an item of a batch's sheet is done, by whom and when. Of a
// reading it also holds the value: thousandths of a degree Celsius for a temperature,
// minutes for a time.
type Tick struct {
	Item    string    `json:"item"`
	At      time.Time `json:"at"`
	Person  string    `json:"person"`
	Reading int64     `json:"reading,omitempty"`
}

// The readings of a sheet. Their values are kept in the unit of calc.
const (
	ReadOilsTemp = "oils_temp"
	ReadLyeTemp  = "lye_temp"
	ReadTrace    = "trace" // minutes from combining to trace
)

// longestTrace bounds a reading of minutes.
const longestTrace = 24 * 60

// TickInput says that an item is done, or takes that back.
type TickInput struct {
	Item    string `json:"item"`
	Done    bool   `json:"done"`
	Reading int64  `json:"reading,omitempty"`
}

// Tick notes an item of a batch's sheet as done, or takes that back. A tick is
// noted for whoever makes it, and does not count as a change of the batch: two
// people can work from one sheet.
func (b *Book) Tick(ctx context.Context, a Actor, batchID string, in TickInput) (Sheet, error) {
	if err := a.may(Helper, true); err != nil {
		return Sheet{}, err
	}
	return write(ctx, b, a, func(tx Tx) (Sheet, error) {
		m, err := makingOf(ctx, tx, batchID)
		if err != nil {
			return Sheet{}, err
		}
		before, err := m.sheetWith(ctx, tx)
		if err != nil {
			return Sheet{}, err
		}
		if err := in.check(before); err != nil {
			return Sheet{}, err
		}
		if in.Done {
			err = tx.SetTick(ctx, batchID, Tick{in.Item, b.now().UTC().Truncate(time.Second), a.Name, in.Reading})
		} else {
			err = tx.ClearTick(ctx, batchID, in.Item)
		}
		if err != nil {
			return Sheet{}, err
		}
		return m.sheetWith(ctx, tx)
	})
}

// check refuses items that the sheet does not have, and readings that can not
// be.
func (in TickInput) check(s Sheet) error {
	if s.State == BatchFailed || s.State == BatchCancelled {
		return &Conflict{fmt.Sprintf("%s has come to nothing, so there is nothing to tick any more.", s.Lot)}
	}
	var c Check
	reading, isReading := find(s.Readings, in.Item, func(r SheetReading) string { return r.Item })
	isItem := slices.ContainsFunc(s.Work, func(w SheetStage) bool {
		return slices.ContainsFunc(w.Items, func(i SheetItem) bool { return i.Item == in.Item })
	})
	switch {
	case isReading && in.Done:
		c.Want(in.Reading > 0 && in.Reading <= reading.Most, "reading", reading.limits())
	case isReading:
		c.Want(in.Reading == 0, "done", "must be true to keep a reading; to take one back leave the reading out")
	case isItem:
		c.Want(in.Reading == 0, "reading", "belongs to a reading; leave it out")
	default:
		c.Add("item", "is not on this batch's sheet; read the sheet again and choose one of its items")
	}
	return c.Err()
}

func (r SheetReading) limits() string {
	if r.Item == ReadTrace {
		return fmt.Sprintf("must be more than 0 and at most %d minutes", longestTrace)
	}
	return "must be more than 0 and at most 150 °C (302 °F)"
}

// maxReadTemp is the hottest that is read.
const maxReadTemp = 150 * calc.Celsius
