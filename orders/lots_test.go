package orders_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// emptied is the shop's oil with nothing on the shelf and ten days to arrive.
func (s *shop) emptied() orders.Ingredient {
	s.t.Helper()
	oil, err := s.book.Ingredients.List(s.ctx, s.owner, orders.ListQuery{Text: "Oil for Oat", Limit: 200})
	s.must(err)
	for _, l := range s.lots(oil.Items[0].ID) {
		l.Left = 0
		_, err := s.book.Lots.Change(s.ctx, s.owner, l)
		s.must(err)
	}
	i, err := s.book.Ingredients.Get(s.ctx, s.owner, oil.Items[0].ID)
	s.must(err)
	i.LeadDays = 10
	i, err = s.book.Ingredients.Change(s.ctx, s.owner, i)
	s.must(err)
	return i
}

// lots lists an ingredient's lots with something left, last received first.
func (s *shop) lots(ingredient string) []orders.Lot {
	s.t.Helper()
	page, err := s.book.Lots.List(s.ctx, s.owner, orders.ListQuery{Parent: ingredient, Limit: 200})
	s.must(err)
	return page.Items
}

func (s *shop) lot(l orders.Lot) orders.Lot {
	s.t.Helper()
	l, err := s.book.Lots.Create(s.ctx, s.owner, l)
	s.must(err)
	return l
}

// lotCalled is an ingredient's lot of a code.
func (s *shop) lotCalled(ingredient, code string) orders.Lot {
	s.t.Helper()
	for _, l := range s.lots(ingredient) {
		if l.Code == code {
			return l
		}
	}
	s.t.Fatalf("no lot %s", code)
	return orders.Lot{}
}

// lotNow is the lot as it is stored.
func (s *shop) lotNow(id string) orders.Lot {
	s.t.Helper()
	l, err := s.book.Lots.Get(s.ctx, s.owner, id)
	s.must(err)
	return l
}

// toOrder is the one task to order an ingredient.
func (s *shop) toOrder(ingredient string, status orders.TaskStatus) orders.Task {
	s.t.Helper()
	for _, t := range s.tasks() {
		if t.Kind == orders.TaskSupplies && t.IngredientID == ingredient && t.Status == status {
			return t
		}
	}
	s.t.Fatalf("no task %s to order it among %+v", status, s.tasks())
	return orders.Task{}
}

func TestOrderByIsATaskUntilItIsOrdered(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	oil := s.emptied()
	if oil.OnHand != 0 || oil.Lots != 1 {
		t.Fatalf("emptied oil: %+v", oil)
	}
	s.take(s.wants(20, 75))
	b := s.batches(orders.BatchPlanned)[0]
	make := s.task(orders.TaskMake, b.ID)
	if make.Day.Before(s.today().AddDays(10)) {
		t.Errorf("poured on %s, before the oil can be there", make.Day)
	}
	task := s.toOrder(oil.ID, orders.TaskOpen)
	if task.Day != make.Day.AddDays(-10) || !task.AllDay || task.Title != "Order Oil for Oat and honey" || !contains(task.Detail, b.Lot) {
		t.Errorf("supplies task: %+v", task)
	}

	feed := s.feed(orders.FeedInput{Name: "To order", Kind: orders.FeedKind(orders.TaskSupplies)})
	inFeed := func(want orders.Task) {
		t.Helper()
		f, text := s.read(feed.Secret)
		if len(f.Events) != 1 || f.Events[0].UID != want.ID || f.Events[0].Sequence != want.Sequence || f.Events[0].From != want.Day || f.Events[0].Busy {
			t.Errorf("feed %+v, want %+v", f.Events, want)
		}
		if !contains(text, "SUMMARY:Order Oil for Oat and honey") || !contains(text, fmt.Sprintf("SEQUENCE:%d", want.Sequence)) {
			t.Errorf("feed %s", text)
		}
	}
	inFeed(task)
	_, err := s.book.Purchases.Create(s.ctx, s.owner, orders.Purchase{IngredientID: oil.ID, Quantity: 100 * calc.Gram, ArrivesOn: make.Day})
	s.must(err)
	inFeed(s.toOrder(oil.ID, orders.TaskOpen))
	less := s.toOrder(oil.ID, orders.TaskOpen)
	if less.ID != task.ID || less.Sequence != task.Sequence+1 || less.Detail == task.Detail {
		t.Errorf("with too little on order the task is %+v, was %+v", less, task)
	}
	coming, err := s.book.Purchases.Create(s.ctx, s.owner, orders.Purchase{IngredientID: oil.ID, Quantity: 40 * calc.Kilogram, Price: 90_00})
	s.must(err)
	if coming.OrderedOn != s.today() || coming.ArrivesOn != s.today().AddDays(10) {
		t.Errorf("a purchase that says no days: %+v", coming)
	}
	inFeed(s.toOrder(oil.ID, orders.TaskDone))
	if now := s.toOrder(oil.ID, orders.TaskDone); now.ID != task.ID || now.Sequence != task.Sequence+2 {
		t.Errorf("once on order the task is %+v", now)
	}
	s.sound(true)

	lot, err := s.book.Receive(s.ctx, s.owner, coming.ID, coming.Version, orders.Receipt{Code: "A-17", ExpiresOn: s.today().AddDays(400)})
	s.must(err)
	if lot.Received != 40*calc.Kilogram || lot.Left != lot.Received || lot.Price != 90_00 || lot.ReceivedOn != s.today() {
		t.Errorf("received %+v", lot)
	}
	_, err = s.book.Receive(s.ctx, s.owner, coming.ID, 0, orders.Receipt{})
	if !errors.Is(err, orders.ErrConflict) {
		t.Errorf("received twice: %v", err)
	}
	if _, err = s.book.Purchases.Change(s.ctx, s.owner, coming); !errors.Is(err, orders.ErrConflict) {
		t.Errorf("what was received is changed: %v", err)
	}
	s.must(s.book.Lots.Remove(s.ctx, s.owner, lot.ID, lot.Version))
	if p, err := s.book.Purchases.Get(s.ctx, s.owner, coming.ID); err != nil || p.LotID != "" {
		t.Errorf("once its lot is removed the purchase is %+v, %v; want it on order again", p, err)
	}
}

// TestWhatIsNoLongerLackingWasNotOrdered ends one of two orders: the shelf is
// enough for the other, and nothing came.
func TestWhatIsNoLongerLackingWasNotOrdered(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	oil := s.emptied()
	s.take(s.wants(20, 75))
	one, err := s.book.Supplies(s.ctx, s.owner)
	s.must(err)
	s.lot(orders.Lot{IngredientID: oil.ID, Code: "A-17", Received: one.Items[0].Needed})
	second, _ := s.take(s.wants(20, 76))
	task := s.toOrder(oil.ID, orders.TaskOpen)
	s.now = s.now.Add(time.Hour)
	_, change, err := s.book.EndOrder(s.ctx, s.owner, second.ID, 0)
	s.must(err)
	if len(change.Proposals) > 0 {
		_, err = s.book.TakeProposal(s.ctx, s.owner, change.Proposals[0].ID)
		s.must(err)
	}
	if now := s.tasks()[task.ID]; now.Status != orders.TaskCancelled {
		t.Errorf("nothing came, and the task is %s: %+v", now.Status, now)
	}
}

func TestSuppliesSayWhatIsNeededByWhen(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	oil := s.emptied()
	s.take(s.wants(20, 75))
	s.lot(orders.Lot{IngredientID: oil.ID, Code: "OLD", ReceivedOn: s.today().AddDays(-300), ExpiresOn: s.today().AddDays(-1), Received: calc.Kilogram})
	view, err := s.book.Supplies(s.ctx, s.owner)
	s.must(err)
	x := view.Items[0]
	b := s.batches(orders.BatchPlanned)[0]
	pour := civil.Of(b.Make.From.In(s.zone))
	if x.IngredientID != oil.ID || x.OnHand != 0 || x.Expired != calc.Kilogram || x.ShortOn != pour || x.OrderBy != pour.AddDays(-10) ||
		len(x.Needs) != 1 || x.Needs[0].BatchID != b.ID || x.Lacking != x.Needed || x.Needed < calc.Kilogram {
		t.Errorf("supplies %+v", x)
	}
}

func TestLotsAreChecked(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	oil := s.emptied()
	good := orders.Lot{IngredientID: oil.ID, Code: "A-17", Received: calc.Kilogram}
	for field, spoil := range map[string]func(*orders.Lot){
		"ingredient_id": func(l *orders.Lot) { l.IngredientID = "0190a0a0-0000-7000-8000-000000000000" },
		"received_mg":   func(l *orders.Lot) { l.Received = -1 },
		"left_mg":       func(l *orders.Lot) { l.Left = 2 * calc.Kilogram },
		"expires_on":    func(l *orders.Lot) { l.ReceivedOn, l.ExpiresOn = s.today().AddDays(-1), s.today().AddDays(-2) },
		"received_on":   func(l *orders.Lot) { l.ReceivedOn = s.today().AddDays(1) },
		"price_minor":   func(l *orders.Lot) { l.Price = -1 },
		"code":          func(l *orders.Lot) { l.Code = strings.Repeat("x", 61) },
		"note":          func(l *orders.Lot) { l.Note = strings.Repeat("x", 5000) },
	} {
		bad := good
		spoil(&bad)
		_, err := s.book.Lots.Create(s.ctx, s.owner, bad)
		invalidAt(t, err, field)
	}
	if got := s.lots(oil.ID); len(got) > 0 {
		t.Errorf("refused lots were stored: %+v", got)
	}
	for field, p := range map[string]orders.Purchase{
		"ingredient_id": {IngredientID: "17"},
		"quantity_mg":   {IngredientID: oil.ID, Quantity: -1},
		"arrives_on":    {IngredientID: oil.ID, ArrivesOn: s.today().AddDays(-1)},
		"ordered_on":    {IngredientID: oil.ID, OrderedOn: s.today().AddDays(1)},
		"price_minor":   {IngredientID: oil.ID, Price: -1},
	} {
		_, err := s.book.Purchases.Create(s.ctx, s.owner, p)
		invalidAt(t, err, field)
	}
	fresh := orders.Ingredient{Name: "Tallow", Kind: orders.KindOil, SVUsed: 200, ExpectedOn: s.today()}
	_, err := s.book.Ingredients.Create(s.ctx, s.owner, fresh)
	invalidAt(t, err, "expected_on")
	stale := oil
	stale.OnHand, stale.ExpectedOn, stale.LeadDays = calc.Kilogram, s.today(), 9
	got, err := s.book.Ingredients.Change(s.ctx, s.owner, stale)
	s.must(err)
	if got.OnHand != 0 || !got.ExpectedOn.IsZero() || got.Lots != oil.Lots || got.LeadDays != 9 {
		t.Errorf("stock was changed with the ingredient: %+v", got)
	}
}

// pouredOf is a batch poured of two lots of which the first to expire holds a
// kilogram, and the ids of the lots.
func (s *shop) pouredOf() (b orders.Batch, soon, later orders.Lot) {
	s.t.Helper()
	oil := s.emptied()
	later = s.lot(orders.Lot{IngredientID: oil.ID, Code: "LATER", Received: 30 * calc.Kilogram, ExpiresOn: s.today().AddDays(700)})
	soon = s.lot(orders.Lot{IngredientID: oil.ID, Code: "SOON", Received: calc.Kilogram, ExpiresOn: s.today().AddDays(60)})
	s.lot(orders.Lot{IngredientID: oil.ID, Code: "GONE", Received: calc.Kilogram, ReceivedOn: s.today().AddDays(-99), ExpiresOn: s.today().AddDays(-9)})
	s.take(s.wants(20, 75))
	b = s.batches(orders.BatchPlanned)[0]
	s.now = b.Make.To
	b, _, err := s.book.Pour(s.ctx, s.owner, b.ID, b.Version, orders.PourFact{})
	s.must(err)
	return b, soon, later
}

// oilOf is what the uses say of lots, without the lye.
func oilOf(b orders.Batch, lots ...orders.Lot) []calc.Mass {
	out := make([]calc.Mass, len(lots))
	for _, u := range b.Uses {
		for i, l := range lots {
			if u.LotID == l.ID {
				out[i] += u.Mass
			}
		}
	}
	return out
}

func TestPouringWritesLotsAndLowersStock(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b, soon, later := s.pouredOf()
	sheet, err := s.book.Sheet(s.ctx, s.owner, b.ID)
	s.must(err)
	used := oilOf(b, soon, later)
	if used[0] != calc.Kilogram || used[0]+used[1] != sheet.Weights.OilsMass {
		t.Fatalf("used %v of the lots, want a kilogram of the first and %s in all", used, sheet.Weights.OilsMass)
	}
	if left := s.lotNow(later.ID); left.Left != 30*calc.Kilogram-used[1] || left.Used != used[1] || s.lotNow(soon.ID).Left != 0 {
		t.Errorf("left %+v", left)
	}
	if err := s.book.Lots.Remove(s.ctx, s.owner, later.ID, 2); !errors.Is(err, orders.ErrConflict) {
		t.Errorf("a used lot is removed: %v", err)
	}
	full := s.lotNow(later.ID)
	full.Left = full.Received
	_, err = s.book.Lots.Change(s.ctx, s.owner, full)
	invalidAt(t, err, "left_mg")
	s.sound(true)
}

func TestLotsOfABatchAreCorrected(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b, soon, later := s.pouredOf()
	lye := b.Uses[len(b.Uses)-1] // of no lot
	if lye.LotID != "" || lye.Mass < 100*calc.Gram {
		t.Fatalf("uses %+v, want the lye last, of no lot", b.Uses)
	}
	say := func(uses ...orders.LotUse) (orders.Batch, error) {
		out, _, err := s.book.CorrectLots(s.ctx, s.owner, b.ID, 0, orders.LotsUsed{Uses: uses})
		return out, err
	}
	all := 30 * calc.Kilogram
	for field, uses := range map[string][]orders.LotUse{
		"lots_used[0].used_mg":       {{LotID: later.ID, Mass: all + 1}},
		"lots_used[1].used_mg":       {{LotID: later.ID, Mass: all}, {LotID: soon.ID, Mass: -1}},
		"lots_used[0].lot_id":        {{LotID: "17", Mass: 1}},
		"lots_used[0].ingredient_id": {{Mass: 1}},
		"lots_used[1].lot_id":        {{LotID: soon.ID, Mass: 1}, {LotID: soon.ID, Mass: 1}},
	} {
		_, err := say(uses...)
		invalidAt(t, err, field)
	}
	_, err := say(orders.LotUse{LotID: later.ID, Mass: all + 1})
	if err == nil || !contains(err.Error(), "at most 30000 g") {
		t.Errorf("too much of a lot: %v; want the most it can be", err)
	}
	_, err = say(orders.LotUse{LotID: soon.ID, IngredientID: lye.IngredientID, Mass: 1})
	invalidAt(t, err, "lots_used[0].lot_id")

	got, err := say(orders.LotUse{LotID: later.ID, Mass: all}, lye) // all that it held before the pour
	s.must(err)
	if used := oilOf(got, soon, later); used[0] != 0 || used[1] != all || s.lotNow(soon.ID).Left != calc.Kilogram || s.lotNow(later.ID).Left != 0 {
		t.Errorf("corrected to %v, left %+v and %+v", used, s.lotNow(soon.ID), s.lotNow(later.ID))
	}
	s.journalSays(b.ID, ", lot "+soon.Code+", ")
	got, err = say()
	s.must(err)
	s.journalSays(b.ID, fmt.Sprintf(", lot %s, %s; ", later.Code, all))
	s.journalSays(b.ID, "Now it is: nothing.")
	if len(got.Uses) != 0 || s.lotNow(later.ID).Left != all {
		t.Errorf("nothing used: %+v, left %+v", got.Uses, s.lotNow(later.ID))
	}
	stale := s.lotCalled(later.IngredientID, "GONE")
	got, change, err := s.book.CorrectLots(s.ctx, s.owner, b.ID, 0, orders.LotsUsed{Uses: []orders.LotUse{{LotID: soon.ID, Mass: 1}, {LotID: stale.ID, Mass: 1}}})
	s.must(err)
	if used := oilOf(got, stale); used[0] != 1 || len(change.Warnings) != 1 || !contains(change.Warnings[0], "lot GONE, was good until "+stale.ExpiresOn.String()) {
		t.Errorf("an expired lot: used %v, warnings %q", used, change.Warnings)
	}
	s.journalSays(b.ID, "had expired")
	viewer := s.owner
	viewer.Role = orders.Viewer
	if _, _, err := s.book.CorrectLots(s.ctx, viewer, b.ID, 0, orders.LotsUsed{}); !errors.Is(err, orders.ErrForbidden) {
		t.Errorf("a viewer corrects lots: %v", err)
	}
}

func TestAShortageIsSaidAndStopsNothing(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	oil := s.emptied()
	lot := s.lot(orders.Lot{IngredientID: oil.ID, Received: 100 * calc.Gram})
	s.take(s.wants(20, 75))
	b := s.batches(orders.BatchPlanned)[0]
	if _, _, err := s.book.CorrectLots(s.ctx, s.owner, b.ID, 0, orders.LotsUsed{}); !errors.Is(err, orders.ErrConflict) {
		t.Errorf("lots of a planned batch: %v", err)
	}
	s.now = b.Make.To
	b, change, err := s.book.Pour(s.ctx, s.owner, b.ID, b.Version, orders.PourFact{})
	s.must(err)
	if used := oilOf(b, lot); used[0] != 100*calc.Gram || b.Uses[1].LotID != "" || b.Uses[1].IngredientID != oil.ID {
		t.Errorf("uses %+v, want the lot and the rest of none", b.Uses)
	}
	page, err := s.book.Journal(s.ctx, s.owner, orders.ListQuery{Parent: b.ID})
	s.must(err)
	if text := fmt.Sprint(page.Items); !contains(text, "No lot on record covers") || !contains(text, oil.Name) || contains(text, "Sodium") || len(change.Warnings) != 1 {
		t.Errorf("the journal says %s", text)
	}
}
