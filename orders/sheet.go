package orders

import (
	"context"
	"time"

	"ripeline/calc"
	"ripeline/schedule"
)

// Sheet is what to weigh for one batch, in which pots and molds it goes, how it
// is cut and how it dries, with the cautions that belong to it. It goes by the
// recipe and the design as they are now.
type Sheet struct {
	BatchID string     `json:"batch_id"`
	Lot     string     `json:"lot"`
	State   BatchState `json:"state"`
	Design  string     `json:"design"`
	Recipe  string     `json:"recipe"`
	Notes   string     `json:"notes"` // of the recipe

	Trouble  string      `json:"trouble,omitempty"` // why nothing can be weighed out; there are no weights, fills and pots then
	Changed  bool        `json:"changed_since_pour"`
	Weights  *Weights    `json:"weights,omitempty"`
	Fills    []SheetFill `json:"fills"`
	Left     Amount      `json:"left"`    // batter that finds no room
	Missing  Amount      `json:"missing"` // batter that the molds still want
	Pots     []SheetPot  `json:"pots"`    // the batter parted by colour, before anything is added
	Dressing string      `json:"dressing"`
	Cuts     []MoldCut   `json:"cuts"` // of each of the batch's molds, full
	Steps    []SheetStep `json:"steps"`
	Cure     SheetCure   `json:"cure"`
	Cautions []Caution   `json:"cautions"`
	Notice   string      `json:"notice"` // whom to follow instead of the sheet
}

// SheetFill is what goes into a batch's molds of one kind.
type SheetFill struct {
	MoldID string   `json:"mold_id"`
	Mold   string   `json:"mold"`
	Units  int      `json:"units"`
	Pieces int      `json:"pieces"`   // wanted of all of them
	Fill   calc.PPM `json:"fill_ppm"` // share of each that is poured
	Batter Amount   `json:"batter"`   // in all of them together
}

// SheetPot is one colour's part of the batter.
type SheetPot struct {
	Colour string    `json:"colour"`
	Share  calc.PPM  `json:"share_ppm"`
	Mass   calc.Mass `json:"mass_mg"`
}

// SheetStep is one step of a batch: planned, and in the past once DoneAt is set.
type SheetStep struct {
	Kind   TaskKind  `json:"kind"`
	Part   int       `json:"part,omitempty"` // 1, 2, ... of work in several parts
	From   time.Time `json:"from,omitzero"`
	To     time.Time `json:"to,omitzero"`
	DoneAt time.Time `json:"done_at,omitzero"`
}

// Caution is one plain sentence with where the advice comes from.
type Caution struct {
	Topic  calc.CautionTopic `json:"topic"`
	Text   string            `json:"text"`
	Source string            `json:"source"`
}

// Sheet is the batch sheet of a batch. A recipe or a cut that can not be worked
// out is told in the sheet and is no error.
func (b *Book) Sheet(ctx context.Context, a Actor, batchID string) (Sheet, error) {
	return read(ctx, b, a, func(tx Tx) (Sheet, error) {
		made, err := makingOf(ctx, tx, batchID)
		if err != nil {
			return Sheet{}, err
		}
		return made.sheet(), nil
	})
}

// making is a batch with the records that say how it is made.
type making struct {
	batch       Batch
	design      Design
	recipe      Recipe
	ingredients []Ingredient
	molds       []Mold // one for each of the batch's mold uses
}

func makingOf(ctx context.Context, tx Tx, batchID string) (making, error) {
	var m making
	var err error
	if m.batch, err = tx.Batches().Get(ctx, batchID); err != nil {
		return making{}, err
	}
	if m.design, err = tx.Designs().Get(ctx, m.batch.DesignID); err != nil {
		return making{}, err
	}
	if m.recipe, err = tx.Recipes().Get(ctx, m.design.RecipeID); err != nil {
		return making{}, err
	}
	if m.ingredients, err = ingredientsOf(ctx, tx, m.recipe); err != nil {
		return making{}, err
	}
	for _, use := range m.batch.Molds {
		mold, err := tx.Molds().Get(ctx, use.MoldID)
		if err != nil {
			return making{}, err
		}
		m.molds = append(m.molds, mold)
	}
	return m, nil
}

func ingredientsOf(ctx context.Context, tx Tx, r Recipe) ([]Ingredient, error) {
	var out []Ingredient
	for _, part := range r.Parts {
		ing, err := tx.Ingredients().Get(ctx, part.IngredientID)
		if err != nil {
			return nil, err
		}
		out = append(out, ing)
	}
	return out, nil
}

func (m making) sheet() Sheet {
	s := Sheet{
		BatchID: m.batch.ID, Lot: m.batch.Lot, State: m.batch.State,
		Design: m.design.Name, Recipe: m.recipe.Name, Notes: m.recipe.Notes, Dressing: m.design.Dressing,
		Steps: m.batch.Steps(), Cure: m.batch.sheetCure(), Notice: calc.DeferNotice,
	}
	for _, c := range calc.Cautions() {
		s.Cautions = append(s.Cautions, Caution(c))
	}
	for _, mold := range m.molds {
		s.Cuts = append(s.Cuts, CutOf(mold, m.design.Cut))
	}
	if err := m.weighOut(&s); err != nil {
		s.Trouble = err.Error()
	}
	return s
}

// weighOut fills in the weights for the batch's molds, all or none of them.
func (m making) weighOut(s *Sheet) error {
	fills := make([]calc.MoldFill, len(m.molds))
	for i, mold := range m.molds {
		var err error
		if fills[i], err = mold.filled(m.batch.Molds[i], m.design.Cut); err != nil {
			return err
		}
	}
	wanted, err := calc.WantedVolume(fills)
	if err != nil {
		return inWords(err, m.moldNames())
	}
	kilo, err := mixtureOf(m.recipe, m.ingredients)
	if err != nil {
		return err
	}
	mixed, err := kilo.filling(wanted)
	if err != nil {
		return err
	}
	filling, err := calc.FillMolds(mixed.whole, fills)
	if err != nil {
		return inWords(err, m.moldNames())
	}
	if s.Pots, err = m.pots(mixed.batter.Mass); err != nil {
		return err
	}
	s.Weights, s.Left, s.Missing = mixed.weights(), Amount(filling.Left), Amount(filling.Missing)
	for i, use := range m.batch.Molds {
		s.Fills = append(s.Fills, SheetFill{
			MoldID: use.MoldID, Mold: m.molds[i].Name, Units: use.Units, Pieces: use.Pieces,
			Fill: fills[i].Share, Batter: Amount(filling.Poured[i]),
		})
	}
	return nil
}

func (m making) moldNames() []string {
	names := make([]string, len(m.molds))
	for i, mold := range m.molds {
		names[i] = mold.Name
	}
	return names
}

// pots parts the batter among the design's colours, to the milligram; none when
// it has no colours.
func (m making) pots(batter calc.Mass) ([]SheetPot, error) {
	if len(m.design.Colours) == 0 {
		return nil, nil
	}
	pots := make([]calc.Pot, len(m.design.Colours))
	names := make([]string, len(pots))
	for i, c := range m.design.Colours {
		pots[i], names[i] = calc.Pot(c), c.Name
	}
	masses, err := calc.Pots(batter, pots)
	if err != nil {
		return nil, inWords(err, names)
	}
	out := make([]SheetPot, len(pots))
	for i, p := range pots {
		out[i] = SheetPot{Colour: p.Name, Share: p.Share, Mass: masses[i]}
	}
	return out, nil
}

// Steps is the steps of a batch in order. The cure lasts from the cut to
// the wrap.
func (x Batch) Steps() []SheetStep {
	steps := []SheetStep{
		{Kind: TaskMake, From: x.Make.From, To: x.Make.To, DoneAt: x.PouredAt},
		{Kind: TaskCut, From: x.Cut.From, To: x.Cut.To, DoneAt: x.CutAt},
		{Kind: TaskCure, From: x.Cut.To, To: x.Wrap.From, DoneAt: x.WrappedAt},
	}
	wraps := []schedule.Interval{x.Wrap}
	if len(x.WrapParts) > 1 && x.WrappedAt.IsZero() {
		wraps = x.WrapParts
	}
	for i, w := range wraps {
		step := SheetStep{Kind: TaskWrap, From: w.From, To: w.To, DoneAt: x.WrappedAt}
		if len(wraps) > 1 {
			step.Part = i + 1
		}
		steps = append(steps, step)
	}
	return steps
}
