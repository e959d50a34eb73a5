package orders_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// certified is a fragrance whose certificate allows max of the finished bar.
func (s *shop) certified(name string, max calc.PPM) orders.Ingredient {
	s.t.Helper()
	return s.fragrance(orders.Ingredient{Name: name, Fragrance: orders.Fragrance{
		Limit: calc.LimitMax, Max: max, Reference: "sheet of " + name, Dated: civil.Date{Year: 2026, Month: 3, Day: 1}, Behaviour: orders.Steady,
	}})
}

func (s *shop) fragrance(i orders.Ingredient) orders.Ingredient {
	s.t.Helper()
	i.Kind, i.OnHand = orders.KindFragrance, calc.Kilogram
	i, err := s.book.Ingredients.Create(s.ctx, s.owner, i)
	s.must(err)
	return i
}

// scented is a design whose recipe holds the fragrances at these shares of the
// oils; the error is that of the recipe.
func (s *shop) scented(lot string, shares map[string]calc.PPM, order ...string) (orders.Recipe, error) {
	s.t.Helper()
	var out orders.Recipe
	var refused error
	base, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	base.Name, base.CureLoss = lot, 12*calc.Percent
	for _, id := range order {
		base.Parts = append(base.Parts, orders.RecipePart{IngredientID: id, Share: shares[id]})
	}
	out, refused = s.book.Recipes.Create(s.ctx, s.owner, base)
	return out, refused
}

func (s *shop) designOf(r orders.Recipe, lot string) (orders.Design, error) {
	s.t.Helper()
	d := s.design
	d.RecipeID, d.Name, d.LotCode = r.ID, r.Name, lot
	return s.book.Designs.Create(s.ctx, s.owner, d)
}

// fieldsOf is the messages of an Invalid by field.
func fieldsOf(t testing.TB, err error) map[string]string {
	t.Helper()
	var invalid *orders.Invalid
	if !errors.As(err, &invalid) {
		t.Fatalf("got %v, want complaints at fields", err)
	}
	out := map[string]string{}
	for _, f := range invalid.Fields {
		out[f.Field] = f.Message
	}
	return out
}

// TestFragranceOverItsLimitIsRefusedWithTheLargestSafeShare takes the share
// that the refusal names: it is accepted, and a ten-thousandth of a percent more is not.
func TestFragranceOverItsLimitIsRefusedWithTheLargestSafeShare(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	rose := s.certified("Sea rose", 3*calc.Percent)
	_, err := s.scented("ROS", map[string]calc.PPM{rose.ID: 6 * calc.Percent}, rose.ID)
	message := fieldsOf(t, err)["parts[1].share_ppm"]
	if !strings.Contains(message, "its largest safe share is 3 %") {
		t.Fatalf("refused with %q", message)
	}
	_, rest, ok := strings.Cut(message, "at most ")
	number, _, _ := strings.Cut(rest, " %")
	most, err := calc.ParsePercent("share", number)
	if !ok || err != nil || most <= 3*calc.Percent {
		t.Fatalf("%q names no share to use: %v", message, err)
	}
	if _, err = s.scented("ROS", map[string]calc.PPM{rose.ID: most + 1}, rose.ID); err == nil {
		t.Errorf("%s of the oils is taken, though %s was the most", most+1, most)
	}
	r, err := s.scented("ROS", map[string]calc.PPM{rose.ID: most}, rose.ID)
	s.must(err)
	f, err := s.book.RecipeFragrance(s.ctx, s.owner, r.ID)
	s.must(err)
	if !*f.Safe || f.Cured > 3*calc.Percent || f.Cured < 3*calc.Percent-2 || *f.MaxUse != 3*calc.Percent || *f.Parts[0].Most != most {
		t.Errorf("at its most the recipe stands at %+v", f)
	}
}

// TestBlendIsHeldTogether has two fragrances that each keep their own limit.
func TestBlendIsHeldTogether(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	a, b := s.certified("Sea rose", 4*calc.Percent), s.certified("Dune grass", 10*calc.Percent)
	for _, alone := range []orders.Ingredient{a, b} {
		_, err := s.scented("ONE", map[string]calc.PPM{alone.ID: 4 * calc.Percent}, alone.ID)
		s.must(err)
	}
	_, err := s.scented("TWO", map[string]calc.PPM{a.ID: 4 * calc.Percent, b.ID: 4 * calc.Percent}, a.ID, b.ID)
	got := fieldsOf(t, err)
	for _, field := range []string{"parts[1].share_ppm", "parts[2].share_ppm"} {
		if !strings.Contains(got[field], "the fragrances together make") || !strings.Contains(got[field], "the largest safe share is 5.7142 % for the whole blend") {
			t.Errorf("%s: %q, want both against 1/(0.5/4 + 0.5/10) = 5.7142... %%", field, got[field])
		}
	}
}

// TestRefusedBlendSaysWhatIsSafe takes each figure of a refusal at its word: the
// shares lowered together, and each alone with the other as it was.
func TestRefusedBlendSaysWhatIsSafe(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	a, b := s.certified("Sea rose", 4*calc.Percent), s.certified("Dune grass", 10*calc.Percent)
	asked := map[string]calc.PPM{a.ID: 63 * calc.Percent / 10, b.ID: 27 * calc.Percent / 10} // 70 to 30
	_, err := s.scented("TWO", asked, a.ID, b.ID)
	got := fieldsOf(t, err)
	first, second := got["parts[1].share_ppm"], got["parts[2].share_ppm"]
	for _, text := range []string{first, second} {
		if !strings.Contains(text, "the largest safe share is 4.878 % for the whole blend, its proportions kept") {
			t.Errorf("%q does not hold the blend against 1/(0.7/4 + 0.3/10) = 4.878 %%", text)
		}
	}
	figure := func(text, before string) calc.PPM {
		t.Helper()
		_, rest, _ := strings.Cut(text, before)
		number, _, ok := strings.Cut(rest, " %")
		share, err := calc.ParsePercent("share", number)
		if !ok || err != nil {
			t.Fatalf("%q has no figure after %q: %v", text, before, err)
		}
		return share
	}
	together := map[string]calc.PPM{a.ID: figure(first, "Use at most "), b.ID: figure(second, "Use at most ")}
	if sum := figure(first, "lowered together, to "); sum != together[a.ID]+together[b.ID] || sum != figure(second, "lowered together, to ") {
		t.Errorf("%v add up to %s", together, sum)
	}
	alone := figure(first, "or at most ")
	if !strings.Contains(second, "lowering only this one is not enough") {
		t.Errorf("%q, though the first alone is over the limit", second)
	}
	r, err := s.scented("TWO", together, a.ID, b.ID)
	s.must(err)
	if f, err := s.book.RecipeFragrance(s.ctx, s.owner, r.ID); err != nil || f.Safe == nil || !*f.Safe || *f.MaxUse != 48_780 || f.Cured > *f.MaxUse || f.Cured < *f.MaxUse-3 {
		t.Errorf("lowered together it stands at %+v, %v", f, err)
	}
	_, err = s.scented("ONE", map[string]calc.PPM{a.ID: alone, b.ID: asked[b.ID]}, a.ID, b.ID)
	s.must(err)
	if _, err = s.scented("ONE", map[string]calc.PPM{a.ID: alone + 1, b.ID: asked[b.ID]}, a.ID, b.ID); err == nil {
		t.Errorf("%s is taken beside the other, though %s was the most", alone+1, alone)
	}
}

func TestForbiddenFragranceIsRefused(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	bad := s.fragrance(orders.Ingredient{Name: "Old musk", Fragrance: orders.Fragrance{
		Limit: calc.NotPermitted, Reference: "sheet 9", Dated: civil.Date{Year: 2026, Month: 3, Day: 1},
	}})
	_, err := s.scented("MUS", map[string]calc.PPM{bad.ID: 1}, bad.ID)
	if got := fieldsOf(t, err)["parts[1].ingredient_id"]; !strings.Contains(got, "largest safe share is 0 %") {
		t.Errorf("refused with %q", got)
	}
}

// TestTightenedCertificateEndsPlanning is a design that was fine, was planned and
// partly poured, and whose certificate is then tightened.
func TestTightenedCertificateEndsPlanning(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	rose := s.certified("Sea rose", 3*calc.Percent)
	r, err := s.scented("ROS", map[string]calc.PPM{rose.ID: 3 * calc.Percent}, rose.ID)
	s.must(err)
	s.design, err = s.designOf(r, "ROS")
	s.must(err)
	s.take(s.wants(20, 60))
	running := s.batches(orders.BatchPlanned)[0]
	s.now = running.Make.To
	running, _, err = s.book.Pour(s.ctx, s.owner, running.ID, 0, orders.PourFact{})
	s.must(err)
	later, _ := s.take(s.wants(20, 90))
	enquiry, _, err := s.book.TakeOrder(s.ctx, s.owner, s.wants(10, 90), false)
	s.must(err)
	if len(s.batches(orders.BatchPlanned)) == 0 {
		t.Fatal("the second order planned nothing")
	}

	rose.Fragrance.Max = calc.Percent
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, rose)
	s.must(err)

	const most = "largest safe share is 1 %"
	answer, err := s.book.Promise(s.ctx, s.owner, orders.Question{NeededBy: s.today().AddDays(90), Lines: []orders.OrderLine{{DesignID: s.design.ID, Pieces: 30}}})
	s.must(err)
	if answer.Verdict != schedule.No || !strings.Contains(reasonsText(answer.Reasons), most) {
		t.Errorf("the promise answers %s: %s", answer.Verdict, reasonsText(answer.Reasons))
	}
	if left := s.batches(orders.BatchPlanned); len(left) != 0 {
		t.Errorf("%s is still planned", left[0].Lot)
	}
	if poured := s.batches(orders.BatchPoured); len(poured) != 1 || poured[0].ID != running.ID {
		t.Errorf("the running batch became %+v", poured)
	}
	if text := reasonsText(s.plan().Revision.Problems); !strings.Contains(text, most) {
		t.Errorf("the plan says %q", text)
	}
	lacks := slices.IndexFunc(s.plan().Revision.Problems, func(r schedule.Reason) bool { return r.OrderID == later.ID })
	if lacks < 0 || s.plan().Revision.Problems[lacks].Kind != schedule.HoldBlocked ||
		!strings.Contains(s.plan().Revision.Problems[lacks].Text, "Change that in the recipe ROS") {
		t.Errorf("of the order that was planned the plan says %+v", s.plan().Revision.Problems)
	}
	_, _, err = s.book.TakeOrder(s.ctx, s.owner, s.wants(5, 90), true)
	if got := fieldsOf(t, err)["lines[0].design_id"]; !strings.Contains(got, most) {
		t.Errorf("a new order is refused with %q", got)
	}
	if _, _, err = s.book.AcceptOrder(s.ctx, s.owner, enquiry.ID, 0); !errors.Is(err, orders.ErrConflict) || !strings.Contains(err.Error(), most) {
		t.Errorf("accepting gives %v", err)
	}
	in := s.wants(21, 90)
	in.Lines[0].ID = later.Lines[0].ID
	if _, _, err = s.book.ChangeOrder(s.ctx, s.owner, later.ID, 0, in); err != nil {
		t.Errorf("an order promised before can not be changed: %v", err)
	}
	if _, err = s.designOf(r, "ROT"); !strings.Contains(fieldsOf(t, err)["recipe_id"], most) {
		t.Errorf("a new design of it gives %v", err)
	}
	s.design.Dressing = "petals"
	_, err = s.book.Designs.Change(s.ctx, s.owner, s.design)
	s.must(err) // what is no longer poured can still be described
	for _, sale := range []func() (orders.SaleCheck, error){
		func() (orders.SaleCheck, error) { return s.book.BatchSale(s.ctx, s.owner, running.ID) },
		func() (orders.SaleCheck, error) { return s.book.OrderSale(s.ctx, s.owner, later.ID) },
	} {
		got, err := sale()
		if err != nil || len(got.Flags) != 1 || !strings.Contains(got.Flags[0], "not for sale") {
			t.Errorf("the sale check says %v, %v", got, err)
		}
	}
}

func reasonsText(all []schedule.Reason) string {
	texts := make([]string, len(all))
	for i, r := range all {
		texts[i] = r.Text
	}
	return strings.Join(texts, " ")
}

// TestMissingCertificateIsPlannedAndFlagged brings an order of it to the door.
func TestMissingCertificateIsPlannedAndFlagged(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	myrtle := s.fragrance(orders.Ingredient{Name: "Bog myrtle", Fragrance: orders.Fragrance{Behaviour: orders.Steady}})
	r, err := s.scented("MYR", map[string]calc.PPM{myrtle.ID: 3 * calc.Percent}, myrtle.ID)
	s.must(err)
	s.design, err = s.designOf(r, "MYR")
	s.must(err)
	o, _ := s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	flagged := func(what string, got []string, err error) {
		t.Helper()
		if err != nil || len(got) != 1 || !strings.Contains(got[0], "Bog myrtle has no certificate on file") {
			t.Errorf("%s: %q, %v", what, got, err)
		}
	}
	sale, err := s.book.BatchSale(s.ctx, s.owner, b.ID)
	flagged("batch", sale.Flags, err)
	label, err := s.book.BatchLabel(s.ctx, s.owner, b.ID, orders.LabelQuestion{})
	flagged("label", label.SaleFlags, err)
	sale, err = s.book.OrderSale(s.ctx, s.owner, o.ID)
	flagged("order", sale.Flags, err)
	s.life(b)
	_, change, err := s.book.HandOver(s.ctx, s.owner, o.ID, 0, orders.HandOverFact{})
	flagged("answer", change.Warnings, err)
	journal, err := s.book.Journal(s.ctx, s.owner, orders.ListQuery{Parent: o.ID})
	s.must(err)
	var said []string
	for _, e := range journal.Items {
		if e.Action == "order.flagged" {
			said = append(said, e.Text)
		}
	}
	flagged("hand-over", said, nil)
}

// life pours, cuts and wraps a batch at its planned times.
func (s *shop) life(b orders.Batch) {
	s.t.Helper()
	var err error
	s.now = b.Make.To
	b, _, err = s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	s.now = b.Cut.To
	b, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	s.now = b.Wrap.To
	_, _, err = s.book.Wrap(s.ctx, s.owner, b.ID, 0, orders.WrapFact{})
	s.must(err)
}

func TestBadCertificatesNameTheirFields(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	dated := civil.Date{Year: 2026, Month: 3, Day: 1}
	for name, c := range map[string]struct {
		kind  orders.IngredientKind
		in    orders.Fragrance
		field string
	}{
		"limit of nothing":         {orders.KindFragrance, orders.Fragrance{Limit: calc.LimitMax, Reference: "x", Dated: dated}, "fragrance.max_ppm"},
		"limit above all":          {orders.KindFragrance, orders.Fragrance{Limit: calc.LimitMax, Max: calc.Whole + 1, Reference: "x", Dated: dated}, "fragrance.max_ppm"},
		"negative limit":           {orders.KindFragrance, orders.Fragrance{Limit: calc.LimitMax, Max: -1, Reference: "x", Dated: dated}, "fragrance.max_ppm"},
		"limit without a limit":    {orders.KindFragrance, orders.Fragrance{Limit: calc.NoLimit, Max: 1, Reference: "x", Dated: dated}, "fragrance.max_ppm"},
		"unknown word":             {orders.KindFragrance, orders.Fragrance{Limit: "some"}, "fragrance.limit"},
		"no reference":             {orders.KindFragrance, orders.Fragrance{Limit: calc.NoLimit, Dated: dated}, "fragrance.reference"},
		"no date":                  {orders.KindFragrance, orders.Fragrance{Limit: calc.NoLimit, Reference: "x"}, "fragrance.dated"},
		"dated ahead":              {orders.KindFragrance, orders.Fragrance{Limit: calc.NoLimit, Reference: "x", Dated: s.today().AddDays(1)}, "fragrance.dated"},
		"reference of no sheet":    {orders.KindFragrance, orders.Fragrance{Reference: "x"}, "fragrance.limit"},
		"behaviour":                {orders.KindFragrance, orders.Fragrance{Behaviour: "wild"}, "fragrance.behaviour"},
		"vanillin":                 {orders.KindFragrance, orders.Fragrance{VanillinShare: -1}, "fragrance.vanillin_ppm"},
		"allergen without a name":  {orders.KindFragrance, orders.Fragrance{Allergens: []orders.Allergen{{Share: 1}}}, "fragrance.allergens[0].name"},
		"allergen of nothing":      {orders.KindFragrance, orders.Fragrance{Allergens: []orders.Allergen{{Name: "Linalool"}}}, "fragrance.allergens[0].share_ppm"},
		"allergen twice":           {orders.KindFragrance, orders.Fragrance{Allergens: []orders.Allergen{{"Linalool", 1}, {" linalool", 1}}}, "fragrance.allergens[1].name"},
		"more than the fragrance":  {orders.KindFragrance, orders.Fragrance{Allergens: []orders.Allergen{{"A", calc.Whole}, {"B", 1}}}, "fragrance.allergens"},
		"certificate of a colour":  {orders.KindColour, orders.Fragrance{Limit: calc.NoLimit, Reference: "x", Dated: dated}, "fragrance.limit"},
		"more allergens than kept": {orders.KindFragrance, orders.Fragrance{Allergens: make([]orders.Allergen, 101)}, "fragrance.allergens"},
	} {
		_, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: name, Kind: c.kind, Fragrance: c.in})
		if got := fieldsOf(t, err); got[c.field] == "" {
			t.Errorf("%s: complaints at %v, want one at %s", name, got, c.field)
		}
	}
}

// TestNothingIsSafeBeforeItsCertificate: of a fragrance without one it is not known
// how much is safe, neither of one that can not be worked out.
func TestNothingIsSafeBeforeItsCertificate(t *testing.T) {
	t.Parallel()
	oil := orders.Ingredient{Meta: orders.Meta{ID: "oil"}, Name: "Oil", Kind: orders.KindOil, SVUsed: 190, Density: 0.91}
	rose := orders.Ingredient{Meta: orders.Meta{ID: "rose"}, Name: "Sea rose", Kind: orders.KindFragrance}
	r := orders.Recipe{
		Parts:    []orders.RecipePart{{IngredientID: "oil", Share: calc.Whole}, {IngredientID: "rose", Share: 2 * calc.Percent}},
		Superfat: 5 * calc.Percent, LyePurity: calc.Whole, LyeConcentration: 33 * calc.Percent,
	}
	f := orders.FragranceOf(r, []orders.Ingredient{oil, rose})
	if f.Trouble != "" || f.Safe != nil || f.MaxUse != nil || f.Refusal != "" || len(f.Missing) != 1 {
		t.Errorf("without a certificate: %+v", f)
	}
	rose.Fragrance = orders.Fragrance{Limit: calc.NoLimit}
	if f = orders.FragranceOf(r, []orders.Ingredient{oil, rose}); f.Safe == nil || !*f.Safe || f.MaxUse == nil || *f.MaxUse != calc.Whole {
		t.Errorf("with a certificate that sets no limit: %+v", f)
	}
	if f = orders.FragranceOf(r, nil); f.Trouble == "" || f.Safe != nil || f.MaxUse != nil {
		t.Errorf("of nothing on record: %+v", f)
	}
}
