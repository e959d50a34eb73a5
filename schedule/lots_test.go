package schedule

import (
	"errors"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"ripeline/schedule/civil"
)

// lotShop is a workshop with three molds of two kinds and hours without end.
func lotShop(spoil float64) *Problem {
	return &Problem{
		Hands: 1, Rack: 1 << 40,
		Hours: []Window{{Weekday: 1, From: 0, To: civil.DayMinutes}},
		Molds: []Mold{{ID: "loaf", Count: 2}, {ID: "slab", Count: 1}},
		Designs: []Design{{ID: "d", Name: "d", Spoil: spoil, Fits: []Fit{
			{MoldID: "loaf", Full: 12, Min: 6, Step: 2}, {MoldID: "slab", Full: 20, Min: 10, Step: 5},
		}}},
	}
}

// sizer makes a lotsizer whose hours are no limit.
func sizer(p *Problem) *lotsizer {
	tl := &timeline{widest: map[Step]int{StepMake: 1440, StepCut: 1440, StepWrap: 1440}}
	return newLotsizer(p, &p.Designs[0], tl)
}

// attainableSounds lists what one batch can be, by trying every filling of every
// mold.
func attainableSounds(d *Design) map[int]bool {
	loaf, slab := []int{0, 6, 8, 10, 12}, []int{0, 10, 15, 20}
	out := map[int]bool{}
	for _, a := range loaf {
		for _, b := range loaf {
			for _, c := range slab {
				if a+b+c > 0 {
					out[d.sound(a+b+c)] = true
				}
			}
		}
	}
	return out
}

// everySound lists what one batch of any design can be, by trying every filling of
// every mold.
func everySound(p *Problem) map[int]bool {
	d := &p.Designs[0]
	reach := map[int]bool{0: true}
	for _, f := range d.Fits {
		for range p.Molds[p.moldIndex(f.MoldID)].Count {
			next := map[int]bool{}
			for have := range reach {
				next[have], next[have+f.Full] = true, true
				for n := f.Min; n <= f.Full; n += max(1, f.Step) {
					next[have+n] = true
				}
			}
			reach = next
		}
	}
	out := map[int]bool{}
	for n := range reach {
		if n > 0 && d.sound(n) > 0 {
			out[d.sound(n)] = true
		}
	}
	return out
}

// TestSizesOfManyShops compares the lots of small needs with all there are, in
// workshops with one or two kinds of molds.
func TestSizesOfManyShops(t *testing.T) {
	dice := rand.New(rand.NewPCG(5, 5))
	more, over, tried := 0, 0, 0
	for range 60 {
		p := lotShop(float64(dice.IntN(3)) / 20)
		d := &p.Designs[0]
		d.Fits, p.Molds = nil, nil
		for k := range 1 + dice.IntN(2) {
			id, full := string(rune('a'+k)), 4+dice.IntN(12)
			p.Molds = append(p.Molds, Mold{ID: id, Count: 1 + dice.IntN(2)})
			d.Fits = append(d.Fits, Fit{MoldID: id, Full: full, Min: 1 + dice.IntN(full), Step: 1 + dice.IntN(4)})
		}
		ls, sounds := sizer(p), everySound(p)
		for need := 1; need <= 60; need++ {
			total, lots := 0, ls.sizes(need, mostUnits*len(d.Fits))
			for _, size := range lots {
				total += ls.mixes(size)[0].sound
			}
			batches, surplus := leastLots(sounds, need)
			tried++
			switch {
			case total < need || len(lots) < batches:
				t.Errorf("%+v: need %d: %d batches with %d pieces, fewer than can be", d.Fits, need, len(lots), total)
			case len(lots) > batches:
				more++
			case total-need > surplus:
				over++
			}
		}
	}
	t.Logf("of %d: %d with more batches than needed, %d with more surplus", tried, more, over)
	if more+over > 0 {
		t.Errorf("of %d needs %d take more batches and %d give more surplus than they have to", tried, more, over)
	}
}

// leastLots is, by exhaustive search, the fewest batches that cover a need and
// the least surplus with that many.
func leastLots(sounds map[int]bool, need int) (batches, surplus int) {
	reach := map[int]bool{0: true}
	for n := 1; ; n++ {
		next, best := map[int]bool{}, -1
		for have := range reach {
			for s := range sounds {
				sum := have + s
				next[sum] = true
				if sum >= need && (best < 0 || sum < best) {
					best = sum
				}
			}
		}
		if best >= 0 {
			return n, best - need
		}
		reach = next
	}
}

// TestSizes compares the lots of small needs with all there are.
func TestSizes(t *testing.T) {
	for _, spoil := range []float64{0, 0.1} {
		p := lotShop(spoil)
		ls := sizer(p)
		for need := 1; need <= 150; need++ {
			total, lots := 0, ls.sizes(need, mostUnits*2)
			for _, size := range lots {
				mixes := ls.mixes(size)
				if len(mixes) == 0 || mixes[0].sound < size {
					t.Fatalf("spoil %v, need %d: a lot of %d can not be poured", spoil, need, size)
				}
				total += mixes[0].sound
			}
			batches, surplus := leastLots(attainableSounds(&p.Designs[0]), need)
			if len(lots) != batches || total-need != surplus {
				t.Errorf("spoil %v, need %d: %d batches with %d over, at best %d with %d", spoil, need, len(lots), total-need, batches, surplus)
			}
		}
	}
}

func TestPiecesPouredForSpoil(t *testing.T) { // derived
	for _, c := range []struct {
		need  int
		spoil float64
		want  int
	}{{60, 0, 60}, {60, 0.05, 64}, {57, 0.05, 60}, {0, 0.05, 0}, {27, 0.1, 30}} {
		if got := (&Design{Spoil: c.spoil}).gross(c.need); got != c.want {
			t.Errorf("%d sound at %v spoil: %d, want %d", c.need, c.spoil, got, c.want)
		}
	}
}

// TestAttainable compares the arithmetic of fillings with trying them all.
func TestAttainable(t *testing.T) {
	for _, f := range []Fit{{Full: 12, Min: 6, Step: 2}, {Full: 11, Min: 4, Step: 3}, {Full: 5, Min: 5}, {Full: 7, Min: 1, Step: 1}} {
		one := map[int]bool{f.Full: true}
		for n := f.Min; n <= f.Full; n += max(1, f.Step) {
			one[n] = true
		}
		reach := map[int]bool{0: true}
		for units := 1; units <= 3; units++ {
			next := map[int]bool{}
			for have := range reach {
				for n := range one {
					next[have+n] = true
				}
			}
			reach = next
			for pieces := range 40 {
				if f.attainable(units, pieces) != reach[pieces] {
					t.Errorf("%+v: %d pieces in %d molds: %v", f, pieces, units, !reach[pieces])
				}
			}
		}
	}
}

// TestSizersOfTheirOwn: those who plan side by side do not remember sizes in one
// place.
func TestSizersOfTheirOwn(t *testing.T) {
	p := lotShop(0)
	ls := sizer(p)
	pl := &planner{sizers: map[string]*lotsizer{"d": ls}}
	one, other := pl.ownSizers()["d"], pl.ownSizers()["d"]
	one.sizes(99, mostUnits) // a surplus to look for a way around
	for _, at := range []*lotsizer{ls, other} {
		if len(at.known) > 0 || len(at.whole) > 0 {
			t.Errorf("what one is asked is remembered by another: %v, %v", at.known, at.whole)
		}
	}
	if len(one.known) == 0 || len(one.whole) == 0 {
		t.Error("what was asked is not remembered at all")
	}
}

// TestPanicBesideOthers: what fails on a goroutine of its own is an error to who
// asked, and not the end of the process.
func TestPanicBesideOthers(t *testing.T) {
	err := (&planner{}).plans(t.Context(), []policy{{}, {}}, func(*draft, policy) bool { return false })
	if err == nil || !strings.Contains(err.Error(), "panic while planning") {
		t.Errorf("got %v", err)
	}
}

// TestEnoughBeforeAnError: what fails beside something that was enough is never
// asked for, on any number of processors; before that it is.
func TestEnoughBeforeAnError(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	bad := errors.New("no plan")
	do := func(i int) (int, error) {
		switch i {
		case 2:
			return 0, bad
		case 3:
			panic("beside")
		}
		return i, nil
	}
	for _, processors := range []int{1, 2, 8} {
		runtime.GOMAXPROCS(processors)
		seen := 0
		if err := inTurn(4, do, func(i, _ int) bool { seen++; return i == 1 }); err != nil || seen != 2 {
			t.Errorf("on %d processors: %v after %d", processors, err, seen)
		}
		if err := inTurn(4, do, func(int, int) bool { return false }); !errors.Is(err, bad) {
			t.Errorf("on %d processors: %v, want %v", processors, err, bad)
		}
	}
}
