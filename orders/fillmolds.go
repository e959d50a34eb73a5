package orders

import (
	"context"
	"fmt"

	"ripeline/calc"
)

// FillQuestion asks how a recipe goes into molds: as much of it as they take,
// or the batter of so much oil.
type FillQuestion struct {
	DesignID string     `json:"design_id,omitempty"` // whose colours part the batter; none when empty
	OilsMass calc.Mass  `json:"oils_mg"`             // 0 for as much as the molds take
	Molds    []FillMold `json:"molds"`
}

// FillMold is a number of equal molds, each to be filled to a share of it.
type FillMold struct {
	MoldID string    `json:"mold_id"`
	Units  int       `json:"units"`
	Fill   *calc.PPM `json:"fill_ppm,omitempty"` // full when left out
}

// share is how full each of the molds is to be.
func (m FillMold) share() calc.PPM {
	if m.Fill == nil {
		return calc.Whole
	}
	return *m.Fill
}

// FillAnswer is what to weigh and where it goes, with what to do about batter
// that is left over or missing.
type FillAnswer struct {
	Weights *Weights    `json:"weights"`
	Fills   []SheetFill `json:"fills"`
	Left    Amount      `json:"left"`    // batter that finds no room
	Missing Amount      `json:"missing"` // batter that the molds still want
	Pots    []SheetPot  `json:"pots"`
	Rest    *RestMold   `json:"rest,omitempty"` // where Left goes best; none when no free mold suits
	// FullOils is the oils that fill the molds exactly, without any left or missing.
	FullOils calc.Mass `json:"full_oils_mg"`
}

// RestMold is the mold that batter left over fills best.
type RestMold struct {
	MoldID string   `json:"mold_id"`
	Mold   string   `json:"mold"`
	Fill   calc.PPM `json:"fill_ppm"`
	Left   Amount   `json:"left"` // what even it leaves over
}

// FillMolds works out how a recipe goes into molds. A recipe that can not be
// worked out, or may not be poured, gives a conflict.
func (b *Book) FillMolds(ctx context.Context, a Actor, recipeID string, q FillQuestion) (FillAnswer, error) {
	return read(ctx, b, a, func(tx Tx) (FillAnswer, error) {
		f, err := newFiller(ctx, tx, recipeID, q)
		if err != nil {
			return FillAnswer{}, err
		}
		return f.answer()
	})
}

// filler is a question with the records it names.
type filler struct {
	ask    FillQuestion
	kilo   mixture
	design Design
	molds  []Mold // one for each asked
	fills  []calc.MoldFill
	all    []Mold // of the workshop
}

func newFiller(ctx context.Context, tx Tx, recipeID string, q FillQuestion) (filler, error) {
	var c Check
	f := filler{ask: q}
	recipe, err := tx.Recipes().Get(ctx, recipeID)
	if err != nil {
		return f, err
	}
	if q.DesignID != "" {
		if f.design, err = known(ctx, &c, tx.Designs(), "design_id", q.DesignID, "design"); err != nil {
			return f, err
		}
	}
	c.Want(q.OilsMass >= 0 && q.OilsMass <= maxOnHand, "oils_mg", "must lie between 0 and 10,000 kg; leave it out to fill the molds")
	if err := f.readMolds(ctx, tx, &c); err != nil {
		return f, err
	}
	if err := c.Err(); err != nil {
		return f, err
	}
	ingredients, err := ingredientsOf(ctx, tx, recipe)
	if err != nil {
		return f, err
	}
	if f.kilo, err = mixtureOf(recipe, ingredients); err != nil {
		return f, &Conflict{fmt.Sprintf("%s can not be worked out: %s. Change its recipe first.", recipe.Name, err)}
	}
	if blend := FragranceOf(recipe, ingredients); blend.Refusal != "" {
		return f, &Conflict{fmt.Sprintf("%s %s. Change its recipe first.", recipe.Name, blend.barText())}
	}
	return f, nil
}

func (f *filler) readMolds(ctx context.Context, tx Tx, c *Check) error {
	c.Want(len(f.ask.Molds) > 0, "molds", "choose at least one mold")
	c.Want(len(f.ask.Molds) <= maxDesignMold, "molds", "has too many molds; leave some out")
	for i, m := range f.ask.Molds[:min(len(f.ask.Molds), maxDesignMold)] {
		at := fmt.Sprintf("molds[%d].", i)
		mold, err := known(ctx, c, tx.Molds(), at+"mold_id", m.MoldID, "mold")
		if err != nil {
			return err
		}
		within(c, at+"units", m.Units, 1, 1000, "molds")
		c.Want(m.share() > 0 && m.share() <= calc.Whole, at+"fill_ppm", "must be more than 0 and at most 100 %; leave it empty for full molds")
		f.molds = append(f.molds, mold)
		f.fills = append(f.fills, calc.MoldFill{Mold: mold.calcMold(), Count: m.Units, Share: m.share()})
	}
	page, err := tx.Molds().List(ctx, ListQuery{Limit: 200})
	f.all = page.Items
	return err
}

func (f filler) answer() (FillAnswer, error) {
	wanted, err := calc.WantedVolume(f.fills)
	if err != nil {
		return FillAnswer{}, f.atMolds(err)
	}
	full, err := f.kilo.filling(wanted)
	if err != nil {
		return FillAnswer{}, &Invalid{Fields: []FieldError{{"molds", err.Error()}}}
	}
	mixed := full
	if f.ask.OilsMass > 0 {
		if mixed, err = f.kilo.ofOils(f.ask.OilsMass); err != nil {
			return FillAnswer{}, &Invalid{Fields: []FieldError{{"oils_mg", err.Error()}}}
		}
	}
	filling, err := calc.FillMolds(mixed.whole, f.fills)
	if err != nil {
		return FillAnswer{}, f.atMolds(err)
	}
	out := FillAnswer{Weights: mixed.weights(), Left: Amount(filling.Left), Missing: Amount(filling.Missing), FullOils: full.oilMass()}
	for i, m := range f.molds {
		out.Fills = append(out.Fills, SheetFill{
			MoldID: m.ID, Mold: m.Name, Units: f.fills[i].Count, Fill: f.filled(i, filling), Batter: Amount(filling.Poured[i]),
		})
	}
	out.Rest = f.rest(filling.Left)
	out.Pots, err = potsOf(f.design, mixed.batter.Mass)
	return out, err
}

// filled is the share of each of the i-th molds that got batter.
func (f filler) filled(i int, filling calc.Filling) calc.PPM {
	room := f.fills[i].Mold.Volume() * calc.Volume(f.fills[i].Count)
	return calc.ShareOf(calc.Mass(filling.Poured[i].Volume), calc.Mass(room))
}

// rest is the mold beside those asked that the batter left over fills best,
// at least as far as it is worth pouring.
func (f filler) rest(left calc.Batter) *RestMold {
	var free []Mold
	var spare []calc.Mold
	for _, m := range f.all {
		used := 0
		for _, q := range f.ask.Molds {
			if q.MoldID == m.ID {
				used += q.Units
			}
		}
		if worth := m.MinFill.OfVolume(m.calcMold().Volume()); used < m.Count && left.Volume >= max(worth, calc.Millilitre) {
			free, spare = append(free, m), append(spare, m.calcMold())
		}
	}
	i, ok := calc.BestForRest(left.Volume, spare, 0)
	if !ok {
		return nil
	}
	volume := spare[i].Volume()
	over := max(0, left.Volume-volume)
	return &RestMold{
		MoldID: free[i].ID, Mold: free[i].Name, Fill: calc.ShareOf(calc.Mass(left.Volume-over), calc.Mass(volume)),
		Left: Amount{Mass: left.Density().MassOf(over), Volume: over},
	}
}

// atMolds puts calc's complaints at the question's fields.
func (f filler) atMolds(err error) error {
	var c Check
	if other := c.fold(err, func(field string) string {
		at := listed.FindString(field)
		if at == "" {
			return "molds"
		}
		return at + ".mold_id"
	}); other != nil {
		return other
	}
	return c.Err()
}
