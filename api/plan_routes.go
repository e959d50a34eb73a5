package api

import (
	"bytes"
	"context"
	"net/http"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

type taskList struct {
	Paging
	From civil.Date `query:"from" doc:"Only tasks whose last day is not before this day"`
}

func (l taskList) query() orders.ListQuery {
	q := l.Paging.query()
	q.From = l.From
	return q
}

// problemFile is a planning problem in the planner's own format.
type problemFile struct {
	ContentType string `header:"Content-Type"`
	Body        []byte
}

func planProblem(p *schedule.Problem, err error) (*problemFile, error) {
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := schedule.WriteProblem(&out, p); err != nil {
		return nil, err
	}
	return &problemFile{ContentType: "application/json", Body: out.Bytes()}, nil
}

// plan adds the published plan, its proposals and its tasks.
func (s *server) plan() {
	b := s.cfg.Book
	add(s, route{method: http.MethodGet, path: "/today", id: "today", tag: tagPlan, summary: "Say what there is to do today and tomorrow"},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.TodayView], error) {
			return have(b.Today(ctx, a))
		})
	add(s, route{method: http.MethodGet, path: "/plan", id: "get-plan", tag: tagPlan, summary: "Read the published plan"},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.PlanView], error) {
			return have(b.Plan(ctx, a))
		})
	add(s, route{
		method: http.MethodGet, path: "/plan/barred", id: "list-barred", tag: tagPlan, summary: "List the designs of which nothing may be poured",
		doc: "Each with the reason, such as a fragrance over its limit, and the record that has to change. No later date and no more hours help.",
	},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.Page[orders.Bar]], error) {
			return all(b.Bars(ctx, a))
		})
	add(s, route{
		method: http.MethodGet, path: "/plan/obstacles", id: "list-obstacles", tag: tagPlan, summary: "List what of the published plan can not be done any more",
		doc: "Each batch that can not go on as published, since its mold is out, its supplies are gone, its time has passed or the like, with why and the orders that wait for it. It stays so until that is mended, or another plan is published.",
	},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.Page[orders.Obstacle]], error) {
			return all(b.Obstacles(ctx, a))
		})
	add(s, route{method: http.MethodGet, path: "/plan/revisions", id: "list-revisions", tag: tagPlan, summary: "List published plans, newest first"},
		func(ctx context.Context, a orders.Actor, in *Search) (*listed[orders.PlanRevision], error) {
			page, err := b.Revisions(ctx, a, in.query())
			return listing(in, page, err)
		})
	add(s, route{
		method: http.MethodGet, path: "/plan/confidence", id: "get-confidence", tag: tagPlan, summary: "Say how likely each accepted order is met",
		doc: "The share of 1,000 imagined futures in which it is, when batches fail, spoil pieces, cure slowly or wait for supplies, and what is lost is poured again. What can not go on as published is planned anew in all of them: see list-obstacles for the orders that it concerns.",
	},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.Page[schedule.Outlook]], error) {
			return all(b.Confidence(ctx, a))
		})
	add(s, route{
		method: http.MethodGet, path: "/plan/problem", id: "get-problem", tag: tagPlan, summary: "Read the book as the planner takes it",
		doc: "In the planner's own format, for the command ripeline plan.",
	},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*problemFile, error) {
			return planProblem(b.Problem(ctx, a))
		})
	add(s, route{method: http.MethodGet, path: "/tasks", id: "list-tasks", tag: tagPlan, summary: "List the tasks of the published plan"},
		func(ctx context.Context, a orders.Actor, in *taskList) (*listed[orders.Task], error) {
			page, err := b.TaskPage(ctx, a, in.query())
			return listing(in, page, err)
		})
	add(s, route{method: http.MethodPost, path: "/replan", id: "replan", tag: tagPlan, summary: "Plan the book again from now", access: writes, keyed: true},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.PlanChange], error) {
			return have(b.Replan(ctx, a))
		})
	add(s, route{method: http.MethodGet, path: "/proposals", id: "list-proposals", tag: tagPlan, summary: "List the open proposals, best first"},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.Page[orders.Proposal]], error) {
			return all(b.Proposals(ctx, a))
		})
	add(s, route{
		method: http.MethodPost, path: "/proposals/{id}/take", id: "take-proposal", tag: tagPlan, summary: "Publish a proposal's plan",
		doc: "A conflict when the book has changed since it was made.", access: writes, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*told[orders.PlanChange], error) {
			return have(b.TakeProposal(ctx, a, in.ID))
		})
	add(s, route{
		method: http.MethodDelete, path: "/proposals", id: "dismiss-proposals", tag: tagPlan, summary: "Dismiss the open proposals",
		doc: "The published plan stands.", access: writes,
	},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*done, error) {
			return &done{}, b.DismissProposals(ctx, a)
		})
}
