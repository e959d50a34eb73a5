package orders

import (
	"cmp"
	"context"
	"strings"

	"ripeline/calc"
)

// WeightQuestion asks how wrapped pieces stand to their label.
type WeightQuestion struct {
	Declared calc.Mass   `json:"declared_mg"` // on the label; what the label draft proposes when 0
	Weights  []calc.Mass `json:"weights_mg"`  // of each piece weighed, without its wrapping
}

// WeightCheck is how pieces stand to the net weight on their label.
type WeightCheck struct {
	Declared  calc.Mass      `json:"declared_mg"`
	Tolerable calc.Mass      `json:"tolerable_error_mg"`
	Mean      calc.Mass      `json:"mean_mg"`
	MeanShort bool           `json:"mean_short"` // below the label
	Pieces    []CheckedPiece `json:"pieces"`
	Notice    string         `json:"notice"` // how far it goes and who decides
}

// CheckedPiece is one weighed piece.
type CheckedPiece struct {
	Mass  calc.Mass `json:"mass_mg"`
	Short bool      `json:"short"` // by more than the tolerable error
	Never bool      `json:"never"` // by more than twice that: not to be sold with this label
}

const weightNotice = "By the rule on short weight (Directive 76/211/EEC, Annex I) the whole batch is judged: some pieces show no more than themselves. "

// CheckWeights holds weighed pieces of a batch against their label. Nothing of it is
// kept.
func (b *Book) CheckWeights(ctx context.Context, a Actor, batchID string, in WeightQuestion) (WeightCheck, error) {
	l, err := b.BatchLabel(ctx, a, batchID, LabelQuestion{})
	if err != nil {
		return WeightCheck{}, err
	}
	if l.Net != nil {
		in.Declared = cmp.Or(in.Declared, l.Net.Proposed)
	}
	return in.check()
}

// check holds the weights against what is declared.
func (in WeightQuestion) check() (WeightCheck, error) {
	found, err := calc.CheckNet(in.Declared, in.Weights)
	if err != nil {
		var c Check
		if err := c.fold(err, weightField); err != nil {
			return WeightCheck{}, err
		}
		return WeightCheck{}, c.Err()
	}
	out := WeightCheck{Declared: in.Declared, Tolerable: found.Tolerable, Mean: found.Mean, MeanShort: found.MeanShort, Notice: weightNotice + calc.DeferNotice}
	for _, p := range found.Packs {
		out.Pieces = append(out.Pieces, CheckedPiece(p))
	}
	return out, nil
}

// weightField is the field that a fault of the arithmetic is about.
func weightField(f string) string {
	if f == "net_weight" {
		return "declared_mg"
	}
	return strings.Replace(f, "weights", "weights_mg", 1)
}
