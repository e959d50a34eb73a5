package schedule

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"ripeline/schedule/solve"
)

// Outlook is how often an order is met in imagined futures.
type Outlook struct {
	OrderID string `json:"order_id"`
	Met     int    `json:"met"` // futures in which all of it is wrapped by its deadline
	Futures int    `json:"futures"`
	// Share is Met in Futures, and StdErr its standard error: the square root of
	// q(1-q)/(Futures+4), where q is (Met+2)/(Futures+4), so that it is not
	// nothing where all futures agree (Agresti and Coull 1998).
	Share  float64 `json:"share"`
	StdErr float64 `json:"std_err"`
}

// Limits and default of the futures that Confidence imagines.
const (
	DefaultFutures = 1000
	MostFutures    = 100_000
)

// Confidence imagines futures and counts in how many each accepted order is met.
// In each one batches fail, spoil pieces and cure slowly, and supplies come late,
// by the chances of Design.FailRate, Design.Spoil and Problem.Risks, each
// independent of the others. After each mishap the maker acts as the planner
// would: pieces of a design go to the earliest dates, and what is lacking then is
// poured again beside the plan, which else stands; a remake may fail as well. A batch
// that is put off and finds no place beside the others counts as lost.
//
// Futures are drawn from Problem.Seed; each has its own dice, so that the answer
// does not depend on the machine. The outlooks are by order id.
func Confidence(ctx context.Context, p *Problem, futures int) ([]Outlook, error) {
	if futures < 1 || futures > MostFutures {
		return nil, &FieldError{"futures", fmt.Sprintf("use 1 to %d", MostFutures)}
	}
	pl, err := newPlanner(p)
	if err != nil {
		return nil, err
	}
	stands, _, err := pl.standing(ctx)
	if err != nil {
		return nil, err
	}
	f := newForecast(pl, stands)
	met, err := f.count(ctx, futures)
	if err != nil {
		return nil, err
	}
	out := make([]Outlook, 0, len(f.orders))
	for i, o := range f.orders {
		out = append(out, outlook(o.ID, met[i], futures))
	}
	slices.SortFunc(out, func(a, b Outlook) int { return cmp.Compare(a.OrderID, b.OrderID) })
	return out, nil
}

func outlook(orderID string, met, futures int) Outlook {
	n := float64(futures + 4)
	q := float64(met+2) / n
	return Outlook{OrderID: orderID, Met: met, Futures: futures, Share: float64(met) / float64(futures), StdErr: math.Sqrt(q * (1 - q) / n)}
}

// forecast is what all futures begin with.
type forecast struct {
	planner *planner
	stands  *draft
	risks   Risks
	orders  []*Order // accepted
	goods   []goods  // by Problem.Designs
	batches []begun
}

// goods is what there is of one design, and who wants it.
type goods struct {
	design *Design
	wanted []want // by deadline
	stock  int
	missed []int // orders that are missed when nothing happens, as indices of forecast.orders
}

// want is what one order asks for of a design.
type want struct {
	order  int
	pieces int
	by     solve.Time // the last moment in time, exclusive
}

// begun is a batch of the plan.
type begun struct {
	goods int
	lot   *lot
	job   *solve.Job
	place *solve.Placement
	sound int
}

func newForecast(pl *planner, stands *draft) *forecast {
	f := &forecast{planner: pl, stands: stands, risks: pl.problem.Risks.orDefault()}
	at := map[string]int{}
	for i := range pl.problem.Designs {
		d := &pl.problem.Designs[i]
		at[d.ID] = i
		f.goods = append(f.goods, goods{design: d})
	}
	for _, s := range pl.problem.Stock {
		f.goods[at[s.DesignID]].stock += s.Pieces
	}
	for _, c := range pl.claims(policy{}) {
		if n := len(f.orders); n == 0 || f.orders[n-1] != c.order {
			f.orders = append(f.orders, c.order)
		}
		g := &f.goods[at[c.line.DesignID]]
		g.wanted = append(g.wanted, want{len(f.orders) - 1, c.line.Pieces, pl.tl.dayStart(c.deadline.AddDays(1))})
	}
	for _, l := range stands.model.lots {
		if place := stands.schedule.Jobs[l.job]; place != nil {
			f.batches = append(f.batches, begun{at[l.design.ID], l, &stands.model.core.Jobs[l.job], place, l.sound(place)})
		}
	}
	slices.SortFunc(f.batches, func(a, b begun) int { return cmp.Compare(a.lot.key, b.lot.key) })
	calm := f.imagine(nil, nil)
	for i := range f.goods {
		f.goods[i].missed = calm.missed(i)
	}
	return f
}

// count runs the futures, as many at once as there are processors, and adds up
// by order in how many each is met.
func (f *forecast) count(ctx context.Context, futures int) ([]int, error) {
	workers := min(futures, runtime.GOMAXPROCS(0))
	sums := make([][]int, workers)
	group, ctx := errgroup.WithContext(ctx)
	for w := range workers {
		sums[w] = make([]int, len(f.orders))
		sizers := f.planner.ownSizers()
		group.Go(func() (err error) {
			defer caught(&err)
			for i := w; i < futures; i += workers {
				if err := ctx.Err(); err != nil {
					return err
				}
				f.run(f.imagine(rand.New(rand.NewPCG(f.planner.problem.Seed, uint64(i))), sizers), sums[w])
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	for _, more := range sums[1:] {
		for i, n := range more {
			sums[0][i] += n
		}
	}
	return sums[0], nil
}

// run plays one future and counts the orders that are met in it.
func (f *forecast) run(u *future, met []int) {
	u.play()
	missed := make([]bool, len(met))
	for i := range f.goods {
		late := f.goods[i].missed
		if u.touched[i] {
			late = u.missed(i)
		}
		for _, o := range late {
			missed[o] = true
		}
	}
	for i := range met {
		if !missed[i] {
			met[i]++
		}
	}
}
