package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"ripeline/orders"
)

// weighView is a batch's weighings with the form for one more.
type weighView struct {
	Fresh  string // what a piece weighs when it is cut, by the recipe
	Rows   []weighRow
	Waits  string // that the plan wraps it too early
	Note   string
	Lines  []string // what the curve says
	Curve  *curvePicture
	Fields []field
	Action string
	Undo   string // where a weighing is taken back; "" when it can not be
}

type weighRow struct {
	Number                   int // as the book counts them
	When, Pieces, Each, Lost string
}

// firstOf reports whether the i-th weighing is the first of its pieces.
func firstOf(all []orders.SheetWeighing, i int) bool {
	return slices.IndexFunc(all, func(w orders.SheetWeighing) bool { return w.Mark == all[i].Mark }) == i
}

func (v *visit) weighView(f *form, b orders.Batch, cure orders.SheetCure) *weighView {
	view := &weighView{Action: "/batches/" + b.ID + "/weigh", Note: cure.Note}
	if cure.Fresh != nil {
		view.Fresh = fmt.Sprintf("By the recipe a piece weighs about %s when it is cut.", v.sizes(*cure.Fresh))
	}
	for i, w := range cure.Weighings {
		row := weighRow{Number: w.Number, When: v.words.at(w.At), Pieces: cmp.Or(w.Mark, strconv.Itoa(w.Pieces)), Each: v.words.mass(w.Each), Lost: "first"}
		if !firstOf(cure.Weighings, i) {
			row.Lost = w.Lost.Percent(1) + " %"
		}
		view.Rows = append(view.Rows, row)
	}
	if c := cure.Curve; c != nil {
		view.Lines, view.Curve = v.curveLines(*c, cure), drawCurve(v.words, cure)
	}
	if cure.Waits {
		view.Waits = fmt.Sprintf("By its weighings it is ready on %s, later than it is planned to be wrapped.", v.words.day(cure.StableOn))
	}
	if v.may(orders.Helper) && (b.State == orders.BatchCuring || b.State == orders.BatchWrapped) {
		view.Undo = "/batches/" + b.ID + "/unweigh"
	}
	if b.State == orders.BatchCuring {
		view.Fields = v.weighFields(f, b)
	}
	return view
}

// sizes is the weight of a fresh piece, or from which to which they go.
func (v *visit) sizes(p orders.FreshPiece) string {
	if p.Least == p.Most {
		return v.words.mass(p.Least)
	}
	return v.words.mass(p.Least) + " to " + v.words.mass(p.Most)
}

func (v *visit) weighFields(f *form, b orders.Batch) []field {
	last := orders.Weighing{Pieces: 1}
	if n := len(b.Weighings); n > 0 {
		last = b.Weighings[n-1]
	}
	return []field{
		f.input("datetime-local", weighedAt, "When it was done", v.localInput(v.now)),
		f.wholeInput("pieces", "Pieces on the scale", last.Pieces).least("1"),
		f.quantityInput("mass_mg", "Weight of them together", "", v.words.massUnit()),
		f.textInput("mark", "Mark of the piece", last.Mark).hint("Only when you weigh marked pieces one by one, such as “blue thread”."),
	}
}
