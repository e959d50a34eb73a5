package orders

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// TraceOf says which batches to trace: those made with any of the lots, those
// named, or those whose pieces an order holds.
type TraceOf struct {
	LotIDs   []string // uses of other lots are then left out
	BatchIDs []string
	OrderID  string // lines of other orders are then left out
}

// Trace is which batches and pieces, of which lots, for whom.
type Trace struct {
	Lots     []Lot         `json:"lots"`               // that were asked for
	OrderID  string        `json:"order_id,omitempty"` // that was asked for
	Batches  []TracedBatch `json:"batches"`
	Untraced int           `json:"untraced"` // pieces of the order asked for that no batch on record is set aside for
}

// TracedBatch is a batch, what went into it, and who got its pieces.
type TracedBatch struct {
	BatchID  string       `json:"batch_id"`
	Lot      string       `json:"lot"`
	DesignID string       `json:"design_id"`
	Design   string       `json:"design"`
	State    BatchState   `json:"state"`
	PouredAt time.Time    `json:"poured_at,omitzero"`
	Pieces   int          `json:"pieces"`      // poured
	Sound    int          `json:"sound"`       // of them, now or expected
	OnShelf  int          `json:"on_shelf"`    // wrapped and still in the workshop, set aside or not
	Held     int          `json:"held"`        // by orders, those not asked for too, handed over or not
	Gone     int          `json:"handed_over"` // of those held
	Uses     []TracedUse  `json:"lots_used"`
	Lines    []TracedLine `json:"lines"`
}

// TracedUse is what a batch took of a lot.
type TracedUse struct {
	IngredientID string     `json:"ingredient_id"`
	Ingredient   string     `json:"ingredient"`
	LotID        string     `json:"lot_id,omitempty"` // empty for what came of no lot on record
	Code         string     `json:"code"`
	ReceivedOn   civil.Date `json:"received_on"`
	ExpiresOn    civil.Date `json:"expires_on"`
	Mass         calc.Mass  `json:"used_mg"`
}

// TracedLine is the pieces of a batch that an order line holds.
type TracedLine struct {
	OrderID    string      `json:"order_id"`
	Number     int         `json:"number"`
	Title      string      `json:"title"`
	Status     OrderStatus `json:"status"`
	NeededBy   civil.Date  `json:"needed_by"`
	EndedAt    time.Time   `json:"ended_at,omitzero"` // when it was recorded that it was handed over
	LeftOn     civil.Date  `json:"left_on"`           // the day it was handed over
	CustomerID string      `json:"customer_id"`
	Customer   string      `json:"customer"`
	Email      string      `json:"email"`
	Phone      string      `json:"phone"`
	LineID     string      `json:"line_id"`
	Pieces     int         `json:"pieces"`    // of this batch
	Keepsakes  int         `json:"keepsakes"` // of the whole line: they may still be on the maker's shelf
}

// Free is how many of the pieces no order holds: on the rack or on the shelf,
// or for what was wrapped counted down since.
func (t TracedBatch) Free() int {
	return max(0, t.Sound-t.Held)
}

// Unexplained is how many wrapped pieces are neither with a customer nor on the
// shelf: the stock was counted down by hand.
func (t TracedBatch) Unexplained() int {
	if t.State != BatchWrapped {
		return 0
	}
	return max(0, t.Sound-t.OnShelf-t.Gone)
}

// LotsAsk names lots by their ids, by a code of their supplier, or both.
type LotsAsk struct {
	IDs  []string
	Code string
}

// maxTraced is the most lots that can be named by their ids at once.
const maxTraced = 100

// TraceLots finds every batch that was made with any of the lots, and who
// holds its pieces.
func (b *Book) TraceLots(ctx context.Context, a Actor, ask LotsAsk) (Trace, error) {
	return read(ctx, b, a, func(tx Tx) (Trace, error) {
		lots, err := askedLots(ctx, tx, ask)
		if err != nil {
			return Trace{}, err
		}
		of := TraceOf{}
		for _, l := range lots {
			of.LotIDs = append(of.LotIDs, l.ID)
		}
		batches, err := tx.Trace(ctx, of)
		return Trace{Lots: lots, Batches: batches}, err
	})
}

// askedLots is the lots asked for. One that is not there is an error: "nobody
// is affected" must never be the answer to a slip of the pen.
func askedLots(ctx context.Context, tx Tx, ask LotsAsk) ([]Lot, error) {
	code := strings.TrimSpace(ask.Code)
	var c Check
	c.Want(len(ask.IDs) > 0 || code != "", "code", "is empty; type the lot code on the supplier's label, or choose a lot")
	c.Want(len(ask.IDs) <= maxTraced, "lot_id", fmt.Sprintf("names more than %d lots; trace fewer at once", maxTraced))
	if err := c.Err(); err != nil {
		return nil, err
	}
	var lots []Lot
	for _, id := range ask.IDs {
		l, err := tx.Lots().Get(ctx, id)
		if err != nil {
			return nil, err
		}
		lots = append(lots, l)
	}
	if code == "" {
		return lots, nil
	}
	coded, err := matching(ctx, tx.Lots(), code, func(l Lot) string { return l.Code })
	if err == nil && len(coded) == 0 {
		c.Add("code", "is on no lot here; compare it with the supplier's label")
		err = c.Err()
	}
	return append(lots, coded...), err
}

// matching is every record whose name is text, whatever its case and the spaces
// around it: one that is left out is soap that nobody recalls.
func matching[T any](ctx context.Context, t Table[T], text string, name func(T) string) ([]T, error) {
	all, err := allOf(ctx, t, ListQuery{Text: text, All: true})
	return slices.DeleteFunc(all, func(r T) bool { return !sameCode(name(r), text) }), err
}

// SoapAsk names soap by its batch, by the lot code that stands on a piece or the
// number of an order, or by an order.
type SoapAsk struct {
	BatchID string
	Lot     string // a batch's lot code, or an order's number where no batch has it
	OrderID string
}

// TraceSoap finds the lots that went into a batch, or into what an order holds.
func (b *Book) TraceSoap(ctx context.Context, a Actor, ask SoapAsk) (Trace, error) {
	return read(ctx, b, a, func(tx Tx) (Trace, error) {
		of, order, err := askedSoap(ctx, tx, ask)
		if err != nil {
			return Trace{}, err
		}
		batches, err := tx.Trace(ctx, of)
		return Trace{Lots: []Lot{}, OrderID: order.ID, Batches: batches, Untraced: order.untraced(batches)}, err
	})
}

// askedSoap is the batches or the order that are asked for.
func askedSoap(ctx context.Context, tx Tx, ask SoapAsk) (TraceOf, Order, error) {
	var c Check
	const alone = "is asked for beside another; trace by one of order_id, batch_id and lot, and leave out the others"
	c.Want(ask.OrderID == "" || ask.BatchID == "", "batch_id", alone)
	c.Want(ask.OrderID+ask.BatchID == "" || strings.TrimSpace(ask.Lot) == "", "lot", alone)
	if err := c.Err(); err != nil {
		return TraceOf{}, Order{}, err
	}
	switch text := strings.TrimSpace(ask.Lot); {
	case ask.OrderID != "":
		order, err := tx.Orders().Get(ctx, ask.OrderID)
		return TraceOf{OrderID: order.ID}, order, err
	case ask.BatchID != "":
		batch, err := tx.Batches().Get(ctx, ask.BatchID)
		return TraceOf{BatchIDs: []string{batch.ID}}, Order{}, err
	case text == "":
		return TraceOf{}, Order{}, &Invalid{[]FieldError{{"lot", "is empty; type the lot code that stands on the soap, or the number of an order"}}}
	default:
		return namedSoap(ctx, tx, text)
	}
}

// namedSoap is the batches of a lot code, or the order of a number.
func namedSoap(ctx context.Context, tx Tx, text string) (TraceOf, Order, error) {
	found, err := matching(ctx, tx.Batches(), text, func(b Batch) string { return b.Lot })
	if err != nil {
		return TraceOf{}, Order{}, err
	}
	if len(found) > 0 {
		ids := make([]string, len(found))
		for i, x := range found {
			ids[i] = x.ID
		}
		slices.Sort(ids)
		return TraceOf{BatchIDs: ids}, Order{}, nil
	}
	numbered, err := matching(ctx, tx.Orders(), strings.TrimPrefix(text, "#"), func(o Order) string { return strconv.Itoa(o.Number) })
	if err == nil && len(numbered) == 0 {
		err = &Invalid{[]FieldError{{"lot", "is on no batch here, and no order has that number; compare it with the label of the soap"}}}
	}
	if err != nil {
		return TraceOf{}, Order{}, err
	}
	return TraceOf{OrderID: numbered[0].ID}, numbered[0], nil
}

// untraced is how many pieces of the order come of none of the batches: not
// made yet, or counted in by hand.
func (o Order) untraced(batches []TracedBatch) int {
	left := 0
	for _, l := range o.Lines {
		left += l.Total()
	}
	for _, b := range batches {
		for _, l := range b.Lines {
			left -= l.Pieces
		}
	}
	return max(0, left)
}
