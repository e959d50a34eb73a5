package api

import (
	"context"
	"net/http"

	"ripeline/orders"
)

// batchAnswer is a batch and what telling it did to the plan; a weighing does
// not say.
type batchAnswer struct {
	Batch      orders.Batch       `json:"batch"`
	PlanChange *orders.PlanChange `json:"plan_change,omitempty"`
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
	happen(s, "pour", "Say that a planned batch was poured", "at is the end of the pour; now when left out.", b.Pour)
	happen(s, "cut", "Say that a poured batch was cut", "spoiled is how many pieces were lost by then.", b.Cut)
	happen(s, "wrap", "Say that a curing batch was wrapped", "Its sound pieces become stock.", b.Wrap)
	happen(s, "fail", "Say that a batch, or some pieces of it, is lost", "The answer proposes ways out.", b.Fail)
	happen(s, "pin", "Fix a planned batch's times, or free them", "",
		func(ctx context.Context, a orders.Actor, id string, version int, in pinRequest) (orders.Batch, orders.PlanChange, error) {
			return b.Pin(ctx, a, id, version, in.Pinned)
		})
	happened(s, "weigh", "Add a weighing to a curing batch", "The mass of the marked pieces, in milligrams.",
		func(ctx context.Context, a orders.Actor, id string, version int, in orders.Weighing) (batchAnswer, error) {
			batch, err := b.Weigh(ctx, a, id, version, in)
			return batchAnswer{Batch: batch}, err
		})
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
		doc: "What to weigh for its molds, the pots, the cut, the steps, how it dries, and the cautions, by the recipe and design as they are now. When the recipe or the cut can not be worked out, trouble says why and there are no weights.",
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
	add(s, route{
		method: http.MethodGet, path: "/designs/{id}/cuts", id: "list-design-cuts", tag: tagRecipes,
		summary: "List what a design's cut gives in each of its molds",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.Page[orders.MoldCut]], error) {
			return all(b.DesignCuts(ctx, a, in.ID))
		})
}

// happen adds a fact of type F that can be told of a batch and changes the plan.
func happen[F any](s *server, step, summary, doc string,
	tell func(context.Context, orders.Actor, string, int, F) (orders.Batch, orders.PlanChange, error),
) {
	happened(s, step, summary, doc, func(ctx context.Context, a orders.Actor, id string, version int, fact F) (batchAnswer, error) {
		batch, change, err := tell(ctx, a, id, version, fact)
		return batchAnswer{batch, &change}, err
	})
}

// happened adds a fact of type F that can be told of a batch.
func happened[F any](s *server, step, summary, doc string,
	tell func(context.Context, orders.Actor, string, int, F) (batchAnswer, error),
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
		answer, err := tell(ctx, a, in.ID, version, in.Body.Value)
		return versioned(answer, answer.Batch.Version, err)
	})
}
