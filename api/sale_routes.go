package api

import (
	"context"
	"net/http"

	"ripeline/orders"
)

// labelRequest asks for a label draft.
type labelRequest struct {
	ID    string `path:"id" doc:"The record's id"`
	Names string `query:"names" enum:"as_added,as_saponified" doc:"How what was saponified is named; the workshop's setting when left out"`
	Units string `query:"units" enum:"metric,imperial,both" doc:"Of the net weight; the workshop's setting when left out"`
}

func (r labelRequest) question() orders.LabelQuestion {
	return orders.LabelQuestion{Names: orders.LabelNames(r.Names), Units: orders.LabelUnits(r.Units)}
}

// sale adds what decides whether soap may be poured and sold, and for how much.
func (s *server) sale() {
	crud[orders.Trial, trialList](s, recordKind[orders.Trial]{
		"/trials", "trial", "trials", tagRecipes,
		"A small pour of a recipe and how it was judged. It counts for the fragrances that the recipe had when the trial was added; of several the latest holds.",
		s.cfg.Book.Trials, func(r *orders.Trial) *orders.Meta { return &r.Meta },
	})
	s.fragrances()
	s.labels()
	s.costs()
}

func (s *server) fragrances() {
	b := s.cfg.Book
	add(s, route{
		method: http.MethodGet, path: "/recipes/{id}/fragrance", id: "get-recipe-fragrance", tag: tagRecipes,
		summary: "Read how a recipe's fragrances stand to their certificates",
		doc:     "Their share of the cured bar and the largest that is safe, by sum(share / limit) <= 1 over all of them; the allergens; the trial they need. Without a certificate what is safe is not known: safe and largest_safe_ppm are then absent. While it is not safe, refusal says why, and no design of the recipe is planned or promised.",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.RecipeFragrance], error) {
			return have(b.RecipeFragrance(ctx, a, in.ID))
		})
	add(s, route{
		method: http.MethodGet, path: "/batches/{id}/sale", id: "get-batch-sale", tag: tagBatches,
		summary: "Read what stands between a batch and its sale", doc: "A fragrance without a certificate, or over its limit by now; that the batch failed, was cut outside its cut window, or was wrapped before its shortest cure was over.",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.SaleCheck], error) {
			return have(b.BatchSale(ctx, a, in.ID))
		})
	add(s, route{
		method: http.MethodGet, path: "/orders/{id}/sale", id: "get-order-sale", tag: tagOrders,
		summary: "Read what stands between an open order and its hand-over", doc: "Handing over is not refused; the journal then keeps what was known.",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.SaleCheck], error) {
			return have(b.OrderSale(ctx, a, in.ID))
		})
}

func (s *server) labels() {
	b := s.cfg.Book
	const doc = "Ingredients by weight with the colourants last, a net weight that the rule on short weight bears, lot code, durability. A draft: the law of the place and the maker's safety assessor decide."
	add(s, route{
		method: http.MethodPost, path: "/batches/{id}/weight-check", id: "check-batch-weights", tag: tagBatches,
		summary: "Hold weighed pieces of a batch against the net weight on their label",
		doc:     "For each whether it is short by more than the tolerable error, or by more than twice that; and their mean. Against what the label draft proposes where declared_mg is left out. Keeps nothing.",
	},
		func(ctx context.Context, a orders.Actor, in *noting[orders.WeightQuestion]) (*told[orders.WeightCheck], error) {
			return have(b.CheckWeights(ctx, a, in.ID, in.Body.Value))
		})
	add(s, route{
		method: http.MethodGet, path: "/batches/{id}/weight-checks", id: "list-batch-weight-checks", tag: tagBatches,
		summary: "List the weight checks kept of a batch, newest first",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.Page[orders.KeptCheck]], error) {
			return all(b.WeightChecks(ctx, a, in.ID))
		})
	add(s, route{
		method: http.MethodPost, path: "/batches/{id}/weight-checks", id: "keep-batch-weights", tag: tagBatches,
		summary: "Hold weighed pieces of a batch against their label, and keep them",
		doc:     "As the weight check, of a batch that was cut; kept with who did it and when.", access: writes, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *noting[orders.WeightQuestion]) (*told[orders.KeptCheck], error) {
			return have(b.KeepWeights(ctx, a, in.ID, in.Body.Value))
		})
	add(s, route{method: http.MethodGet, path: "/batches/{id}/label", id: "get-batch-label", tag: tagBatches, summary: "Read the draft of a batch's label", doc: doc},
		func(ctx context.Context, a orders.Actor, in *labelRequest) (*told[orders.Label], error) {
			return have(b.BatchLabel(ctx, a, in.ID, in.question()))
		})
	add(s, route{method: http.MethodGet, path: "/designs/{id}/label", id: "get-design-label", tag: tagRecipes, summary: "Read the draft of a design's label", doc: doc + " For one full mold; the lot code and the dates come with a batch."},
		func(ctx context.Context, a orders.Actor, in *labelRequest) (*told[orders.Label], error) {
			return have(b.DesignLabel(ctx, a, in.ID, in.question()))
		})
}

func (s *server) costs() {
	b := s.cfg.Book
	const doc = "In the smallest unit of the workshop's currency. Each material and the labour are rounded half up on their own, and the parts add up to the total; what a piece costs is rounded up. An ingredient without a price of its own counts at what its latest lot cost. What has no price at all counts as nothing and is named in missing."
	add(s, route{method: http.MethodGet, path: "/batches/{id}/cost", id: "get-batch-cost", tag: tagBatches, summary: "Read what a batch costs", doc: doc},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.Cost], error) {
			return have(b.BatchCost(ctx, a, in.ID))
		})
	add(s, route{method: http.MethodGet, path: "/designs/{id}/cost", id: "get-design-cost", tag: tagRecipes, summary: "Read what one full mold of a design costs", doc: doc},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.Cost], error) {
			return have(b.DesignCost(ctx, a, in.ID))
		})
	add(s, route{
		method: http.MethodGet, path: "/orders/{id}/cost", id: "get-order-cost", tag: tagOrders,
		summary: "Read what an order costs, with a quote", doc: doc + " Each line bears its part, by pieces, of the batches its pieces come from, and of a full mold of its design for those that come from no batch; the quote puts the workshop's markup on top.",
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.OrderCost], error) {
			return have(b.OrderCost(ctx, a, in.ID))
		})
}
