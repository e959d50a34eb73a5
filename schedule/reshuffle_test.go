package schedule_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"ripeline/schedule"
	"ripeline/schedule/civil"
	"ripeline/schedule/plancheck"
)

// reshuffled asks for ways out and checks every one.
func reshuffled(t *testing.T, p *schedule.Problem) []schedule.Proposal {
	t.Helper()
	out, err := schedule.Reshuffle(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	if len(out) == 0 {
		t.Error("no proposal at all")
	}
	if len(out) > 5 {
		t.Errorf("%d proposals are more than a person weighs", len(out))
	}
	worthWeighing(t, out)
	for i, pr := range out {
		for _, finding := range plancheck.Check(p, pr.Plan) {
			t.Errorf("proposal %s: %s", pr.Kind, finding)
		}
		if i > 0 && out[i-1].Plan.Objective.Compare(pr.Plan.Objective) > 0 {
			t.Errorf("proposal %s is ranked below a worse one", pr.Kind)
		}
		if len(pr.Costs) == 0 || pr.Title == "" {
			t.Errorf("proposal %s says not what it costs", pr.Kind)
		}
	}
	return out
}

// worthWeighing checks that titles tell proposals apart, and that none costs no
// less than another of its kind in anything a person cares about.
func worthWeighing(t *testing.T, list []schedule.Proposal) {
	t.Helper()
	titles := map[string]bool{}
	for i, pr := range list {
		if titles[pr.Title] {
			t.Errorf("two proposals are titled %q", pr.Title)
		}
		titles[pr.Title] = true
		if tells := strings.Contains(pr.Title, " late") || strings.Contains(pr.Title, " lacks "); tells != (pr.Kind == schedule.ProposeTell) {
			t.Errorf("a proposal %s is titled %q", pr.Kind, pr.Title)
		}
		for j, other := range list {
			if i != j && pr.Kind == other.Kind && noWorse(pr, other) {
				t.Errorf("%q costs no more than %q in anything", pr.Title, other.Title)
			}
		}
	}
}

// noWorse reports whether a costs no more than b, order by order and step by step.
func noWorse(a, b schedule.Proposal) bool {
	worse := len(a.Diff.Added) > len(b.Diff.Added) || len(a.Diff.Moves) > len(b.Diff.Moves) || firmMoves(a) > firmMoves(b) ||
		a.Plan.Objective.CureShort > b.Plan.Objective.CureShort
	for i, o := range a.Plan.Orders {
		worse = worse || o.LateDays > b.Plan.Orders[i].LateDays || o.Short > b.Plan.Orders[i].Short || o.Ready.After(b.Plan.Orders[i].Ready)
	}
	return !worse
}

func firmMoves(pr schedule.Proposal) int {
	firm := 0
	for _, m := range pr.Diff.Moves {
		if m.Firm {
			firm++
		}
	}
	return firm
}

func kinds(list []schedule.Proposal) []schedule.ProposalKind {
	var out []schedule.ProposalKind
	for _, pr := range list {
		out = append(out, pr.Kind)
	}
	return out
}

// TestReshuffleWithoutSlack loses the batch of an order that is due soon, while
// a batch for a later order cures: three different ways are open.
func TestReshuffleWithoutSlack(t *testing.T) {
	p := eveningShop()
	p.Molds = []schedule.Mold{
		{ID: "loaf", Name: "loaf", Count: 1, Clean: 15},
		{ID: "slab", Name: "slab", Count: 1, Clean: 15},
	}
	today := civil.Of(p.Now)
	for i, days := range []int{52, 100} {
		id := fmt.Sprintf("o%d", i)
		p.Orders = append(p.Orders, schedule.Order{
			ID: id, Name: []string{"Naming day", "Choir"}[i], Accepted: true, NeededBy: today.AddDays(days), Weight: 1,
			Lines: []schedule.Line{{ID: id + "l", DesignID: "oat", Pieces: 22}},
		})
	}
	p = publish(p, solved(t, "published", p))
	lost := slices.IndexFunc(p.Batches, func(b schedule.Batch) bool { return b.For[0].LineID == "o0l" })
	for i := range p.Batches {
		p.Batches[i].State = schedule.Curing
	}
	p.Now = p.Now.AddDate(0, 0, 9)
	p.Designs[0].Fits = append(p.Designs[0].Fits, schedule.Fit{MoldID: "slab", Full: 40, Min: 20, Step: 4})
	p.Batches = slices.Delete(p.Batches, lost, lost+1)
	got := kinds(reshuffled(t, p))
	for _, want := range []schedule.ProposalKind{schedule.ProposeSwap, schedule.ProposeShorter, schedule.ProposeTell} {
		if !slices.Contains(got, want) {
			t.Errorf("%s is not among the proposals %v", want, got)
		}
	}
}

// TestReshuffleRandom loses a batch in each of many workshops.
func TestReshuffleRandom(t *testing.T) {
	for seed := range uint64(40) {
		d := newDice(seed)
		p := d.workshop()
		p = d.advance(publish(p, solved(t, "published", p)))
		if len(p.Batches) == 0 {
			continue
		}
		if lost := d.IntN(len(p.Batches)); d.chance(50) {
			p.Batches = slices.Delete(p.Batches, lost, lost+1)
		} else {
			p.Batches[lost].Sound = p.Batches[lost].Sound / 2
		}
		reshuffled(t, p)
	}
}
