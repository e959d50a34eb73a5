package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

func planColumns(r *orders.PlanRevision) []column {
	return []column{
		{"number", &r.Number},
		{"at", (*instant)(&r.At)},
		{"by", &r.By},
		{"why", &r.Why},
		{"objective", &document{&r.Objective}},
		{"bound", &document{&r.Bound}},
		{"proved", &r.Proved},
		{"diff", &document{&r.Diff}},
		{"outcomes", list(&r.Outcomes)},
		{"problems", list(&r.Problems)},
	}
}

// Revision implements orders.Tx.
func (t *tx) Revision(ctx context.Context, number int) (orders.PlanRevision, error) {
	var r orders.PlanRevision
	columns := planColumns(&r)
	sql := "SELECT " + names(columns) + " FROM plan_revisions WHERE workshop_id = $1 AND number = $2"
	if err := t.one(ctx, sql, []any{t.workshop, number}, targets(columns)...); err != nil {
		return orders.PlanRevision{}, fmt.Errorf("get plan revision %d: %w", number, err)
	}
	return r, nil
}

// Revisions implements orders.Tx.
func (t *tx) Revisions(ctx context.Context, q orders.ListQuery) (orders.Page[orders.PlanRevision], error) {
	l := listing{keys: []sortKey{{"number", "bigint"}}, newest: true, text: "why"}
	page, err := readPage(ctx, t, "plan_revisions", l, planColumns, q)
	if err != nil {
		return page, fmt.Errorf("list plan revisions: %w", err)
	}
	return page, nil
}

// AddRevision implements orders.Tx.
func (t *tx) AddRevision(ctx context.Context, r *orders.PlanRevision) error {
	err := t.one(ctx, `UPDATE workshops SET plan_revision = plan_revision + 1 WHERE id = $1 RETURNING plan_revision`,
		[]any{t.workshop}, &r.Number)
	if err != nil {
		return fmt.Errorf("number a plan revision: %w", err)
	}
	columns := planColumns(r)
	given, err := args([]any{t.workshop}, columns)
	if err == nil {
		_, err = t.exec(ctx, "INSERT INTO plan_revisions (workshop_id, "+names(columns)+") VALUES ($1, "+placeholders(2, columns)+")", given...)
	}
	if err != nil {
		return fmt.Errorf("store plan revision %d: %w", r.Number, err)
	}
	return nil
}

func proposalColumns(p *orders.Proposal) []column {
	return []column{
		{"id", (*ref)(&p.ID)},
		{"at", (*instant)(&p.At)},
		{"why", &p.Why},
		{"rank", &p.Rank},
		{"kind", &p.Kind},
		{"title", &p.Title},
		{"costs", list(&p.Costs)},
		{"status", &p.Status},
		{"base_revision", &p.BaseRevision},
		{"book_revision", &p.BookRevision},
		{"diff", &document{&p.Diff}},
		{"plan", &document{&p.Plan}},
	}
}

func scanProposal(row pgx.CollectableRow) (orders.Proposal, error) {
	var p orders.Proposal
	err := row.Scan(targets(proposalColumns(&p))...)
	return p, err
}

var selectProposals = "SELECT " + names(proposalColumns(new(orders.Proposal))) + " FROM proposals WHERE workshop_id = $1 AND "

// Proposals implements orders.Tx. A limit of 0 is the usual one.
func (t *tx) Proposals(ctx context.Context, status orders.ProposalStatus, limit int) ([]orders.Proposal, error) {
	limit, err := checkLimit(limit)
	if err != nil {
		return nil, err
	}
	all, err := rows(ctx, t.conn, scanProposal, selectProposals+"status = $2 ORDER BY at DESC, rank, id LIMIT $3", t.workshop, string(status), limit)
	if err != nil {
		return nil, fmt.Errorf("list proposals: %w", err)
	}
	return all, nil
}

// Proposal implements orders.Tx.
func (t *tx) Proposal(ctx context.Context, id string) (orders.Proposal, error) {
	id, ok := canonicalID(id)
	if !ok {
		return orders.Proposal{}, fmt.Errorf("get proposal: %w", orders.ErrNotFound)
	}
	var p orders.Proposal
	if err := t.one(ctx, selectProposals+"id = $2", []any{t.workshop, id}, targets(proposalColumns(&p))...); err != nil {
		return orders.Proposal{}, fmt.Errorf("get proposal %s: %w", id, err)
	}
	return p, nil
}

// AddProposals implements orders.Tx. It gives ids to those without.
func (t *tx) AddProposals(ctx context.Context, ps []orders.Proposal) error {
	var b pgx.Batch
	for i := range ps {
		if ps[i].ID == "" {
			id, err := newID()
			if err != nil {
				return err
			}
			ps[i].ID = id
		}
		columns := proposalColumns(&ps[i])
		given, err := args([]any{t.workshop}, columns)
		if err != nil {
			return err
		}
		b.Queue("INSERT INTO proposals (workshop_id, "+names(columns)+") VALUES ($1, "+placeholders(2, columns)+")", given...)
	}
	if err := t.send(ctx, &b); err != nil {
		return fmt.Errorf("store proposals: %w", err)
	}
	return nil
}

// EndProposals implements orders.Tx. An empty except spares none. What no one can
// take any more loses its plan, which is most of what it holds.
func (t *tx) EndProposals(ctx context.Context, status orders.ProposalStatus, except string) error {
	_, err := t.exec(ctx, `UPDATE proposals SET status = $2, plan = 'null' WHERE workshop_id = $1 AND status = 'open' AND id::text <> lower($3)`,
		t.workshop, string(status), except)
	if err != nil {
		return fmt.Errorf("end proposals: %w", err)
	}
	return nil
}

// SetProposal implements orders.Tx.
func (t *tx) SetProposal(ctx context.Context, id string, status orders.ProposalStatus) error {
	found, err := t.exec(ctx, `UPDATE proposals SET status = $3 WHERE workshop_id = $1 AND id::text = lower($2)`,
		t.workshop, id, string(status))
	if err == nil && found == 0 {
		err = orders.ErrNotFound
	}
	if err != nil {
		return fmt.Errorf("set proposal %q to %s: %w", id, status, err)
	}
	return nil
}
