package orders

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// Supply is one ingredient against what the published plan needs of it.
type Supply struct {
	IngredientID string         `json:"ingredient_id"`
	Name         string         `json:"name"`
	Kind         IngredientKind `json:"kind"`
	LeadDays     int            `json:"lead_days"`
	OnHand       calc.Mass      `json:"on_hand_mg"` // not expired today
	Expired      calc.Mass      `json:"expired_mg"` // on the shelf, but not to be used
	OnOrder      calc.Mass      `json:"on_order_mg"`
	Needed       calc.Mass      `json:"needed_mg"`  // by the planned batches together
	Lacking      calc.Mass      `json:"lacking_mg"` // of that, neither on the shelf nor on order in time
	ShortOn      civil.Date     `json:"short_on"`   // the pour that is the first to lack some; zero when none does
	OrderBy      civil.Date     `json:"order_by"`   // ShortOn less the lead time
	Needs        []SupplyNeed   `json:"needs"`      // by pour
	Lots         []Lot          `json:"lots"`       // with something left, as they are used up
	Purchases    []Purchase     `json:"purchases"`  // on order, first to arrive first
	Kept         bool           `json:"kept"`       // lots of it are recorded, or it is on order
}

// SupplyNeed is what one planned batch needs of an ingredient.
type SupplyNeed struct {
	BatchID string     `json:"batch_id"`
	Lot     string     `json:"lot"`
	Day     civil.Date `json:"day"` // of the pour
	Mass    calc.Mass  `json:"need_mg"`
	Lacks   calc.Mass  `json:"lacking_mg"`
}

// SuppliesView is every ingredient in use, those to be ordered first.
type SuppliesView struct {
	Today civil.Date `json:"today"`
	Items []Supply   `json:"items"`
	// Unknown are designs of planned batches whose recipes can not be worked
	// out: what they need is missing here.
	Unknown []string `json:"unknown"`
}

// Supplies says what the published plan needs of each ingredient by when, and
// what has to be ordered by when.
func (b *Book) Supplies(ctx context.Context, a Actor) (SuppliesView, error) {
	return read(ctx, b, a, func(tx Tx) (SuppliesView, error) {
		snap, err := tx.Snapshot(ctx)
		if err != nil {
			return SuppliesView{}, err
		}
		zone, err := snap.Workshop.location()
		if err != nil {
			return SuppliesView{}, err
		}
		v := SuppliesView{Today: civil.Of(b.now().In(zone))}
		snap.pourLate(b.now())
		v.Items, v.Unknown = snap.supplies(zone)
		for i := range v.Items {
			v.Items[i].stand(v.Today)
		}
		slices.SortStableFunc(v.Items, func(a, b Supply) int {
			switch {
			case a.ShortOn.IsZero() == b.ShortOn.IsZero():
				return a.OrderBy.Compare(b.OrderBy)
			case a.ShortOn.IsZero():
				return 1
			}
			return -1
		})
		return v, nil
	})
}

// stand adds up what is there on a day.
func (s *Supply) stand(today civil.Date) {
	for _, l := range s.Lots {
		if l.Expired(today) {
			s.Expired += l.Left
		} else {
			s.OnHand += l.Left
		}
	}
	for _, p := range s.Purchases {
		s.OnOrder += p.Quantity
	}
}

// supplies goes through the planned batches by pour and takes what each needs
// of the shelf and of what will have arrived. Ingredients come by name; unknown
// are the designs that can not be worked out.
func (s *Snapshot) supplies(zone *time.Location) (out []Supply, unknown []string) {
	needs, all := make(map[string][]SupplyNeed), s.workings()
	for _, b := range s.plannedByPour() {
		of, err := all.needsOf(b)
		if err != nil {
			d, _ := find(s.Designs, b.DesignID, func(d Design) string { return d.ID })
			unknown = append(unknown, d.Name)
			continue
		}
		for _, n := range of {
			if n.mass > 0 {
				id := n.ingredient.ID
				needs[id] = append(needs[id], SupplyNeed{BatchID: b.ID, Lot: b.Lot, Day: civil.Of(b.Make.From.In(zone)), Mass: n.mass})
			}
		}
	}
	pantry := s.pantry()
	for _, i := range s.Ingredients {
		if x := pantry[i.ID].against(i, needs[i.ID]); len(x.Needs) > 0 || x.Kept && !i.Retired {
			out = append(out, x)
		}
	}
	slices.SortFunc(out, func(a, b Supply) int {
		return cmp.Or(strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)), strings.Compare(a.IngredientID, b.IngredientID))
	})
	slices.Sort(unknown)
	return out, slices.Compact(unknown)
}

// pourLate puts pours that should have begun to now: what has expired since does not
// serve them, and what has come since does.
func (s *Snapshot) pourLate(now time.Time) {
	for i := range s.Batches {
		if b := &s.Batches[i]; b.State == BatchPlanned && b.Make.From.Before(now) {
			b.Make.From = now
		}
	}
}

func (s *Snapshot) plannedByPour() []Batch {
	planned := slices.DeleteFunc(slices.Clone(s.Batches), func(b Batch) bool { return b.State != BatchPlanned })
	slices.SortFunc(planned, func(a, b Batch) int {
		return cmp.Or(a.Make.From.Compare(b.Make.From), strings.Compare(a.ID, b.ID))
	})
	return planned
}

// against is one ingredient against its needs, which come by pour.
func (l *larder) against(i Ingredient, needs []SupplyNeed) Supply {
	x := Supply{
		IngredientID: i.ID, Name: i.Name, Kind: i.Kind, LeadDays: i.LeadDays, Needs: needs,
		Lots: slices.Clone(l.lots), Purchases: slices.Clone(l.coming), Kept: i.Lots > 0 || len(l.coming) > 0,
	}
	for n := range x.Needs {
		need := &x.Needs[n]
		need.Lacks = l.take(need.Mass, need.Day)
		x.Needed += need.Mass
		x.Lacking += need.Lacks
		if need.Lacks > 0 && x.ShortOn.IsZero() {
			x.ShortOn, x.OrderBy = need.Day, need.Day.AddDays(-i.LeadDays)
		}
	}
	return x
}

// toBuy writes a weight to buy in the workshop's unit, rounded up to the gram or to
// the tenth of an ounce: rounded down it would still be too little.
func (w Workshop) toBuy(m calc.Mass) string {
	if w.imperial() {
		return fmt.Sprintf("%.1f oz", math.Ceil(float64(m)*10/ounce)/10)
	}
	return fmt.Sprintf("%d g", (m+calc.Gram-1)/calc.Gram)
}

// lackText says how much is lacking, for what and how long it takes to come.
func (s *Supply) lackText(w Workshop) string {
	var first SupplyNeed
	batches := 0
	for _, n := range s.Needs {
		if n.Lacks == 0 {
			continue
		}
		if batches++; batches == 1 {
			first = n
		}
	}
	text := fmt.Sprintf("%s, first for %s on %s", w.toBuy(s.Lacking), first.Lot, civil.StartOfDay(first.Day, time.UTC).Format("Mon 2 Jan"))
	if batches > 1 {
		text += ", for " + count(batches, "batch") + " in all"
	}
	return text + "; " + count(s.LeadDays, "day") + " to arrive."
}
