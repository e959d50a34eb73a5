package postgres_test

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/google/uuid"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// world is a workshop with at least one row in every table, and every field
// of every record set.
type world struct {
	ID         string
	Workshop   orders.Workshop
	Owner      orders.Person
	Mold       orders.Mold
	Ingredient orders.Ingredient
	Lot        orders.Lot
	Purchase   orders.Purchase
	Recipe     orders.Recipe
	Trial      orders.Trial
	Design     orders.Design
	Customer   orders.Customer
	Order      orders.Order
	Batch      orders.Batch
	Stock      orders.Stock
	Token      orders.APIToken
	Feed       orders.Feed
	Rule       orders.ReminderRule
	Task       orders.Task
	Proposal   orders.Proposal
	Revision   orders.PlanRevision
}

// newWorld fills a workshop called name.
func newWorld(t testing.TB, s *postgres.Store, name string) *world {
	t.Helper()
	w := &world{Workshop: sampleWorkshop(name), Owner: samplePerson(name)}
	system(t, s, func(tx orders.SystemTx) error {
		return tx.CreateWorkshop(t.Context(), &w.Workshop, &w.Owner, func(orders.Tx) error { return nil })
	})
	w.ID = w.Workshop.ID
	write(t, s, w.ID, func(tx orders.Tx) error {
		for _, step := range []func(testing.TB, orders.Tx) error{w.addPlace, w.addGoods, w.addOrders, w.addKeys, w.addPlan} {
			if err := step(t, tx); err != nil {
				return err
			}
		}
		return tx.Remember(t.Context(), "key", []byte("request"), []byte("{}"))
	})
	system(t, s, func(tx orders.SystemTx) error {
		return tx.AddDeliveries(t.Context(), w.ID, []orders.Delivery{sampleDelivery(w.Owner.ID, 3)})
	})
	return w
}

func (w *world) addPlace(t testing.TB, tx orders.Tx) error {
	ctx := t.Context()
	w.Mold = sampleMold()
	if err := tx.Molds().Insert(ctx, &w.Mold); err != nil {
		return err
	}
	closed, extra, out, rack := sampleClosed(), sampleExtra(), sampleMoldOut(w.Mold.ID), sampleRack()
	for _, err := range []error{
		tx.Closed().Insert(ctx, &closed), tx.Extras().Insert(ctx, &extra),
		tx.MoldOuts().Insert(ctx, &out), tx.Racks().Insert(ctx, &rack),
	} {
		if err != nil {
			return err
		}
	}
	return nil
}

func (w *world) addGoods(t testing.TB, tx orders.Tx) error {
	ctx := t.Context()
	w.Ingredient = sampleIngredient()
	if err := tx.Ingredients().Insert(ctx, &w.Ingredient); err != nil {
		return err
	}
	w.Lot, w.Purchase = sampleLot(w.Ingredient.ID), samplePurchase(w.Ingredient.ID, "")
	if err := errors.Join(tx.Lots().Insert(ctx, &w.Lot), tx.Purchases().Insert(ctx, &w.Purchase)); err != nil {
		return err
	}
	w.Ingredient.OnHand, w.Ingredient.Lots, w.Ingredient.ExpectedOn = w.Lot.Left, 1, w.Purchase.ArrivesOn
	w.Ingredient.Ends = []orders.LotEnd{{On: w.Lot.ExpiresOn, Left: w.Lot.Left}}
	w.Recipe = sampleRecipe(w.Ingredient.ID)
	if err := tx.Recipes().Insert(ctx, &w.Recipe); err != nil {
		return err
	}
	w.Trial = sampleTrial(w.Recipe.ID, w.Ingredient.ID)
	if err := tx.Trials().Insert(ctx, &w.Trial); err != nil {
		return err
	}
	w.Design = sampleDesign(w.Recipe.ID, w.Mold.ID)
	return tx.Designs().Insert(ctx, &w.Design)
}

func (w *world) addOrders(t testing.TB, tx orders.Tx) error {
	ctx := t.Context()
	w.Customer = orders.Customer{Name: "Greta of the ferry inn", Email: "greta@example.org", Phone: "+00 1", Note: "rings twice", Retired: true}
	if err := tx.Customers().Insert(ctx, &w.Customer); err != nil {
		return err
	}
	w.Order = sampleOrder(1, w.Customer.ID, w.Design.ID)
	w.Order.Status, w.Order.EndedAt, w.Order.LeftOn = orders.Accepted, time.Time{}, civil.Date{}
	if err := tx.Orders().Insert(ctx, &w.Order); err != nil {
		return err
	}
	w.Batch = sampleBatch("OAT-270301-1", w.Design.ID, w.Mold.ID)
	w.Batch.Uses = []orders.LotUse{{IngredientID: w.Ingredient.ID, LotID: w.Lot.ID, Mass: 700_000}}
	if err := tx.Batches().Insert(ctx, &w.Batch); err != nil {
		return err
	}
	if err := tx.SetMaking(ctx, w.Batch.ID, w.making()); err != nil {
		return err
	}
	if err := tx.AddWeightCheck(ctx, w.Batch.ID, sampleWeights(1)); err != nil {
		return err
	}
	if err := tx.SetTick(ctx, w.Batch.ID, sampleTick("water")); err != nil {
		return err
	}
	w.Stock = orders.Stock{DesignID: w.Design.ID, BatchID: w.Batch.ID, Pieces: 9, Note: "from the shelf by the door"}
	if err := tx.Stocks().Insert(ctx, &w.Stock); err != nil {
		return err
	}
	if _, err := tx.NextLot(ctx, "OAT-270301-"); err != nil {
		return err
	}
	return tx.SetAllocations(ctx, []orders.Allocation{
		{StockID: w.Stock.ID, OrderID: w.Order.ID, LineID: w.Order.Lines[0].ID, Pieces: 4},
	})
}

func (w *world) addKeys(t testing.TB, tx orders.Tx) error {
	ctx := t.Context()
	w.Token = orders.APIToken{Name: "till", Scope: "read", PersonID: w.Owner.ID, Hash: hashOf("token", w.ID)}
	w.Feed = orders.Feed{Name: "for Greta", Kind: orders.FeedOrder, OrderID: w.Order.ID, Alarm: 30, Hash: hashOf("feed", w.ID)}
	w.Rule = orders.ReminderRule{PersonID: w.Owner.ID, Name: "cuts", Cron: "0 18 * * *", Kind: orders.TaskCut, LeadDays: 1, Off: true}
	for _, err := range []error{
		tx.Tokens().Insert(ctx, &w.Token), tx.Feeds().Insert(ctx, &w.Feed), tx.Rules().Insert(ctx, &w.Rule),
	} {
		if err != nil {
			return err
		}
	}
	return nil
}

func (w *world) addPlan(t testing.TB, tx orders.Tx) error {
	ctx := t.Context()
	w.Task = sampleTask(w)
	if err := tx.PutTasks(ctx, []orders.Task{w.Task}); err != nil {
		return err
	}
	w.Revision = sampleRevision()
	if err := tx.AddRevision(ctx, &w.Revision); err != nil {
		return err
	}
	ps := []orders.Proposal{sampleProposal()}
	if err := tx.AddProposals(ctx, ps); err != nil {
		return err
	}
	w.Proposal = ps[0]
	return tx.AddJournal(ctx, orders.JournalEntry{At: noon(3, 1), Person: "Maud", Action: "order.accept", Subject: w.Order.ID, Text: "Accepted it"})
}

func (w *world) making() orders.Making {
	return orders.Making{
		Recipe: w.Recipe, Design: w.Design, Ingredients: []orders.Ingredient{w.Ingredient}, Molds: []orders.Mold{w.Mold},
	}
}

func sampleWeights(number int) orders.KeptWeights {
	return orders.KeptWeights{Number: number, At: noon(4, number), Person: "Maud", Declared: 120_000, Weights: []calc.Mass{121_500, 119_000}}
}

func sampleTick(item string) orders.Tick {
	return orders.Tick{Item: item, At: noon(3, 1), Person: "Maud", Reading: 38_500, Text: "Cold water", Mass: 412_345}
}

func hashOf(parts ...string) []byte {
	sum := sha256.Sum256(fmt.Append(nil, parts))
	return sum[:]
}

func day(month time.Month, d int) civil.Date { return civil.Date{Year: 2027, Month: month, Day: d} }

func minute(m civil.Minute) *civil.Minute { return &m }

func sampleWorkshop(name string) orders.Workshop {
	return orders.Workshop{
		Name: name, Zone: "Europe/Lisbon", Units: "metric", Currency: "EUR", Locale: "en-GB",
		Hands: 1, FirmDays: 3, HandOver: 2, Demo: true,
		HourlyRate: 1800, Markup: 300_000, Responsible: "Maud\nQuay 1", LabelNames: orders.AsSaponified, LabelBoth: true, BestBefore: 18,
		Hours: []orders.Window{
			{Weekday: time.Tuesday, From: 18 * 60, To: 22 * 60, Steps: []schedule.Step{schedule.StepMake, schedule.StepCut}},
			{Weekday: time.Saturday, From: 9 * 60, To: 24 * 60, Steps: []schedule.Step{}},
		},
	}
}

func samplePerson(name string) orders.Person {
	return orders.Person{
		Name: "Maud", Email: "Maud." + name + "@example.org", Role: orders.Owner, PasswordHash: "$argon2id$of-nothing",
		DigestAt: minute(18 * 60), DigestToday: minute(7 * 60), QuietFrom: minute(21 * 60), QuietTo: minute(8 * 60),
	}
}

func sampleMold() orders.Mold {
	return orders.Mold{
		Name: "long loaf", Kind: calc.MoldLoaf, Length: 250_000, Width: 90_000, Depth: 70_000, Cavities: 1, CavityVolume: 1_000,
		Count: 2, MinFill: 400_000, CleanMinutes: 20, Retired: true,
	}
}

func sampleClosed() orders.ClosedDays {
	return orders.ClosedDays{From: day(4, 1), To: day(4, 9), Reason: "at the market"}
}

func sampleExtra() orders.ExtraWindow {
	return orders.ExtraWindow{Date: day(4, 12), From: 60, To: 120, Steps: []schedule.Step{schedule.StepWrap}, Reason: "free day"}
}

func sampleMoldOut(mold string) orders.MoldOut {
	return orders.MoldOut{MoldID: mold, From: day(4, 1), To: day(4, 2), Units: 1, Reason: "lent"}
}

func sampleRack() orders.Rack {
	return orders.Rack{Name: "north wall", Width: 900_000, Depth: 400_000, Shelves: 5, Retired: true}
}

func sampleIngredient() orders.Ingredient {
	return orders.Ingredient{
		Name: "Olive oil", LabelName: "Olea Europaea Fruit Oil", Kind: orders.KindOil, SVLow: 184.1, SVHigh: 196.2, SVUsed: 190.3,
		SVSource: "supplier's sheet", WaxEster: true, Alkali: orders.AlkaliKOH,
		Density: 0.913, LeadDays: 7, Retired: true,
		SoapName: "Sodium Olivate", Price: 899, Fragrance: orders.Fragrance{
			Limit: calc.LimitMax, Max: 32_000, Reference: "sheet 7", Dated: day(2, 1), Behaviour: orders.Thickens,
			Vanillin: true, VanillinShare: 12_000, Allergens: []orders.Allergen{{Name: "Linalool", Share: 310_000}},
		},
	}
}

func sampleLot(ingredient string) orders.Lot {
	return orders.Lot{
		IngredientID: ingredient, Code: "GR-7/21", ReceivedOn: day(1, 5), ExpiresOn: day(9, 30),
		Received: 6_000_000, Left: 5_000_000, Price: 4_350, Note: "a dented can",
	}
}

func samplePurchase(ingredient, lot string) orders.Purchase {
	return orders.Purchase{
		IngredientID: ingredient, Quantity: 3_000_000, OrderedOn: day(3, 1), ArrivesOn: day(4, 3), Price: 2_100, Note: "by the ferry", LotID: lot,
	}
}

func sampleRecipe(ingredient string) orders.Recipe {
	return orders.Recipe{
		Name: "Plain", Parts: []orders.RecipePart{{IngredientID: ingredient, Share: calc.Whole, Blended: true}},
		Superfat: 50_000, LyePurity: 990_000, LyeConcentration: 330_000,
		KOHShare: 100_000, KOHPurity: 900_000, WaterBasis: calc.WaterByRatio, Water: 2_000_000, LyeStock: 500_000, MixTemp: 40 * calc.Celsius,
		CutMin: 18, CutMax: 48, CutInDays: true, CureMin: 28, CureTarget: 42, CureLoss: 120_000, NeedsTrial: true, TrialMinutes: 45,
		MakeFixed: 60, CutFixed: 10, WrapFixed: 15, MakePer: 20, CutPer: 6, WrapPer: 40, Notes: "stir\nslowly", Retired: true,
	}
}

func sampleTrial(recipe, fragrance string) orders.Trial {
	return orders.Trial{RecipeID: recipe, FragranceIDs: []string{fragrance}, JudgedOn: day(2, 20), Verdict: orders.Unfit, Notes: "it seized"}
}

func sampleDesign(recipe, mold string) orders.Design {
	return orders.Design{
		Name: "Oat bar", LotCode: "OAT", RecipeID: recipe,
		Cut: orders.CutPlan{
			Thickness: 25_000, TrimEnds: 5_000, PiecesPerSlice: 2, Rows: 3, Columns: 4, Spacing: 15_000, DressingClear: 3_000,
		},
		MoldIDs: []string{mold}, Colours: []orders.Colour{{Name: "cream", Share: calc.Whole}},
		Dressing: "oats", Spoil: 40_000, Packaging: 35, TrialOK: true, Retired: true,
	}
}

func sampleOrder(number int, customer, design string) orders.Order {
	return orders.Order{
		Number: number, CustomerID: customer, Title: "Midwinter favours", NeededBy: day(6, 1), HandOver: 2, Weight: 3,
		Status: orders.HandedOver, Told: day(5, 20), Note: "blue ribbon", AcceptedAt: noon(3, 1), EndedAt: noon(5, 30), LeftOn: day(5, 29),
		Lines: []orders.OrderLine{{DesignID: design, Pieces: 60, Spares: 2, Keepsakes: 1}},
	}
}

func sampleInterval(d int) schedule.Interval {
	return schedule.Interval{From: noon(3, d), To: noon(3, d).Add(time.Hour)}
}

func sampleBatch(lot, design, mold string) orders.Batch {
	return orders.Batch{
		Lot: lot, DesignID: design, State: orders.BatchFailed, Molds: []schedule.MoldUse{{MoldID: mold, Units: 2, Pieces: 64}},
		Pieces: 64, Sound: 60, Pinned: true, Make: sampleInterval(1), Cut: sampleInterval(3), Wrap: sampleInterval(30),
		WrapParts: []schedule.Interval{sampleInterval(30)}, CutFrom: noon(3, 2), CutTo: noon(3, 4),
		CureMin: day(3, 28), CureTarget: day(4, 10), CureUntil: day(3, 29),
		Holds:    []schedule.Hold{{Step: schedule.StepMake, Kind: schedule.HoldMold, With: mold, Text: "the mold is in use"}},
		PouredAt: noon(3, 1), CutAt: noon(3, 3), WrappedAt: noon(3, 30), EndedAt: noon(3, 31),
		FailedStep: schedule.StepCut, FailReason: "crumbled", Notes: "too cold",
		Losses:    []orders.Loss{{At: noon(3, 3), Step: schedule.StepCut, Pieces: 4, Reason: "crumbled"}},
		Weighings: []orders.Weighing{{At: noon(3, 10), Pieces: 4, Mass: 400_000, Mark: "blue thread"}},
		Uses:      []orders.LotUse{},
	}
}

func sampleDelivery(person string, dueDay int) orders.Delivery {
	return orders.Delivery{
		PersonID: person, Kind: "digest", LocalDate: day(3, dueDay), Slot: "18:00", DueAt: noon(3, dueDay),
		Subject: "Thu 3: 2 tasks", Text: "Cut", HTML: "<p>Cut</p>", MessageID: "<1@example.org>",
	}
}

func sampleTask(w *world) orders.Task {
	return orders.Task{
		ID: uuid.NewString(), Kind: orders.TaskCut, BatchID: w.Batch.ID, OrderID: w.Order.ID, DesignID: w.Design.ID, IngredientID: w.Ingredient.ID, Part: 1,
		From: noon(3, 3), To: noon(3, 4), Day: day(3, 3), LastDay: day(3, 4), Title: "Cut the oat bars", Detail: "wire cutter", Obstacle: "Its mold is out.",
		Status: orders.TaskOpen, Sequence: 2, ChangedAt: noon(3, 1), Revision: 1,
	}
}

func sampleDiff() schedule.Diff {
	return schedule.Diff{
		Moves: []schedule.Move{{BatchKey: "b", Step: schedule.StepCut, From: sampleInterval(1), To: sampleInterval(2), Firm: true}},
		Added: []string{"new-1"}, Dropped: []string{"b2"},
		Late: []schedule.OrderChange{{OrderID: "o", OldReady: day(5, 1), NewReady: day(5, 3), OldLate: 1, NewLate: 2, Promised: true}},
	}
}

func sampleRevision() orders.PlanRevision {
	objective := schedule.Objective{Late: 1, Tardiness: 2, Changes: 3, NoRemake: 4, CureShort: 5, Batches: 6, Surplus: 7, FinishHours: 8}
	return orders.PlanRevision{
		At: noon(3, 1), By: "Maud", Why: "an order came", Objective: objective, Bound: objective, Proved: true, Diff: sampleDiff(),
		Outcomes: []schedule.OrderOutcome{{
			OrderID: "o", Ready: day(5, 1), Deadline: day(5, 3), LateDays: 1, Short: 2, RemakeBy: noon(4, 1), CureLess: 3,
		}},
		Problems: []schedule.Reason{{Kind: schedule.HoldCure, OrderID: "o", Batch: "b", MoldID: "m", From: day(3, 1), To: day(3, 2), Text: "cure"}},
	}
}

func sampleProposal() orders.Proposal {
	return orders.Proposal{
		At: noon(3, 1), Why: "a batch failed", Rank: 1, Kind: schedule.ProposeRemake, Title: "Remake it", Costs: []string{"an evening"},
		Status: orders.ProposalOpen, BaseRevision: 1, BookRevision: 2, Diff: sampleDiff(),
		Plan: &schedule.Plan{Batches: []schedule.PlanBatch{{Key: "new-1", New: true, Make: sampleInterval(1)}}, Proved: true},
	}
}
