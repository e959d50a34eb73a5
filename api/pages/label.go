package pages

import (
	"context"
	"fmt"
	"strings"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

// labelView is the draft of a label, to be looked at and printed.
type labelView struct {
	rights
	formState
	Action, Back, BackText string
	Product, Lot           string
	Flags                  []string
	Trouble                string
	Choices                []field
	Text                   []fact // the label itself
	Missing                []string
	Rows                   []labelRow
	Net                    []fact
	Notes                  []string
	BestLot                *linkView // the lot whose end decided the best before
	Notice                 string
	Weighed                *weighedView // pieces held against the label; nil when none were entered
	Kept                   []keptView   // checks that were kept, newest first
}

type labelRow struct{ Name, Mass, Share, Note string }

func (v *visit) batchLabel() error {
	return v.drawLabel("/batches/", "Back to the batch", v.Book.BatchLabel)
}

func (v *visit) designLabel() error {
	return v.drawLabel("/designs/", "Back to the design", v.Book.DesignLabel)
}

// drawLabel asks by GET, so that a way of writing a label can be kept as an
// address.
func (v *visit) drawLabel(home, back string, ask func(context.Context, orders.Actor, string, orders.LabelQuestion) (orders.Label, error)) error {
	f := v.blankForm()
	f.values = v.r.URL.Query()
	f.sent = len(f.values) > 0
	id := chi.URLParam(v.r, "id")
	q := orders.LabelQuestion{Names: orders.LabelNames(f.text("names")), Units: orders.LabelUnits(f.text("units"))}
	l, err := ask(v.ctx(), v.actor, id, q)
	if err != nil && f.takes(err) {
		l, err = ask(v.ctx(), v.actor, id, orders.LabelQuestion{})
	}
	if err != nil {
		return err
	}
	view := labelView{
		rights: v.rights(), Action: home + id + "/label", Back: home + id, BackText: back, Product: l.Product, Lot: l.Lot,
		Flags: l.SaleFlags, Trouble: v.words.limits(l.Trouble), Choices: v.labelChoices(f, l), Missing: v.words.allDated(l.Missing), Notes: v.words.allDated(l.Notes), Notice: l.Notice,
	}
	view.Text = v.labelText(l)
	if b := l.BestLot; b != nil {
		view.BestLot = &linkView{Href: "/lots/" + b.LotID, Title: b.Ingredient + " " + b.Code, Text: v.words.day(b.ExpiresOn)}
	}
	for _, i := range l.Ingredients {
		row := labelRow{Name: i.Name, Mass: v.words.mass(i.Mass), Share: i.Share.Percent(2) + " %"}
		switch {
		case i.Allergen:
			row.Note = "allergen, within the fragrance"
		case i.Colourant:
			row.Note = "colourant, last"
		}
		view.Rows = append(view.Rows, row)
	}
	if n := l.Net; n != nil {
		view.Net = []fact{
			{"Predicted for a cured piece", v.words.mass(n.Predicted)},
			{"Proposed to declare", netWeightText(l)},
			{"Tolerable shortfall", v.words.mass(n.Tolerable)},
			{"Few may weigh less than", v.words.mass(n.Short)},
			{"None may weigh less than", v.words.mass(n.Never)},
		}
	}
	if l.BatchID != "" {
		if view.Weighed, err = v.weighedView(f, l); err != nil && !f.takes(err) {
			return err
		}
		if view.Kept, err = v.keptChecks(l.BatchID); err != nil {
			return err
		}
		view.Choices = append(view.Choices, f.textInput("weights", "Weights of wrapped pieces, in "+v.words.massUnit(), "").hint("To hold against the net weight, without the wrapping: such as 121.5 119 120."))
	}
	view.formState = f.state(0)
	return v.show(f.status(), "label", "Label draft, "+l.Product, view)
}

func (v *visit) labelChoices(f *form, l orders.Label) []field {
	units := v.shop.Units
	if v.shop.LabelBoth {
		units = string(orders.LabelBothWays)
	}
	return []field{
		f.selectInput("names", "Oils are named", string(l.Names), labelNameChoices()),
		f.selectInput("units", "Net weight in", units, []option{
			{Value: string(orders.LabelMetric), Label: "Grams"},
			{Value: string(orders.LabelImperial), Label: "Ounces"},
			{Value: string(orders.LabelBothWays), Label: "Grams and ounces"},
		}),
	}
}

func labelNameChoices() []option {
	return []option{
		{Value: string(orders.AsAdded), Label: "As added: the oil, the lye and the water"},
		{Value: string(orders.AsSaponified), Label: "As saponified: the soap and the glycerin"},
	}
}

// netWeightText is the net weight as the label states it, the same wherever a
// page names it.
func netWeightText(l orders.Label) string { return strings.TrimPrefix(l.NetText, "Net weight ") }

// labelText is the lines of the label, without those that are not known.
func (v *visit) labelText(l orders.Label) []fact {
	best := ""
	if !l.BestBefore.IsZero() {
		best = fmt.Sprintf("%04d-%02d", l.BestBefore.Year, l.BestBefore.Month)
	}
	var out []fact
	for _, line := range []fact{
		{"Ingredients", l.List},
		{"Net weight", netWeightText(l)},
		{"Lot", l.Lot},
		{"Best before end of", best},
		{"Made by", l.Responsible},
		{"Use", l.Precaution},
	} {
		if line.Value != "" {
			out = append(out, line)
		}
	}
	return out
}

// saleLinks are the papers that go with a thing that is sold.
func saleLinks(home string) []linkView {
	return []linkView{
		{Href: home + "/label", Title: "Label draft"},
		{Href: home + "/cost", Title: "What it costs"},
	}
}

// designSale is what a design's page says of trial, label and cost.
func designSale(v *visit, d orders.Design) (*noteCard, error) {
	x, err := v.Book.RecipeFragrance(v.ctx(), v.actor, d.RecipeID)
	if err != nil {
		return nil, err
	}
	card := &noteCard{ID: "sale", Title: "Trial, label and cost", Links: saleLinks("/designs/" + d.ID)}
	if x.Refusal != "" {
		card.Warn = append(card.Warn, "It can not be planned or promised: "+x.Refusal+".")
	}
	if x.Trouble != "" {
		card.Warn = append(card.Warn, "It can not be planned or promised, for its recipe can not be worked out: "+strings.TrimSuffix(x.Trouble, ".")+".")
	}
	for _, name := range x.Missing {
		card.Warn = append(card.Warn, name+" has no certificate on file, so this soap is not for sale yet.")
	}
	names, err := v.shelf()
	if err != nil {
		return nil, err
	}
	card.addTrial(v, names.trialOf(d), d.RecipeID)
	card.Links = append(card.Links, linkView{Href: "/recipes/" + d.RecipeID, Title: "Its recipe"})
	return card, nil
}

// labelSettings is the workshop's own part of every label and cost.
func labelSettings(f *form, w orders.Workshop) []fieldGroup {
	return []fieldGroup{
		{Title: "Labels", Fields: []field{
			f.input("area", "responsible_person", "Who is responsible", w.Responsible).hint("Name and address, as they stand on a label."),
			f.selectInput("label_names", "Oils are named", string(w.LabelNames), labelNameChoices()),
			blankZero(f.wholeInput("best_before_months", "Months it keeps, from the wrap", w.BestBefore)).least("0").hint("Empty when not set."),
			f.tickInput("label_both_units", "Net weights in grams and ounces", w.LabelBoth),
		}},
		{Title: "Costs", Hint: "In your currency. What a kilogram costs is set with each ingredient, the packaging of a piece with each design.", Fields: []field{
			f.moneyInput("hourly_rate_minor", "An hour at the bench", w.HourlyRate),
			f.quantityInput("markup_ppm", "On top of cost in a quote", blankPercent(w.Markup), "%"),
		}},
	}
}

func readLabelSettings(f *form, w *orders.Workshop) {
	w.Responsible, w.LabelNames, w.LabelBoth = f.text("responsible_person"), orders.LabelNames(f.text("label_names")), f.ticked("label_both_units")
	w.BestBefore, w.Markup = f.whole("best_before_months", 0), f.percent("markup_ppm")
	w.HourlyRate = f.money("hourly_rate_minor")
}
