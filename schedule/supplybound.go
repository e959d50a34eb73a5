package schedule

import (
	"context"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// pourable is how many pieces of a design there are supplies for by a day.
func (d *Design) pourable(day civil.Date) int {
	if len(d.Supplies) == 0 {
		return plenty
	}
	most := 0
	for _, s := range d.Supplies {
		if !s.From.After(day) {
			most = s.most()
		}
	}
	return most
}

// arrivals lists, for each step of a design's supplies that is to come and that a
// need of poured pieces takes, the first filling that can be poured from then on.
// Where there is none, no later step has one either.
func (b *bounder) arrivals(ctx context.Context, d *Design, need int) []supply {
	if d.Blocked != "" {
		return nil
	}
	today := b.planner.tl.today
	most, known, n := d.pourable(today), b.comes[d.ID], 0
	for i := range d.Supplies {
		s := &d.Supplies[i]
		if !s.From.After(today) {
			continue
		}
		if most >= need {
			break
		}
		if n == len(known) {
			next := b.arrival(ctx, d, s)
			if next.fill == nil {
				break
			}
			known = append(known, next)
		}
		most = s.most()
		n++
	}
	b.comes[d.ID] = known
	return known[:n]
}

// arrival is the first filling that can be poured from a step of the supplies on, of
// all molds of the design; none when there are no hours for it. What was not looked
// for counts as ready today, since no bound may claim that it is later.
func (b *bounder) arrival(ctx context.Context, d *Design, s *Supply) supply {
	first := supply{comes: s}
	for _, f := range d.Fits {
		if b.planner.problem.moldIndex(f.MoldID) < 0 {
			continue
		}
		m := b.lone(d, f)
		job := &m.core.Jobs[len(m.core.Jobs)-1]
		job.Release = max(job.Release, m.tl.dayStart(s.From))
		placed, err := solve.Solve(ctx, m.core)
		if err != nil {
			return supply{day: m.tl.today, fill: &fill{moldID: f.MoldID}, comes: s}
		}
		pl := placed.Jobs[len(placed.Jobs)-1]
		if pl == nil {
			continue
		}
		if found := m.filling(pl, f); first.fill == nil || found.day.Before(first.day) {
			first.day, first.fill = found.day, found.fill
		}
	}
	return first
}
