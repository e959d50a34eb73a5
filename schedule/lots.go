package schedule

import (
	"cmp"
	"math"
	"slices"

	"ripeline/schedule/solve"
)

// sound is how many of the poured pieces are expected to reach the wrap.
func (d *Design) sound(poured int) int {
	return poured - int(math.Ceil(float64(poured)*d.Spoil-roundingSlack))
}

// roundingSlack keeps a share such as 0.1 of 30 from being rounded up to 4
// because 0.1 has no exact binary value.
const roundingSlack = 1e-9

// gross is the fewest pieces to pour so that need sound ones are expected.
func (d *Design) gross(need int) int {
	p := need
	if d.Spoil > 0 && d.Spoil < 1 { // begin just below
		p = max(need, int(float64(need)/(1-d.Spoil))-1)
	}
	for p > need && d.sound(p-1) >= need {
		p--
	}
	for d.sound(p) < need {
		p++
	}
	return p
}

// minutesFor rounds fixed minutes and seconds for each piece up to minutes.
func minutesFor(fixed, per, pieces int) solve.Time { return fixed + (per*pieces+59)/60 }

// attainable reports whether units molds of the kind can hold exactly pieces.
func (f Fit) attainable(units, pieces int) bool {
	step := max(1, f.Step)
	steps := (f.Full - f.Min) / step // the partial fills above the smallest
	for full := 0; full <= units; full++ {
		rest := pieces - full*f.Full - (units-full)*f.Min
		if rest >= 0 && rest%step == 0 && rest <= (units-full)*steps*step {
			return true
		}
	}
	return false
}

// fill is the fewest pieces that units molds of the kind can hold and that are
// at least want, or failing that, the most they can hold.
func (f Fit) fill(units, want int) int {
	for pieces := max(want, units*f.Min); pieces < units*f.Full; pieces++ {
		if f.attainable(units, pieces) {
			return pieces
		}
	}
	return units * f.Full
}

// fillBelow is the most pieces, up to limit, that units molds can hold; 0 when
// even the smallest fill is above it.
func (f Fit) fillBelow(units, limit int) int {
	for pieces := min(limit, units*f.Full); pieces >= units*f.Min; pieces-- {
		if f.attainable(units, pieces) {
			return pieces
		}
	}
	return 0
}

// mix is one choice of molds and pieces for a batch.
type mix struct {
	molds  []MoldUse
	pieces int
	sound  int
	units  int
}

// lotsizer knows what one batch of a design can be.
type lotsizer struct {
	design *Design
	sets   []set         // sets of molds a batch can use at once, by units, then by fits
	limit  int           // most pieces that hours and rack allow in one batch
	all    int           // most sound pieces a batch can have in all its molds
	known  map[int][]mix // mixes found before, by need
	whole  map[int][]int // sizes that leave nothing over, by the most units
}

// set is units of one fit of a design, or of two.
type set struct {
	fits  []Fit
	units []int
}

const (
	mostUnits = 12 // molds of one kind poured in a session
	mostMixed = 4  // molds of each kind when two kinds are mixed
)

func newLotsizer(p *Problem, d *Design, tl *timeline) *lotsizer {
	ls := &lotsizer{design: d, limit: d.mostPieces(p, tl), known: map[int][]mix{}, whole: map[int][]int{}}
	var usable []Fit
	counts := map[string]int{}
	for _, f := range d.Fits {
		for _, m := range p.Molds {
			if m.ID == f.MoldID && m.Count > 0 {
				usable = append(usable, f)
				counts[f.MoldID] = m.Count
			}
		}
	}
	for i, f := range usable {
		for u := 1; u <= min(mostUnits, counts[f.MoldID]); u++ {
			ls.sets = append(ls.sets, set{[]Fit{f}, []int{u}})
		}
		for _, g := range usable[i+1:] {
			for u := 1; u <= min(mostMixed, counts[f.MoldID]); u++ {
				for v := 1; v <= min(mostMixed, counts[g.MoldID]); v++ {
					ls.sets = append(ls.sets, set{[]Fit{f, g}, []int{u, v}})
				}
			}
		}
	}
	slices.SortStableFunc(ls.sets, func(a, b set) int { return cmp.Compare(a.total(), b.total()) })
	ls.all = ls.most(mostUnits * max(1, len(d.Fits)))
	return ls
}

func (s set) total() int {
	sum := 0
	for _, u := range s.units {
		sum += u
	}
	return sum
}

// mostPieces is the most pieces one batch can have so that making and cutting
// each fit into the longest window, and all sound pieces fit on the rack.
func (d *Design) mostPieces(p *Problem, tl *timeline) int {
	most := d.gross(mostSound)
	limit := func(fixed, per int, widest solve.Time) {
		if fixed > widest {
			most = 0
		} else if per > 0 {
			most = min(most, (widest-fixed)*60/per)
		}
	}
	limit(d.MakeFixed, d.MakePer, tl.widest[StepMake])
	limit(d.CutFixed, d.CutPer, tl.widest[StepCut])
	if d.WrapPer == 0 {
		limit(d.WrapFixed, 0, tl.widest[StepWrap])
	} else if minutesFor(d.WrapFixed, d.WrapPer, 1) > tl.widest[StepWrap] {
		most = 0
	}
	if d.Footprint > 0 {
		rack := min(int(p.Rack/d.Footprint), mostSound)
		most = min(most, d.gross(rack+1)-1)
	}
	return most
}

// mostSound bounds a batch where nothing else does.
const mostSound = 100_000

// fill distributes at least want pieces over the molds of a set, as few as
// can be, the most of them in the first kind; false when the set can not hold as
// many within the limit.
func (s set) fill(d *Design, want, limit int) (mix, bool) {
	f, u := s.fits[0], s.units[0]
	best := mix{units: s.total()}
	if len(s.fits) == 1 {
		best.add(f, u, f.fill(u, want))
	} else {
		g, v := s.fits[1], s.units[1]
		for n := u * f.Full; n >= u*f.Min; n-- {
			if !f.attainable(u, n) {
				continue
			}
			rest := g.fill(v, want-n)
			if sum := n + rest; best.pieces == 0 || sum >= want && sum < best.pieces {
				best = mix{units: s.total()}
				best.add(f, u, n)
				best.add(g, v, rest)
			}
		}
	}
	best.sound = d.sound(best.pieces)
	return best, best.pieces >= want && best.pieces <= limit
}

func (m *mix) add(f Fit, units, pieces int) {
	m.molds = append(m.molds, MoldUse{MoldID: f.MoldID, Units: units, Pieces: pieces})
	m.pieces += pieces
}

// most is the most sound pieces a batch of at most units molds can have.
func (ls *lotsizer) most(units int) int {
	best := 0
	for _, s := range ls.sets {
		if s.total() > units {
			break
		}
		left, pieces := ls.limit, 0
		for i, f := range s.fits {
			n := f.fillBelow(s.units[i], left)
			if n == 0 {
				pieces = 0
				break
			}
			left -= n
			pieces += n
		}
		best = max(best, ls.design.sound(pieces))
	}
	return best
}

// mostModes bounds the mold choices tried for one batch.
const mostModes = 6

// mixes lists ways to get at least need sound pieces from one batch: the least
// surplus first, then the fewest molds. The list is the caller's.
func (ls *lotsizer) mixes(need int) []mix { return slices.Clone(ls.mixesOf(need)) }

// mixesOf is mixes, shared with whoever asks for as many.
func (ls *lotsizer) mixesOf(need int) []mix {
	if out, ok := ls.known[need]; ok {
		return out
	}
	var out []mix
	want := ls.design.gross(need)
	for _, s := range ls.sets {
		if m, ok := s.fill(ls.design, want, ls.limit); ok && m.sound >= need {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b mix) int {
		return cmp.Or(cmp.Compare(a.pieces, b.pieces), cmp.Compare(a.units, b.units))
	})
	ls.known[need] = out[:min(len(out), mostModes)]
	return ls.known[need]
}
