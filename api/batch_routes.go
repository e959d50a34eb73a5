package api

import (
	"context"
	"net/http"

	"ripeline/orders"
)

// batchAnswer is a batch and what telling it did to the plan.
type batchAnswer struct {
	Batch      orders.Batch      `json:"batch"`
	PlanChange orders.PlanChange `json:"plan_change"`
}

// designAnswer is a design and what it did to the plan.
type designAnswer struct {
	Design     orders.Design     `json:"design"`
	PlanChange orders.PlanChange `json:"plan_change"`
}

type pinRequest struct {
	Pinned bool `json:"pinned"`
}

type trialRequest struct {
	Passed bool `json:"passed"`
}

// batches adds batches and what happens to them.
func (s *server) batches() {
	b := s.cfg.Book
	add(s, route{method: http.MethodGet, path: "/batches", id: "list-batches", tag: tagBatches, summary: "List batches by the time they are made"},
		func(ctx context.Context, a orders.Actor, in *batchList) (*listed[orders.Batch], error) {
			page, err := b.Batches(ctx, a, in.query())
			return listing(in, page, err)
		})
	add(s, route{method: http.MethodGet, path: "/batches/{id}", id: "get-batch", tag: tagBatches, summary: "Read a batch"},
		func(ctx context.Context, a orders.Actor, in *byID) (*found[orders.Batch], error) {
			batch, err := b.Batch(ctx, a, in.ID)
			return versioned(batch, batch.Version, err)
		})
	s.sheets()
	happen(s, "pour", "Say that a planned batch was poured", "at is the end of the pour; now when left out. One that had left the plan and was poured all the same is taken as well; the answer says among plan_change.warnings what stands against it.", b.Pour)
	happen(s, "cut", "Say that a poured batch was cut", "spoiled is how many pieces were lost by then.", b.Cut)
	happen(s, "wrap", "Say that a curing batch was wrapped", "Its sound pieces become stock.", b.Wrap)
	happen(s, "fail", "Say that a batch, or some pieces of it, is lost", "The answer proposes ways out.", b.Fail)
	happen(s, "pin", "Fix a planned batch's times, or free them", "",
		func(ctx context.Context, a orders.Actor, id string, version int, in pinRequest) (orders.Batch, orders.PlanChange, error) {
			return b.Pin(ctx, a, id, version, in.Pinned)
		})
	happen(s, "weigh", "Add a weighing to a curing batch",
		"The mass of some pieces together, in milligrams; a mark names one piece that is weighed again and again. One that can not be right, by the recipe or by earlier weighings of the same pieces, is refused. When the curve says later than planned, the answer has a proposal.", b.Weigh)
	happen(s, "unweigh", "Take back a weighing of a batch that was wrong",
		"number is its place in the batch's weighings, from 1, as the sheet has it too. The cure then goes by those that are left.", b.Unweigh)
	add(s, route{
		method: http.MethodPost, path: "/designs/{id}/trial", id: "judge-trial", tag: tagRecipes,
		summary: "Say whether a design's trial was good", access: writes, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *changing[trialRequest]) (*found[designAnswer], error) {
			version, err := seenVersion(ctx, in.IfMatch)
			if err != nil {
				return nil, err
			}
			d, change, err := b.TrialPassed(ctx, a, in.ID, version, in.Body.Value.Passed)
			return versioned(designAnswer{d, change}, d.Version, err)
		})
}

// sheets adds what is worked out of a batch, a recipe and a design.
func (s *server) sheets() {
	b := s.cfg.Book
	add(s, route{
		method: http.MethodGet, path: "/batches/{id}/sheet", id: "get-batch-sheet", tag: tagBatches, summary: "Read a batch's sheet",
		doc: "What to weigh for its molds, the pots, the cut, the steps, how it dries, and the cautions, by the recipe and design as they are, or from the pour on as they were then. When the recipe or the cut can not be worked out, trouble says why and there are no weights.",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.Sheet], error) {
			return have(b.Sheet(ctx, a, in.ID))
		})
	add(s, route{
		method: http.MethodGet, path: "/recipes/{id}/weights", id: "get-recipe-weights", tag: tagRecipes,
		summary: "Read what a recipe takes for one kilogram of oils", doc: "Its lye and water with their warnings, or in trouble why they can not be worked out.",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.RecipeWeights], error) {
			return have(b.RecipeWeights(ctx, a, in.ID))
		})
	s.asks()
	add(s, route{
		method: http.MethodGet, path: "/designs/{id}/cuts", id: "list-design-cuts", tag: tagRecipes,
		summary: "List what a design's cut gives in each of its molds",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.Page[orders.MoldCut]], error) {
			return all(b.DesignCuts(ctx, a, in.ID))
		})
}

// lessWasteRequest names the mold that a cut is to waste less of.
type lessWasteRequest struct {
	MoldID string `json:"mold_id"`
}

// knownOils answers with the usual oils.
func (s *server) knownOils() {
	add(s, route{
		method: http.MethodGet, path: "/known-oils", id: "list-known-oils", tag: tagRecipes, summary: "List usual oils as ingredients to start from",
		doc: "None of them is in the workshop until it is created. Each figure is a default; sv_source says where it was read and how far to trust it.",
	},
		func(context.Context, orders.Actor, *nothing) (*told[orders.Page[orders.Ingredient]], error) {
			return all(orders.KnownOils())
		})
}

// asks adds what works on the sheet, the molds and the cut.
func (s *server) asks() {
	b := s.cfg.Book
	s.knownOils()
	add(s, route{
		method: http.MethodPost, path: "/batches/{id}/ticks", id: "tick-batch-sheet", tag: tagBatches, access: writes, keyed: true,
		summary: "Tick an item of a batch's sheet, or note a reading", doc: "done false takes a tick or a reading back, and is what is meant when done is left out. mass_mg is what the sheet showed for the item: when it asks for another weight by now the tick is refused. It is noted for the caller, and is no change of the batch: no version is needed. A temperature is in thousandths of a degree Celsius, a time in minutes.",
	},
		func(ctx context.Context, a orders.Actor, in *noting[orders.TickInput]) (*told[orders.Sheet], error) {
			return have(b.Tick(ctx, a, in.ID, in.Body.Value))
		})
	add(s, route{
		method: http.MethodPost, path: "/recipes/{id}/fill", id: "fill-molds", tag: tagRecipes,
		summary: "Work out how a recipe goes into molds", doc: "For as much as the molds take, or for oils_mg of oils: what to weigh, what is left over or missing, and which other mold would take the rest. Changes nothing.",
	},
		func(ctx context.Context, a orders.Actor, in *noting[orders.FillQuestion]) (*told[orders.FillAnswer], error) {
			return have(b.FillMolds(ctx, a, in.ID, in.Body.Value))
		})
	add(s, route{
		method: http.MethodPost, path: "/designs/{id}/less-waste", id: "take-less-waste", tag: tagRecipes, access: writes, keyed: true,
		summary: "Cut a design so that one of its molds wastes less", doc: "Takes the plan that list-design-cuts offers as less_waste for that mold.",
	},
		func(ctx context.Context, a orders.Actor, in *changing[lessWasteRequest]) (*found[designAnswer], error) {
			version, err := seenVersion(ctx, in.IfMatch)
			if err != nil {
				return nil, err
			}
			d, change, err := b.TakeLessWaste(ctx, a, in.ID, version, in.Body.Value.MoldID)
			return versioned(designAnswer{d, change}, d.Version, err)
		})
}

// happen adds a fact of type F that can be told of a batch.
func happen[F any](s *server, step, summary, doc string,
	tell func(context.Context, orders.Actor, string, int, F) (orders.Batch, orders.PlanChange, error),
) {
	r := route{
		method: http.MethodPost, path: "/batches/{id}/" + step, id: step + "-batch", tag: tagBatches, summary: summary, doc: doc,
		access: writes, keyed: true,
	}
	add(s, r, func(ctx context.Context, a orders.Actor, in *changing[F]) (*found[batchAnswer], error) {
		version, err := seenVersion(ctx, in.IfMatch)
		if err != nil {
			return nil, err
		}
		batch, change, err := tell(ctx, a, in.ID, version, in.Body.Value)
		return versioned(batchAnswer{batch, change}, batch.Version, err)
	})
}
