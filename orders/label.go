package orders

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// Label is the draft of a bar's label. That of a poured batch goes by what it
// was poured from, with the names and certificates there are now.
type Label struct {
	DesignID    string            `json:"design_id"`
	BatchID     string            `json:"batch_id,omitempty"`
	Product     string            `json:"product"`
	Lot         string            `json:"lot"` // empty without a batch
	Names       LabelNames        `json:"names"`
	Trouble     string            `json:"trouble,omitempty"` // why there are no ingredients and no weight
	Ingredients []LabelIngredient `json:"ingredients"`
	List        string            `json:"list"`      // the ingredients as one line
	Allergens   []string          `json:"allergens"` // that the list names because they are above 0.01 %
	Net         *NetWeight        `json:"net,omitempty"`
	NetText     string            `json:"net_text"`
	BestBefore  civil.Date        `json:"best_before"`               // zero when not set or without a batch; a label states its month
	BestLot     *LabelLot         `json:"best_before_lot,omitempty"` // whose end decided BestBefore; absent when the months did
	Responsible string            `json:"responsible_person"`
	Precaution  string            `json:"precaution"`
	Missing     []string          `json:"missing"`    // what a label still lacks, in sentences
	Notes       []string          `json:"notes"`      // how it was worked out
	SaleFlags   []string          `json:"sale_flags"` // why the soap is not for sale
	Notice      string            `json:"notice"`     // who decides
}

// LabelIngredient is one name of the list with the weight that gives it its
// place: of the batch, or for a design of one full mold.
type LabelIngredient struct {
	Name      string    `json:"name"`
	Mass      calc.Mass `json:"mass_mg"`
	Share     calc.PPM  `json:"share_ppm"` // of the weight of the list without allergens
	Colourant bool      `json:"colourant"`
	Allergen  bool      `json:"allergen"` // within a fragrance that is listed too
}

// NetWeight is the net weight that a label may state.
type NetWeight struct {
	Predicted calc.Mass `json:"predicted_mg"` // of one cured piece
	ByWeight  bool      `json:"by_weighings"` // it comes of the batch's own weighings
	Proposed  calc.Mass `json:"proposed_mg"`  // the whole grams of it
	Tolerable calc.Mass `json:"tolerable_error_mg"`
	Short     calc.Mass `json:"short_below_mg"` // few pieces may weigh less
	Never     calc.Mass `json:"never_below_mg"` // no piece may weigh less
}

// The fixed texts of a label draft.
const (
	labelPrecaution = "For washing only. Keep out of the eyes; if soap gets in, rinse with plenty of water."
	labelNotice     = "This is a draft. What a label must say is decided by the law of the place where the soap is sold and by the maker's safety assessor; have both look at it before the first bar leaves. "
)

// LabelQuestion says how a label is to be drafted; what is empty goes by the
// workshop's settings.
type LabelQuestion struct {
	Names LabelNames
	Units LabelUnits
}

// LabelUnits is the unit systems of a net weight.
type LabelUnits string

// The unit systems.
const (
	LabelMetric   LabelUnits = "metric"
	LabelImperial LabelUnits = "imperial"
	LabelBothWays LabelUnits = "both"
)

func (q LabelQuestion) complete(w Workshop) (LabelQuestion, error) {
	q.Names, q.Units = cmp.Or(q.Names, w.LabelNames, AsAdded), cmp.Or(q.Units, w.labelUnits())
	var c Check
	c.Want(q.Names == AsAdded || q.Names == AsSaponified, "names", "must be as_added or as_saponified")
	c.Want(q.Units == LabelMetric || q.Units == LabelImperial || q.Units == LabelBothWays, "units", "must be metric, imperial or both")
	return q, c.Err()
}

// labelUnits is the workshop's own.
func (w Workshop) labelUnits() LabelUnits {
	if w.LabelBoth {
		return LabelBothWays
	}
	return LabelUnits(w.Units)
}

// NetWeight writes a net weight as the workshop's labels state it.
func (w Workshop) NetWeight(m calc.Mass) string { return netText(m, w.labelUnits()) }

// BatchLabel drafts the label of a batch.
func (b *Book) BatchLabel(ctx context.Context, a Actor, batchID string, q LabelQuestion) (Label, error) {
	return b.label(ctx, a, q, func(tx Tx) (making, error) {
		m, err := soldMaking(ctx, tx, batchID)
		if err != nil {
			return making{}, err
		}
		m.oils, err = usedOils(ctx, tx, m.batch.Uses)
		return m, err
	})
}

// DesignLabel drafts the label of a design, for one full mold of the first kind
// that it may be poured in.
func (b *Book) DesignLabel(ctx context.Context, a Actor, designID string, q LabelQuestion) (Label, error) {
	return b.label(ctx, a, q, func(tx Tx) (making, error) { return usualMaking(ctx, tx, designID) })
}

func (b *Book) label(ctx context.Context, a Actor, q LabelQuestion, of func(Tx) (making, error)) (Label, error) {
	return read(ctx, b, a, func(tx Tx) (Label, error) {
		w, err := tx.Workshop(ctx)
		if err != nil {
			return Label{}, err
		}
		if q, err = q.complete(w); err != nil {
			return Label{}, err
		}
		m, err := of(tx)
		if err != nil {
			return Label{}, err
		}
		return m.label(w, q)
	})
}

// soldMaking is a batch with what it was made from, and what is said of that by
// now: a certificate may have come, or have been tightened, since the pour.
func soldMaking(ctx context.Context, tx Tx, batchID string) (making, error) {
	m, err := makingOf(ctx, tx, batchID)
	if err != nil {
		return making{}, err
	}
	ids := make([]string, len(m.Ingredients))
	for i, was := range m.Ingredients {
		ids[i] = was.ID
	}
	found, err := tx.Ingredients().Several(ctx, ids)
	if err != nil {
		return making{}, err
	}
	for i := range m.Ingredients {
		was := &m.Ingredients[i]
		if now, ok := find(found, was.ID, func(i Ingredient) string { return i.ID }); ok { // else what was known at the pour is all there is
			was.LabelName, was.SoapName, was.Price, was.Fragrance = now.LabelName, now.SoapName, now.Price, now.Fragrance
		}
	}
	if lost := m.batch.lossByWeighings(); lost > m.Recipe.loss() {
		m.lost, m.Recipe.CureLoss = lost, lost
	}
	return m, nil
}

// usualMaking is a design poured into one full mold.
func usualMaking(ctx context.Context, tx Tx, designID string) (making, error) {
	d, err := tx.Designs().Get(ctx, designID)
	if err != nil {
		return making{}, err
	}
	m := making{Making: Making{Design: d}, batch: Batch{DesignID: d.ID}}
	if m.Recipe, err = tx.Recipes().Get(ctx, d.RecipeID); err != nil {
		return making{}, err
	}
	if m.Ingredients, err = ingredientsOf(ctx, tx, m.Recipe); err != nil {
		return making{}, err
	}
	for _, id := range d.MoldIDs {
		mold, err := tx.Molds().Get(ctx, id)
		if err != nil {
			return making{}, err
		}
		cut, err := calc.Yield(mold.calcMold(), calc.CutPlan(d.Cut))
		if err != nil || mold.Retired {
			continue // it no longer suits the cut; another may
		}
		m.Molds = []Mold{mold}
		m.batch.Molds = []schedule.MoldUse{{MoldID: id, Units: 1, Pieces: cut.Pieces}}
		m.batch.Pieces = cut.Pieces
		m.batch.Sound = d.sound(cut.Pieces)
		break
	}
	return m, nil
}

func (m making) label(w Workshop, q LabelQuestion) (Label, error) {
	l := Label{
		DesignID: m.Design.ID, BatchID: m.batch.ID, Product: m.Design.Name, Lot: m.batch.Lot, Names: q.Names,
		Responsible: strings.TrimSpace(w.Responsible), Precaution: labelPrecaution, Notice: labelNotice + calc.DeferNotice,
	}
	l.SaleFlags = m.notForSale()
	mixed, err := m.mixed()
	if err == nil {
		err = l.list(mixed, m)
	}
	if err == nil {
		err = l.weigh(mixed, m, q.Units)
	}
	if err != nil {
		l.Trouble = inWords(err, nil).Error()
	}
	if err := l.durability(w, m); err != nil {
		return Label{}, err
	}
	l.codeNote(m.batch)
	l.lacks(m)
	return l, nil
}

// lacks lists what a label must have and this draft has not.
func (l *Label) lacks(m making) {
	if l.Responsible == "" {
		l.Missing = append(l.Missing, "Nobody is named as responsible: give the name and address in the settings.")
	}
	if l.Lot == "" {
		l.Missing = append(l.Missing, "The lot code comes with a batch.")
	}
	l.Missing = append(l.Missing, l.unnamed(m)...)
	if text := strings.TrimSpace(m.Design.Dressing); text != "" {
		l.Notes = append(l.Notes, fmt.Sprintf("The dressing (%s) is listed only as far as it is a part of the recipe.", text))
	}
}

// unnamed lists the ingredients that have no name a label can use, those that
// need the same done in one line.
func (l *Label) unnamed(m making) []string {
	var soap, label, out []string
	for _, n := range m.Recipe.Parts {
		i, ok := find(m.Ingredients, n.IngredientID, func(i Ingredient) string { return i.ID })
		if !ok || i.Kind == KindPackaging {
			continue
		}
		switch {
		case l.Names == AsSaponified && i.Kind == KindOil && i.SoapName == "":
			soap = append(soap, i.Name)
		case l.Names == AsSaponified && i.Kind == KindOil && m.Recipe.KOHShare > 0 && !i.namesItsMetal():
			out = append(out, i.Name+" is named "+i.SoapName+" for either lye: let its name as soap begin with Sodium, and that of its potash soap follows.")
		case (l.Names == AsAdded || i.Kind != KindOil) && i.Kind != KindLye && i.LabelName == "":
			label = append(label, i.Name)
		}
	}
	if len(soap) > 0 {
		out = append(out, "No name as soap, such as Sodium Olivate for olive oil: "+strings.Join(soap, ", ")+". Give each one where the ingredient is kept.")
	}
	if len(label) > 0 {
		out = append(out, "No name for labels: "+strings.Join(label, ", ")+". Give each one where the ingredient is kept.")
	}
	return out
}
