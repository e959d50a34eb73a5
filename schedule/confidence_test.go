package schedule_test

import (
	"context"
	"errors"
	"math"
	"runtime"
	"slices"
	"testing"

	"ripeline/schedule"
)

// tight is the days from Monday 2 March to 2 April, the first day on which what is
// poured on Tuesday and cut on Thursday can be wrapped.
const tight = 31

// never is a chance so small that it counts as none; 0 would mean the default.
const never = 1e-12

// calm is an evening shop with one accepted order of so many pieces, published,
// in which only the design's failures and spoils happen.
func calm(t *testing.T, pieces, days int, change func(*schedule.Problem)) *schedule.Problem {
	t.Helper()
	p := asking1(eveningShop(), pieces, days)
	p.Designs[0].Spoil, p.Designs[0].FailRate = 0, 0
	p.Risks = schedule.Risks{SlowCure: never, LateSupplies: never}
	change(p)
	return publish(p, solved(t, "calm", p))
}

// asking1 takes an order for the first design.
func asking1(p *schedule.Problem, pieces, days int) *schedule.Problem {
	o := asking(p, pieces, days)
	o.Accepted, o.Weight = true, 1
	p.Orders = append(p.Orders, o)
	return p
}

// share is the share of futures in which the only order is met.
func share(t *testing.T, p *schedule.Problem) schedule.Outlook {
	t.Helper()
	out, err := schedule.Confidence(context.Background(), p, 4000)
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != 1 {
		t.Fatalf("%d outlooks for one order", len(out))
	}
	return out[0]
}

// near fails unless a share is within four standard errors of what it should be.
func near(t *testing.T, what string, got schedule.Outlook, want float64) {
	t.Helper()
	if math.Abs(got.Share-want) > 4*got.StdErr {
		t.Errorf("%s: met in %.4f of futures, which should be %.4f (standard error %.4f)", what, got.Share, want, got.StdErr)
	}
}

// TestConfidenceByHand compares with chances worked out by hand.
func TestConfidenceByHand(t *testing.T) {
	fails := func(chance float64) func(*schedule.Problem) {
		return func(p *schedule.Problem) { p.Designs[0].FailRate = chance }
	}
	near(t, "nothing happens", share(t, calm(t, 20, 60, func(*schedule.Problem) {})), 1)
	near(t, "no time for a remake", share(t, calm(t, 20, tight, fails(0.2))), 0.8)
	// Lost at the cut on Thursday 5 March it is poured again that evening and cut on
	// Saturday, ripe on 4 April; lost again, it could not be ripe before 9 April.
	near(t, "time for one remake", share(t, calm(t, 20, tight+3, func(p *schedule.Problem) {
		p.Designs[0].FailRate, p.Risks.BeforeCut = 0.2, 1
	})), 1-0.2*0.2)
}

// TestConfidenceOfSpoils compares with the binomial distribution: an order is met
// while no more pieces are spoiled than the batch has to spare, as there is no
// time to pour again.
func TestConfidenceOfSpoils(t *testing.T) {
	const chance = 0.1
	p := calm(t, 20, tight, func(p *schedule.Problem) { p.Designs[0].Spoil = chance })
	if len(p.Batches) != 1 {
		t.Fatalf("%d batches for 20 pieces", len(p.Batches))
	}
	n, sum := p.Batches[0].Pieces, 0.0
	for k := 0; n-k >= 20; k++ {
		ways := 1.0
		for i := range k {
			ways *= float64(n-i) / float64(i+1)
		}
		sum += ways * math.Pow(chance, float64(k)) * math.Pow(1-chance, float64(n-k))
	}
	near(t, "spoils", share(t, p), sum)
}

// TestConfidenceOfSlowCure has a batch that is in time only when it needs no day
// more than the minimum cure.
func TestConfidenceOfSlowCure(t *testing.T) {
	near(t, "no day to spare", share(t, calm(t, 20, tight, func(p *schedule.Problem) {
		p.Risks.SlowCure, p.Risks.SlowDays = 0.25, 1
	})), 0.75)
	near(t, "days to spare", share(t, calm(t, 20, 2*tight, func(p *schedule.Problem) {
		p.Risks.SlowCure, p.Risks.SlowDays = 0.25, 1
	})), 1)
}

// TestConfidenceIsTheSameAnywhere asks twice, and on one processor.
func TestConfidenceIsTheSameAnywhere(t *testing.T) {
	d := newDice(5)
	p := d.workshop()
	for i := range p.Orders {
		p.Orders[i].Accepted = true
	}
	p = publish(p, solved(t, "published", p))
	ask := func() []schedule.Outlook {
		out, err := schedule.Confidence(context.Background(), p, 200)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	first, again := ask(), ask()
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	if alone := ask(); !slices.Equal(first, again) || !slices.Equal(first, alone) {
		t.Errorf("different answers: %v, %v and %v", first, again, alone)
	}
}

func TestConfidenceRefuses(t *testing.T) {
	var fault *schedule.FieldError
	for _, n := range []int{0, -1, schedule.MostFutures + 1} {
		if _, err := schedule.Confidence(context.Background(), eveningShop(), n); !errors.As(err, &fault) || fault.Field != "futures" {
			t.Errorf("%d futures: %v", n, err)
		}
	}
	p := eveningShop()
	p.Risks.SlowCure = 2
	if _, err := schedule.Confidence(context.Background(), p, 10); !errors.As(err, &fault) || fault.Field != "risks.slow_cure" {
		t.Errorf("a chance of 2: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := schedule.Confidence(ctx, asking1(eveningShop(), 20, 60), 10); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
