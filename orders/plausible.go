package orders

import (
	"context"
	"fmt"

	"ripeline/calc"
)

// How far a weighing may lie from what its pieces should weigh (our own choice,
// wide enough for uneven cuts and any cure): what lies beyond is a slip of the pen,
// and one such weighing spoils the curve.
const (
	mostOffRecipe  = 2                 // times more or less than the batter in a piece
	mostGainMarked = 3 * calc.Percent  // a marked piece is the same each time, and only dries
	mostGain       = 10 * calc.Percent // pieces without a mark may be others of the same cut
)

// plausible refuses a weighing of x that can not be right, by the recipe or by
// the weighings that x has already.
func (w Weighing) plausible(ctx context.Context, tx Tx, e event, x Batch) error {
	m, err := makingOf(ctx, tx, x.ID)
	if err != nil {
		return err
	}
	var c Check
	if least, most, ok := m.freshPiece(); ok {
		w.checkRecipe(&c, e.shop, least, most)
	}
	if c.Err() == nil {
		w.checkDrying(&c, e, x)
	}
	return c.Err()
}

// freshPiece is the batter in the smallest and in the largest piece of the batch;
// ok is false when it can not be worked out, which its sheet then says.
func (m making) freshPiece() (least, most calc.Mass, ok bool) {
	mixed, err := m.mixed()
	if err != nil || mixed.whole.Volume <= 0 {
		return 0, 0, false
	}
	small, large, err := m.pieceSizes()
	density := mixed.whole.Density()
	return density.MassOf(small), density.MassOf(large), err == nil
}

// checkRecipe holds the weighing against the batter in a piece.
func (w Weighing) checkRecipe(c *Check, shop Workshop, least, most calc.Mass) {
	n := calc.Mass(w.Pieces)
	low, high := n*least/mostOffRecipe, n*most*mostOffRecipe
	if w.Mass >= low && w.Mass <= high {
		return
	}
	fresh := "about " + shop.about(least)
	if least != most {
		fresh = fmt.Sprintf("%s to %s", shop.about(least), shop.about(most))
	}
	c.Add("mass_mg", fmt.Sprintf("must lie %s for %s: by the recipe one weighs %s when it is cut, and no piece half or twice that. Check the weight and how many pieces were on the scale.",
		shop.between(low, high), pieces(w.Pieces), fresh))
}

// checkDrying holds the weighing against those of the same pieces before and
// after it: soap on the rack grows lighter.
func (w Weighing) checkDrying(c *Check, e event, x Batch) {
	gain := mostGain
	if w.Mark != "" {
		gain = mostGainMarked
	}
	for _, o := range x.weighed() {
		if o.Mark != w.Mark {
			continue
		}
		switch each, other := w.each(), o.each(); {
		case !o.At.After(w.At) && each > other+gain.Of(other):
			c.Add("mass_mg", fmt.Sprintf("makes %s a piece, but on %s it was %s: soap grows lighter on the rack, so at most %s is taken. Check the weight and the number of pieces, or take that earlier weighing back first if it was wrong.",
				e.shop.mass(each), e.says(o.At), e.shop.mass(other), e.shop.atMost(other+gain.Of(other))))
			return
		case o.At.After(w.At) && other > each+gain.Of(each):
			c.Add("mass_mg", fmt.Sprintf("makes %s a piece, but later, on %s, it was %s: soap grows lighter on the rack. Check the weight, the number of pieces and the time, or take that later weighing back first if it was wrong.",
				e.shop.mass(each), e.says(o.At), e.shop.mass(other)))
			return
		}
	}
}
