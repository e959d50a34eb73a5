package orders

import (
	"context"
	"fmt"
	"time"

	"ripeline/calc"
	"ripeline/schedule"
)

// Sheet is what to weigh for one batch, in which pots and molds it goes, how it
// is cut and how it dries, with the cautions that belong to it. Before the pour
// it goes by the recipe and the design as they are, from then on by what was poured.
type Sheet struct {
	BatchID string     `json:"batch_id"`
	Lot     string     `json:"lot"`
	State   BatchState `json:"state"`
	Design  string     `json:"design"`
	Recipe  string     `json:"recipe"`
	Notes   string     `json:"notes"` // of the recipe

	Trouble  string           `json:"trouble,omitempty"`  // why nothing can be weighed out; there are no weights, fills and pots then
	AsPoured bool             `json:"as_poured"`          // by the records kept at the pour
	Changed  bool             `json:"changed_since_pour"` // the records say otherwise by now
	Weights  *Weights         `json:"weights,omitempty"`
	Fills    []SheetFill      `json:"fills"`
	Left     Amount           `json:"left"`    // batter that finds no room
	Missing  Amount           `json:"missing"` // batter that the molds still want
	Pots     []SheetPot       `json:"pots"`    // the batter parted by colour, before anything is added
	Dressing string           `json:"dressing"`
	Cuts     []MoldCut        `json:"cuts"`           // of the batch's molds, one for each of the fills, in their order
	Surplus  int              `json:"surplus_pieces"` // that these cuts give beyond the batch's pieces, negative when they give fewer; not 0 only when a mold or the cut has changed since the batch was planned
	Steps    []SheetStep      `json:"steps"`
	MixTemp  calc.Temperature `json:"mix_temp_mc"` // oils and lye solution when combined; 0 when not said
	Work     []SheetStage     `json:"work"`        // the order of work on the making day
	Readings []SheetReading   `json:"readings"`
	Cure     SheetCure        `json:"cure"`
	Cautions []Caution        `json:"cautions"`
	Notice   string           `json:"notice"` // whom to follow instead of the sheet
}

// SheetFill is what goes into molds of one kind that are filled alike. A batch that
// does not fill all its molds of a kind has one for the full ones and one or two more.
type SheetFill struct {
	MoldID string   `json:"mold_id"`
	Mold   string   `json:"mold"`
	Units  int      `json:"units"`
	Pieces int      `json:"pieces"`   // of all of them together
	Fill   calc.PPM `json:"fill_ppm"` // share of each that is poured
	Batter Amount   `json:"batter"`   // in all of them together
}

// SheetPot is one colour's part of the batter.
type SheetPot struct {
	Colour string    `json:"colour"`
	Share  calc.PPM  `json:"share_ppm"`
	Mass   calc.Mass `json:"mass_mg"` // of oils and lye solution, before anything is stirred in
	// Added is what is stirred into this pot, in order; a fill that is only tried out has none.
	Added []PotAdded `json:"added,omitempty"`
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
		return made.sheetWith(ctx, tx)
	})
}

// sheetWith is the sheet with its ticks.
func (m making) sheetWith(ctx context.Context, tx Tx) (Sheet, error) {
	ticks, err := tx.Ticks(ctx, m.batch.ID)
	if err != nil {
		return Sheet{}, err
	}
	s := m.sheet()
	s.Work, s.Readings = m.work(s, ticks), readings(ticks)
	return s, nil
}

func (m making) sheet() Sheet {
	s := Sheet{
		BatchID: m.batch.ID, Lot: m.batch.Lot, State: m.batch.State,
		Design: m.Design.Name, Recipe: m.Recipe.Name, Notes: m.Recipe.Notes, Dressing: m.Design.Dressing,
		MixTemp: m.Recipe.MixTemp, AsPoured: m.kept, Changed: m.changed, Steps: m.batch.Steps(), Cure: m.batch.sheetCure(m.Recipe.CureTarget, m.zone), Notice: calc.DeferNotice,
	}
	if least, most, ok := m.freshPiece(); ok {
		s.Cure.Fresh = &FreshPiece{least, most}
	}
	for _, c := range calc.Cautions() {
		s.Cautions = append(s.Cautions, Caution(c))
	}
	s.Cautions = append(s.Cautions, fragranceCautions(m.Recipe, m.Ingredients)...)
	s.Cuts, s.Surplus = m.cuts()
	if err := m.weighOut(&s); err != nil {
		s.Trouble = err.Error()
	}
	return s
}

// weighOut fills in the weights for the batch's molds, all or none of them.
func (m making) weighOut(s *Sheet) error {
	if f := FragranceOf(m.Recipe, m.Ingredients); m.batch.PouredAt.IsZero() && f.Refusal != "" {
		return fmt.Errorf("%s %s", m.Recipe.Name, f.barText())
	}
	mixed, fills, err := m.inMolds()
	if err != nil {
		return err
	}
	filling, err := calc.FillMolds(mixed.whole, calcFills(fills))
	if err != nil {
		return inWords(err, moldNames(fills))
	}
	if s.Pots, err = potsOf(m.Design, mixed.batter.Mass); err != nil {
		return err
	}
	s.Weights, s.Left, s.Missing = mixed.weights(), Amount(filling.Left), Amount(filling.Missing)
	stirInto(s.Pots, s.Weights.Added, m.Ingredients)
	s.Cautions = append(s.Cautions, strongPots(*s)...)
	for i, f := range fills {
		s.Fills = append(s.Fills, SheetFill{
			MoldID: f.mold.ID, Mold: f.mold.Name, Units: f.units, Pieces: f.units * f.each,
			Fill: f.share, Batter: Amount(filling.Poured[i]),
		})
	}
	return nil
}

// cuts is the cut in each of the batch's molds, those that are filled alike
// together, and how many pieces more than the batch's that makes.
func (m making) cuts() (cuts []MoldCut, surplus int) {
	for i, mold := range m.Molds {
		use := m.batch.Molds[i]
		fills, err := mold.fills(use, m.Design.Cut)
		if err != nil {
			cuts = append(cuts, CutOf(mold, m.Design)) // which says why there is none
			continue
		}
		surplus -= use.Pieces
		for _, f := range fills {
			cut := cutOf(mold, m.Design, f.each)
			cut.Units = f.units
			cuts = append(cuts, cut)
			surplus += f.units * cut.Pieces
		}
	}
	return cuts, surplus
}

// potsOf parts the batter among the design's colours, to the milligram; none
// when it has no colours.
func potsOf(d Design, batter calc.Mass) ([]SheetPot, error) {
	if len(d.Colours) == 0 {
		return nil, nil
	}
	pots := make([]calc.Pot, len(d.Colours))
	names := make([]string, len(pots))
	for i, c := range d.Colours {
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
