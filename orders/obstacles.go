package orders

import (
	"context"
	"fmt"
	"slices"
	"time"

	"ripeline/schedule"
)

// Obstacle is why a batch can not go on as the published plan has it, and the
// accepted orders that wait for its pieces. It stays until what is in the way is gone,
// or another plan is published.
type Obstacle struct {
	BatchID  string            `json:"batch_id"`
	Lot      string            `json:"lot"`
	Step     schedule.Step     `json:"step"` // the first that can not be done as published
	Kind     schedule.HoldKind `json:"kind"`
	Text     string            `json:"text"` // one sentence for a person
	OrderIDs []string          `json:"order_ids"`
}

// Obstacles lists what is in the way of the published plan, those of running batches
// first, then by pour.
func (b *Book) Obstacles(ctx context.Context, a Actor) ([]Obstacle, error) {
	return read(ctx, b, a, func(tx Tx) ([]Obstacle, error) {
		snap, err := tx.Snapshot(ctx)
		if err != nil {
			return nil, err
		}
		return snap.obstacles(b.now())
	})
}

// obstacles is what is in the way of the batches as they stand in the book.
func (s *Snapshot) obstacles(now time.Time) ([]Obstacle, error) {
	p, err := s.problem(now)
	if err != nil {
		return nil, err
	}
	all, err := schedule.Obstacles(p)
	if err != nil {
		return nil, fmt.Errorf("obstacles in workshop %s: %w", s.Workshop.ID, err)
	}
	out := make([]Obstacle, len(all))
	for i, o := range all {
		batch, _ := find(s.Batches, o.BatchID, func(b Batch) string { return b.ID })
		out[i] = Obstacle{BatchID: o.BatchID, Lot: batch.Lot, Step: o.Step, Kind: o.Kind, Text: o.Text, OrderIDs: s.waitingFor(o.BatchID)}
	}
	return out, nil
}

// waitingFor is the orders that pieces of a batch are for, sorted.
func (s *Snapshot) waitingFor(batchID string) []string {
	out := []string{}
	for _, a := range s.Allocations {
		if a.BatchID == batchID {
			out = append(out, a.OrderID)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// InTheWayOf is the obstacles of the batches that an order waits for.
func InTheWayOf(orderID string, all []Obstacle) []Obstacle {
	return slices.DeleteFunc(slices.Clone(all), func(o Obstacle) bool { return !slices.Contains(o.OrderIDs, orderID) })
}

// inDoubt is the outcomes without the second try that a plan which can not be followed
// does not give.
func inDoubt(outcomes []schedule.OrderOutcome, all []Obstacle) []schedule.OrderOutcome {
	out := slices.Clone(outcomes)
	for i := range out {
		if len(InTheWayOf(out[i].OrderID, all)) > 0 {
			out[i].RemakeBy = time.Time{}
		}
	}
	return out
}

// tellObstacles says at tasks what is in their way.
func tellObstacles(tasks []Task, all []Obstacle) {
	for i := range tasks {
		t := &tasks[i]
		if t.Status != TaskOpen {
			continue
		}
		t.Obstacle = ""
		for _, o := range all {
			switch {
			case t.BatchID != "" && t.BatchID == o.BatchID:
				t.Obstacle = o.Text
			case t.Kind == TaskHandOver && t.Obstacle == "" && slices.Contains(o.OrderIDs, t.OrderID):
				t.Obstacle = fmt.Sprintf("%s can not go on as planned. %s", o.Lot, o.Text)
			}
		}
	}
}
