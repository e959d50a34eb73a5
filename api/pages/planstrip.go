package pages

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// strip draws one batch: its pour, the mold, its cut, a cure that deepens as
// it ripens, its wrapping; and where a proposal would move them.
func (v *visit) strip(names *shelf, l ledger, b orders.Batch, y int, drawn *orders.Proposal) strip {
	s := strip{Href: "/batches/" + b.ID, Title: names.designName(b.DesignID) + " " + b.Lot + ", " + v.batchState(b)}
	made, cut, wrapped := v.words.date(b.Make.From), v.words.date(b.Cut.From), v.words.date(b.Wrap.From)
	last := v.words.date(b.EndedAt)
	if b.State != orders.BatchFailed && b.State != orders.BatchCancelled {
		last = v.words.date(b.Wrap.To)
	}
	until := func(d civil.Date) civil.Date { // a failed batch ends where it failed
		if b.State == orders.BatchFailed && d.After(last) {
			return last
		}
		return d
	}
	s.add(l, y, "mold", made, until(cut), "", "")
	s.add(l, y, "pour", made, made.AddDays(1), "P", "Pour "+v.words.span(b.Make.From, b.Make.To))
	if b.State != orders.BatchFailed || !b.CutAt.IsZero() {
		s.cure(l, b, y, cut, until(wrapped))
		s.add(l, y, "cut", cut, cut.AddDays(1), "C", "Cut "+v.words.span(b.Cut.From, b.Cut.To))
	}
	switch b.State {
	case orders.BatchFailed:
		s.add(l, y, "failed", last, last.AddDays(1), "×", "Failed "+v.words.at(b.EndedAt))
	default:
		for _, part := range wrapParts(b) {
			day := v.words.date(part.From)
			s.add(l, y, "wrap", day, v.words.date(part.To).AddDays(1), "W", "Wrap "+v.words.span(part.From, part.To))
		}
	}
	if drawn != nil {
		s.ghosts(v, l, y, b, *drawn)
	}
	return s
}

// stop marks the first step that can not be done as planned.
func (v *visit) stop(s *strip, l ledger, y int, b orders.Batch, o orders.Obstacle) {
	at := map[schedule.Step]schedule.Interval{schedule.StepMake: b.Make, schedule.StepCut: b.Cut, schedule.StepWrap: b.Wrap}[o.Step]
	day := v.words.date(at.From)
	s.add(l, y, "stop", day, day.AddDays(1), "!", "Not as planned. "+v.words.dated(o.Text))
	s.Title += ". Not as planned: " + v.words.dated(o.Text)
}

func wrapParts(b orders.Batch) []schedule.Interval {
	if len(b.WrapParts) > 0 {
		return b.WrapParts
	}
	return []schedule.Interval{b.Wrap}
}

// add draws the days from..to, to not included; nothing when they lie outside
// the grid.
func (s *strip) add(l ledger, y int, kind string, from, to civil.Date, letter, title string) {
	if from.IsZero() || !to.After(from) || to.Before(l.from) || from.After(l.to) {
		return
	}
	x := l.x(from)
	b := block{Kind: kind, X: x, Y: y + 5, Width: l.x(to) - x, Height: rowHeight - 10, Title: title}
	if letter != "" && b.Width >= dayWidth {
		b.Letter, b.TextX, b.TextY = letter, x+min(b.Width, dayWidth)/2, y+rowHeight/2+5
	}
	if b.Width > 0 {
		s.Blocks = append(s.Blocks, b)
	}
}

// cureTones is how many tones a cure deepens through.
const cureTones = 5

// cure draws the cure in equal parts to the shortest cure, then one to the
// wished cure, then ripe.
func (s *strip) cure(l ledger, b orders.Batch, y int, cut, end civil.Date) {
	whole := b.CureMin.Sub(cut)
	if b.CureMin.IsZero() || whole <= 0 {
		s.add(l, y, "cure-1", cut, end, "", "")
		return
	}
	for i := range cureTones {
		from, to := cut.AddDays(whole*i/cureTones), cut.AddDays(whole*(i+1)/cureTones)
		s.add(l, y, fmt.Sprintf("cure-%d", i+1), from, earlier(to, end), "", "")
	}
	s.add(l, y, "cure-ripe", b.CureMin, end, "", "")
}

func earlier(a, b civil.Date) civil.Date {
	if b.Before(a) {
		return b
	}
	return a
}

// ghosts outlines where a proposal would put the batch's steps.
func (s *strip) ghosts(v *visit, l ledger, y int, b orders.Batch, p orders.Proposal) {
	for _, m := range p.Diff.Moves {
		if m.BatchKey != b.ID || m.To.From.IsZero() {
			continue
		}
		day := v.words.date(m.To.From)
		s.add(l, y, "ghost", day, day.AddDays(1), strings.ToUpper(string(stepName(m.Step)[0])), stepName(m.Step)+" would move to "+v.words.span(m.To.From, m.To.To))
	}
	if slices.Contains(p.Diff.Dropped, b.ID) {
		s.add(l, y, "ghost", v.words.date(b.Make.From), v.words.date(b.Wrap.To).AddDays(1), "", "Would be dropped")
	}
}

// addFills draws under the strips how many molds of each kind are in use, and
// how full the racks are.
func (v *visit) addFills(g *planGrid, names *shelf, l ledger, batches []orders.Batch, racks []orders.Rack) {
	y := g.Bottom + 14
	g.FillsTop = y
	for _, m := range names.molds {
		if m.Retired || m.Count == 0 {
			continue
		}
		row := fillRow{Name: m.Name, Y: y, Line: y + fillHeight - 4}
		for i := range l.days() {
			d := l.from.AddDays(i)
			used := 0
			for _, b := range batches {
				used += v.moldsUsed(b, m.ID, d)
			}
			row.bar(l.x(d), used, m.Count, fmt.Sprintf("%d of %d in use", used, m.Count))
		}
		g.Fills = append(g.Fills, row)
		y += fillHeight
	}
	var area calc.Area
	for _, r := range racks {
		if !r.Retired {
			area += calc.Area(int64(r.Width/calc.Millimetre) * int64(r.Depth/calc.Millimetre) * int64(r.Shelves))
		}
	}
	if area > 0 {
		row := fillRow{Name: "Rack", Y: y, Line: y + fillHeight - 4}
		v.fillRack(&row, names, l, batches, area)
		g.Fills = append(g.Fills, row)
		y += fillHeight
	}
	g.Height = y + 4
	for i := range g.Weekends {
		g.Weekends[i].Height = g.Height - gridTop
	}
}

func (v *visit) fillRack(row *fillRow, names *shelf, l ledger, batches []orders.Batch, area calc.Area) {
	for i := range l.days() {
		d := l.from.AddDays(i)
		var used calc.Area
		for _, b := range batches {
			if v.within(d, b.Cut.From, racked(b)) {
				used += footprint(names, b) * calc.Area(b.Sound)
			}
		}
		share := int(100 * used / area)
		row.bar(l.x(d), share, 100, fmt.Sprintf("%d %% full", share))
	}
}

// racked is when a batch leaves the rack.
func racked(b orders.Batch) time.Time {
	if b.State == orders.BatchFailed {
		return b.EndedAt
	}
	return b.Wrap.To
}

// within reports whether day d lies between two instants, both days counted.
func (v *visit) within(d civil.Date, from, to time.Time) bool {
	return !from.IsZero() && !to.IsZero() && !d.Before(v.words.date(from)) && !d.After(v.words.date(to))
}

func (v *visit) moldsUsed(b orders.Batch, mold string, d civil.Date) int {
	out := b.Cut.To
	if b.State == orders.BatchFailed && b.CutAt.IsZero() {
		out = b.EndedAt
	}
	used := 0
	for _, m := range b.Molds {
		if m.MoldID == mold && v.within(d, b.Make.From, out) {
			used += m.Units
		}
	}
	return used
}

// footprint is the rack area of one piece; zero when the cut does not fit its
// mold any more.
func footprint(names *shelf, b orders.Batch) calc.Area {
	d, _ := names.design(b.DesignID)
	for _, use := range b.Molds {
		m, _ := names.mold(use.MoldID)
		if cut, err := calc.Yield(calcMold(m), calc.CutPlan(d.Cut)); err == nil {
			return cut.Footprint
		}
	}
	return 0
}

// bar draws used of whole on a day; days alike make one bar, and an empty day
// draws nothing.
func (r *fillRow) bar(x, used, whole int, title string) {
	const tallest = fillHeight - 8
	height := max(3, tallest*min(used, whole)/whole)
	if n := len(r.Bars); n > 0 && used > 0 {
		last := &r.Bars[n-1]
		if last.X+last.Width == x && last.Title == title {
			last.Width += dayWidth
			return
		}
	}
	if used > 0 {
		r.Bars = append(r.Bars, fillBar{X: x, Y: r.Line - height, Width: dayWidth, Height: height, Full: used >= whole, Title: title})
	}
}
