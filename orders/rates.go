package orders

import (
	"ripeline/calc"
	"ripeline/schedule"
)

// The workshop's own history is weighed against a prior: what is expected of a
// batch before it has any history, as if seen on so many pieces or batches
// before. Both weights and the prior chance of failure are our own choice, no
// published figure.
const (
	priorPieces  = 200.0 // pieces behind a design's stated spoil rate
	priorBatches = 20.0  // batches behind priorFailure
	priorFailure = 0.03  // share of batches that fail whole
	priorFailed  = 10.0  // failures behind schedule.DefaultBeforeCut
	mostSpoil    = 0.5   // what the planner takes at most
)

// rates is the expected share of pieces lost from a batch that does not fail,
// and the chance that a whole batch fails: each the mean of the Beta
// distribution that its prior and the history make. The pieces of failed
// batches, taken to be of the usual size, are not counted as spoiled too.
func rates(d Design, h FailureCount) (spoil, fail float64) {
	poured, spoiled := float64(h.PiecesPoured), float64(h.PiecesSpoiled)
	if h.Batches > 0 {
		failed := poured * float64(h.Failed) / float64(h.Batches)
		poured, spoiled = poured-failed, max(0, spoiled-failed)
	}
	stated := float64(d.Spoil) / float64(calc.Whole)
	spoil = (stated*priorPieces + spoiled) / (priorPieces + poured)
	fail = (priorFailure*priorBatches + float64(h.Failed)) / (priorBatches + float64(h.Batches))
	return min(spoil, mostSpoil), min(fail, 1)
}

// risks is when batches fail, by the failures of all designs.
func risks(all []FailureCount) schedule.Risks {
	failed, byCut := 0.0, 0.0
	for _, h := range all {
		failed += float64(h.Failed)
		byCut += float64(h.FailedByCut)
	}
	return schedule.Risks{BeforeCut: (schedule.DefaultBeforeCut*priorFailed + byCut) / (priorFailed + failed)}
}

// history is what became of the design's batches so far.
func (s *Snapshot) history(designID string) FailureCount {
	h, _ := find(s.Failures, designID, func(f FailureCount) string { return f.DesignID })
	return h
}
