package pages

import (
	"errors"
	"fmt"
	"net/http"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
	"ripeline/schedule"
)

type proposalsView struct {
	rights
	Once  string
	Why   string
	Cards []proposalCard
}

type proposalCard struct {
	ID, Title string
	Rank      int
	Costs     []string
	Late      []string
	Moves     []moveView
	Added     []string
	Dropped   []string
	Picture   string // address of the plan with this proposal drawn in
}

type moveView struct {
	What, From, To string
	Firm           bool
}

// batchNames names batches of the published plan and of proposals.
type batchNames struct {
	names     *shelf
	published []orders.Batch
}

// name is "Oat and honey OAT-261203-1", or "a new batch of Oat and honey".
func (n batchNames) name(key string, plan *schedule.Plan) string {
	if b, ok := byID(n.published, key, func(b orders.Batch) string { return b.ID }); ok {
		return n.names.designName(b.DesignID) + " " + b.Lot
	}
	if plan != nil {
		if b, ok := byID(plan.Batches, key, func(b schedule.PlanBatch) string { return b.Key }); ok {
			return "a new batch of " + n.names.designName(b.DesignID)
		}
	}
	return "a batch"
}

func (v *visit) proposalsPage() error {
	plan, err := v.Book.Plan(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	view := proposalsView{rights: v.rights(), Once: newOnce()}
	called := batchNames{names, plan.Batches}
	for _, p := range plan.Proposals {
		view.Why = v.words.dated(p.Why)
		card, err := v.proposalCard(called, p)
		if err != nil {
			return err
		}
		view.Cards = append(view.Cards, card)
	}
	return v.show(http.StatusOK, "proposals", "Ways to go on", view)
}

func (v *visit) proposalCard(called batchNames, p orders.Proposal) (proposalCard, error) {
	card := proposalCard{ID: p.ID, Title: p.Title, Rank: p.Rank, Costs: p.Costs, Picture: "/plan?" + query("proposal", p.ID)}
	for _, m := range p.Diff.Moves {
		card.Moves = append(card.Moves, moveView{
			What: stepName(m.Step) + " " + called.name(m.BatchKey, p.Plan),
			From: v.words.span(m.From.From, m.From.To), To: v.words.span(m.To.From, m.To.To), Firm: m.Firm,
		})
	}
	for _, key := range p.Diff.Added {
		card.Added = append(card.Added, v.addedText(called, key, p.Plan))
	}
	for _, key := range p.Diff.Dropped {
		card.Dropped = append(card.Dropped, called.name(key, nil))
	}
	for _, l := range p.Diff.Late {
		text, err := v.lateText(l)
		if err != nil {
			return card, err
		}
		card.Late = append(card.Late, text)
	}
	return card, nil
}

func (v *visit) addedText(called batchNames, key string, plan *schedule.Plan) string {
	text := called.name(key, plan)
	if plan == nil {
		return text
	}
	b, ok := byID(plan.Batches, key, func(b schedule.PlanBatch) string { return b.Key })
	if !ok {
		return text
	}
	return fmt.Sprintf("%s: pour %s, cut %s, wrap %s", capital(text), v.words.at(b.Make.From), v.words.at(b.Cut.From), v.words.day(v.words.date(b.Wrap.From)))
}

// lateText says what an order's new date means for its customer.
func (v *visit) lateText(l schedule.OrderChange) (string, error) {
	o, err := v.Book.Order(v.ctx(), v.actor, l.OrderID)
	if err != nil {
		return "", err
	}
	text := fmt.Sprintf("%s: ready %s", titleOf(o), v.words.day(l.NewReady))
	if l.NewReady.IsZero() {
		text = titleOf(o) + ": no batch can be found for all of it"
	}
	if !l.OldReady.IsZero() && l.OldReady != l.NewReady {
		text += " instead of " + v.words.day(l.OldReady)
	}
	switch {
	case l.NewLate > 0:
		text += fmt.Sprintf(", %s late", count(l.NewLate, "day"))
	case !l.NewReady.IsZero():
		text += ", in time"
	}
	if l.Promised && l.NewLate > 0 {
		text += ". The customer has to be told"
	}
	return text + ".", nil
}

func (v *visit) takeProposal() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	change, err := v.Book.TakeProposal(v.once(f), v.actor, chi.URLParam(v.r, "id"))
	if errors.Is(err, orders.ErrConflict) {
		return v.toldThere("/proposals", err)
	}
	if err != nil {
		return err
	}
	return v.changed("/plan", "Chosen.", change)
}

func (v *visit) dismissProposals() error {
	if _, err := v.sentForm(); err != nil {
		return err
	}
	if err := v.Book.DismissProposals(v.ctx(), v.actor); err != nil {
		return err
	}
	return v.seeOther("/plan", "The plan stays as it is. You can plan again at any time.")
}
