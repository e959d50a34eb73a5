package orders

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"ripeline/calc"
)

// Tick says that an item of a batch's sheet is done, by whom and when. Of a
// reading it also holds the value: thousandths of a degree Celsius for a temperature,
// minutes for a time. Of anything else it holds what the item said, and the mass
// it asked for; ticks of long ago hold neither.
type Tick struct {
	Item    string    `json:"item"`
	At      time.Time `json:"at"`
	Person  string    `json:"person"`
	Reading int64     `json:"reading,omitempty"`
	Text    string    `json:"text,omitempty"`
	Mass    calc.Mass `json:"mass_mg,omitempty"`
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
	// Mass is what the sheet showed for the item; when the sheet asks for another
	// by now the tick is refused. Not compared when it is left out.
	Mass *calc.Mass `json:"mass_mg,omitempty"`
}

// ReadingChange is a reading as whoever changes it saw it, and as it is to be.
// Was is 0 when none was seen. Unless Done the reading is taken back.
type ReadingChange struct {
	Item    string
	Was     int64
	Done    bool
	Reading int64
}

// Tick notes an item of a batch's sheet as done, or takes that back. A tick is
// noted for whoever makes it, and does not count as a change of the batch: two
// people can work from one sheet. What is as wanted already stays with whoever
// noted it.
func (b *Book) Tick(ctx context.Context, a Actor, batchID string, in TickInput) (Sheet, error) {
	return b.changeSheet(ctx, a, batchID, func(s Sheet) ([]TickInput, error) {
		return []TickInput{in}, in.check(s)
	})
}

// NoteReadings notes several readings or takes them back, all or none. One that
// is not any more as it was seen gives a conflict; an error names the
// reading's item as its field.
func (b *Book) NoteReadings(ctx context.Context, a Actor, batchID string, changes []ReadingChange) (Sheet, error) {
	return b.changeSheet(ctx, a, batchID, func(s Sheet) ([]TickInput, error) {
		var c Check
		var all []TickInput
		for _, x := range changes {
			r, ok := find(s.Readings, x.Item, func(r SheetReading) string { return r.Item })
			c.Want(ok, x.Item, "is no reading of this batch's sheet; leave it out")
			if !ok {
				continue
			}
			if r.Reading != x.Was && r.Reading != x.Reading {
				return nil, r.changedMeanwhile()
			}
			c.Want(!x.Done || x.Reading > 0 && x.Reading <= r.Most, x.Item, r.limits())
			all = append(all, TickInput{Item: x.Item, Done: x.Done, Reading: x.Reading})
		}
		return all, c.Err()
	})
}

func (r SheetReading) changedMeanwhile() error {
	done := "was taken back"
	if !r.At.IsZero() {
		done = "was noted by " + cmp.Or(r.By, "someone")
	}
	return &Conflict{fmt.Sprintf("%s %s since you opened the sheet. Nothing was written. Look at what is stored now; send yours again to write it over that.", r.Text, done)}
}

// changeSheet makes the changes that choose gives of a batch's sheet.
func (b *Book) changeSheet(ctx context.Context, a Actor, batchID string, choose func(Sheet) ([]TickInput, error)) (Sheet, error) {
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
		if before.State == BatchFailed || before.State == BatchCancelled {
			return Sheet{}, &Conflict{fmt.Sprintf("%s has come to nothing, so there is nothing to tick any more.", before.Lot)}
		}
		all, err := choose(before)
		if err != nil {
			return Sheet{}, err
		}
		for _, in := range all {
			if err := b.setTick(ctx, tx, a, before, in); err != nil {
				return Sheet{}, err
			}
		}
		return m.sheetWith(ctx, tx)
	})
}

// check refuses items that the sheet does not have, and readings that can not
// be.
func (in TickInput) check(s Sheet) error {
	var c Check
	reading, isReading := find(s.Readings, in.Item, func(r SheetReading) string { return r.Item })
	item, isItem := s.item(in.Item)
	switch {
	case isReading && in.Done:
		c.Want(in.Reading > 0 && in.Reading <= reading.Most, "reading", reading.limits())
	case isReading:
		c.Want(in.Reading == 0, "done", "must be true to keep a reading; to take one back leave the reading out")
	case isItem:
		c.Want(in.Reading == 0, "reading", "belongs to a reading; leave it out")
		if in.Done && in.Mass != nil && *in.Mass != item.Mass {
			return &Conflict{fmt.Sprintf("%s: the sheet asks for another weight by now than it showed, so nothing was ticked. Read the sheet again and weigh by that.", item.Text)}
		}
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
