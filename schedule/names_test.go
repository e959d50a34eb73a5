package schedule_test

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ripeline/schedule"
)

// internal is what every id of a relabelled workshop begins with.
const internal = "5b1d7a90-0c44-4e0e-9d2c-"

var newBatch = regexp.MustCompile(`new-\d`)

// relabelled is a workshop whose ids are such as a book gives, and whose orders,
// molds, designs and batches have names of their own.
func relabelled(p *schedule.Problem) *schedule.Problem {
	next := *p
	next.Molds, next.Designs = slices.Clone(p.Molds), slices.Clone(p.Designs)
	for i := range next.Molds {
		next.Molds[i].ID, next.Molds[i].Name = internal+p.Molds[i].ID, fmt.Sprintf("Loaf %d", i)
	}
	for i := range next.Designs {
		d := &next.Designs[i]
		d.ID, d.Fits = internal+d.ID, slices.Clone(d.Fits)
		for j := range d.Fits {
			d.Fits[j].MoldID = internal + d.Fits[j].MoldID
		}
	}
	next.Orders = nil
	for _, o := range p.Orders {
		next.Orders = append(next.Orders, relabelledOrder(o))
	}
	return &next
}

func relabelledOrder(o schedule.Order) schedule.Order {
	o.Name = "Favours " + strings.TrimPrefix(o.ID, "o")
	o.ID, o.Lines = internal+o.ID, slices.Clone(o.Lines)
	for i := range o.Lines {
		o.Lines[i].ID, o.Lines[i].DesignID = internal+o.Lines[i].ID, internal+o.Lines[i].DesignID
	}
	return o
}

// booked publishes a plan with lots and ids such as a book gives.
func booked(p *schedule.Problem, plan *schedule.Plan) *schedule.Problem {
	lots := map[string]string{}
	for _, b := range p.Batches {
		lots[b.ID] = b.Lot
	}
	next := publish(p, plan)
	for i := range next.Batches {
		b := &next.Batches[i]
		if b.Lot = lots[b.ID]; b.Lot == "" {
			b.ID, b.Lot = internal+b.ID, fmt.Sprintf("LOT-%d-%d", p.Now.Unix()/3600, i)
		}
	}
	return next
}

// texts is every sentence of a plan.
func texts(plan *schedule.Plan) []string {
	out := plan.Objective.Words()
	for _, b := range plan.Batches {
		for _, h := range b.Holds {
			out = append(out, h.Text)
		}
	}
	for _, r := range plan.Problems {
		out = append(out, r.Text)
	}
	return out
}

// TestNobodyReadsAnID plans, asks and upsets workshops, and looks for ids in
// all that a person reads.
func TestNobodyReadsAnID(t *testing.T) {
	read := 0
	readable := func(name string, list []string) {
		t.Helper()
		read += len(list)
		for _, text := range list {
			if strings.Contains(text, internal) || newBatch.MatchString(text) || strings.Contains(text, "  ") || text == "" {
				t.Errorf("%s: %q", name, text)
			}
		}
	}
	for seed := range uint64(25) {
		d := newDice(seed)
		p := d.workshop()
		enquiry := relabelledOrder(d.order(p, "q"))
		p = relabelled(p)
		for round := range 3 {
			name := fmt.Sprintf("workshop %d, round %d", seed, round)
			plan, err := schedule.Solve(context.Background(), p)
			if err != nil {
				t.Fatal(err)
			}
			readable(name, texts(plan))
			a, err := schedule.Promise(context.Background(), p, enquiry)
			if err != nil {
				t.Fatal(err)
			}
			readable(name+", promise", answerTexts(a))
			p = d.advance(booked(p, plan))
			if len(p.Batches) > 0 {
				lost := d.IntN(len(p.Batches))
				p.Batches = slices.Delete(p.Batches, lost, lost+1)
			}
			list, err := schedule.Reshuffle(context.Background(), p)
			if err != nil {
				t.Fatal(err)
			}
			for _, pr := range list {
				readable(name+", proposal", append(append(texts(pr.Plan), pr.Title), pr.Costs...))
			}
		}
	}
	if read < 1000 {
		t.Errorf("only %d sentences were read", read)
	}
}

func answerTexts(a *schedule.Answer) []string {
	out := texts(a.Plan)
	for _, r := range a.Reasons {
		out = append(out, r.Text)
	}
	for _, s := range a.Stages {
		out = append(out, s.Text)
	}
	for _, alt := range a.Alternatives {
		out = append(append(out, alt.Text), texts(alt.Plan)...)
	}
	return out
}

// TestWithoutNames: what has no name is described, and not called by its id.
func TestWithoutNames(t *testing.T) {
	p := eveningShop()
	p.Molds[0].Name, p.Designs[0].Name, p.Molds[0].Count = "", "", 1
	for i := range 3 {
		id := fmt.Sprintf("id-%d", i)
		p.Orders = append(p.Orders, schedule.Order{
			ID: id, Accepted: true, Weight: 1, NeededBy: asking(p, 1, 60).NeededBy,
			Lines: []schedule.Line{{ID: id + "-l", DesignID: "oat", Pieces: 20}},
		})
	}
	p = publish(p, solved(t, "nameless", p))
	for i := range p.Batches {
		p.Batches[i].Lot = ""
	}
	p.Designs[0].Blocked = "its fragrance is above the limit"
	p.Orders[0].Lines[0].Pieces = 80
	plan := solved(t, "blocked", p)
	if len(plan.Problems) == 0 {
		t.Error("a blocked design is no problem")
	}
	for _, text := range texts(plan) {
		if strings.Contains(text, "id-") || strings.Contains(text, "oat") {
			t.Errorf("%q names an id", text)
		}
	}
}
