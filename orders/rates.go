package orders

// The workshop's own history is weighed against a prior: what is expected of a
// batch before it has any history, as if seen on so many pieces or batches
// before. Both weights and the prior chance of failure are our own choice, no
// published figure.
const (
	priorPieces  = 200.0 // pieces behind a design's stated spoil rate
	priorBatches = 20.0  // batches behind priorFailure
	priorFailure = 0.03  // share of batches that fail whole
	mostSpoil    = 0.5   // what the planner takes at most
)

// rates is the expected share of pieces lost and the chance that a whole batch
// fails: the mean of the Beta distribution that the prior and the history make.
func rates(d Design, h FailureCount) (spoil, fail float64) {
	stated := float64(d.Spoil) / 1e6
	spoil = (stated*priorPieces + float64(h.PiecesSpoiled)) / (priorPieces + float64(h.PiecesPoured))
	fail = (priorFailure*priorBatches + float64(h.Failed)) / (priorBatches + float64(h.Batches))
	return min(max(spoil, 0), mostSpoil), min(max(fail, 0), 1)
}

// history is what became of the design's batches so far.
func (s *Snapshot) history(designID string) FailureCount {
	h, _ := find(s.Failures, designID, func(f FailureCount) string { return f.DesignID })
	return h
}
