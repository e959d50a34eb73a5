package pages

import (
	"errors"
	"fmt"
	"strings"

	"github.com/go-chi/chi/v5"

	"ripeline/calc"
	"ripeline/orders"
)

// weighedView is how weighed pieces stand to the label.
type weighedView struct {
	Rows   []fact
	Notice string
	Typed  string // what was typed, to be kept
	Keep   string // where it is kept; "" when it can not be
}

// keptView is a weight check that was kept.
type keptView struct {
	Title string
	Rows  []fact
}

// weighedView holds the entered weights against the label.
func (v *visit) weighedView(f *form, l orders.Label) (*weighedView, error) {
	ask, err := v.readWeights(f)
	if err != nil || len(ask.Weights) == 0 {
		return nil, err
	}
	c, err := v.Book.CheckWeights(v.ctx(), v.actor, l.BatchID, ask)
	var invalid *orders.Invalid
	if errors.As(err, &invalid) {
		return nil, &orders.Invalid{Fields: []orders.FieldError{{Field: "weights", Message: "can not be held against the label: " + invalid.Fields[0].Message}}}
	}
	if err != nil {
		return nil, err
	}
	out := &weighedView{Notice: c.Notice, Rows: v.weightRows(c, netWeightText(l)), Typed: f.text("weights")}
	if v.may(orders.Helper) {
		out.Keep = "/batches/" + l.BatchID + "/weights"
	}
	return out, nil
}

// readWeights is the weights as they were typed, none when there are none.
func (v *visit) readWeights(f *form) (orders.WeightQuestion, error) {
	var ask orders.WeightQuestion
	for _, text := range strings.Fields(f.text("weights")) {
		m, err := calc.ParseMass("weights", text, calc.Unit(v.words.massUnit()))
		if err != nil {
			return ask, &orders.Invalid{Fields: []orders.FieldError{{Field: "weights", Message: text + " is no weight; write numbers with spaces between them, such as 121.5 119 120"}}}
		}
		ask.Weights = append(ask.Weights, m)
	}
	return ask, nil
}

func (v *visit) weightRows(c orders.WeightCheck, declared string) []fact {
	rows := []fact{{"Mean, against " + declared, v.words.mass(c.Mean) + meanText(c)}}
	for i, p := range c.Pieces {
		rows = append(rows, fact{fmt.Sprintf("Piece %d", i+1), v.words.mass(p.Mass) + pieceText(p)})
	}
	return rows
}

// keptChecks is the weight checks kept of a batch, newest first.
func (v *visit) keptChecks(batchID string) ([]keptView, error) {
	kept, err := v.Book.WeightChecks(v.ctx(), v.actor, batchID)
	if err != nil {
		return nil, err
	}
	var out []keptView
	for _, k := range kept {
		title := fmt.Sprintf("%s, by %s: %s", v.words.at(k.At), k.Person, count(len(k.Weights), "piece"))
		out = append(out, keptView{Title: title, Rows: v.weightRows(k.Check, v.shop.NetWeight(k.Declared))})
	}
	return out, nil
}

// keepWeights keeps weighed pieces with their batch.
func (v *visit) keepWeights() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	page := "/batches/" + chi.URLParam(v.r, "id") + "/label"
	typed := page + "?" + query("weights", f.text("weights")) // nobody is to weigh them again
	ask, err := v.readWeights(f)
	if err != nil {
		return v.toldThere(typed, err)
	}
	_, err = v.Book.KeepWeights(v.once(f), v.actor, chi.URLParam(v.r, "id"), ask)
	if errors.Is(err, orders.ErrInvalid) || errors.Is(err, orders.ErrConflict) {
		return v.toldThere(typed, err)
	}
	if err != nil {
		return err
	}
	return v.seeNext(page, "Kept with the batch: the weights of "+count(len(ask.Weights), "piece")+".")
}

func meanText(c orders.WeightCheck) string {
	if c.MeanShort {
		return ": below the label, which a batch must not be on average"
	}
	return ": not below the label"
}

func pieceText(p orders.CheckedPiece) string {
	switch {
	case p.Never:
		return ": short by more than twice the tolerable error. It must not be sold with this label"
	case p.Short:
		return ": short by more than the tolerable error, as only few pieces of a batch may be"
	}
	return ": within the tolerable error"
}
