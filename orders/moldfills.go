package orders

import (
	"fmt"

	"ripeline/calc"
	"ripeline/schedule"
)

// moldFill is molds of one kind that a batch fills alike.
type moldFill struct {
	mold  Mold
	units int
	each  int      // pieces in each of them
	share calc.PPM // of each that is poured
}

// fit is how so many pieces as the cut gives sit in the mold.
func (m Mold) fit(cut calc.Cut) schedule.Fit {
	return schedule.Fit{MoldID: m.ID, Full: cut.Pieces, Min: cut.MinPieces(m.MinFill), Step: cut.Step}
}

// fills is the molds as a batch fills them: full but for the rest of its pieces.
func (m Mold) fills(use schedule.MoldUse, plan CutPlan) ([]moldFill, error) {
	cut, err := calc.Yield(m.calcMold(), calc.CutPlan(plan))
	if err != nil {
		return nil, fmt.Errorf("the cut does not fit %s any more: %w", m.Name, inWords(err, nil))
	}
	var out []moldFill
	for _, f := range m.fit(cut).Fills(use.Units, use.Pieces) {
		out = append(out, moldFill{mold: m, units: f.Units, each: f.Each, share: cut.FillFor(f.Each)})
	}
	return out, nil
}

// volumeOf is the batter that the fills take. Errors as of calc.WantedVolume, with
// its molds in the order of the fills.
func volumeOf(fills []moldFill) (calc.Volume, error) { return calc.WantedVolume(calcFills(fills)) }

func calcFills(fills []moldFill) []calc.MoldFill {
	out := make([]calc.MoldFill, len(fills))
	for i, f := range fills {
		out[i] = calc.MoldFill{Mold: f.mold.calcMold(), Count: f.units, Share: f.share}
	}
	return out
}

// moldNames is what the molds of the fills are called.
func moldNames(fills []moldFill) []string {
	out := make([]string, len(fills))
	for i, f := range fills {
		out[i] = f.mold.Name
	}
	return out
}
