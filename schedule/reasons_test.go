package schedule_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TestProofsAddUp reads the reasons of what is refused for good as a person would:
// what is there in time and what can be poured in time are fewer pieces than are
// asked for, by the order and by the others that are named.
func TestProofsAddUp(t *testing.T) {
	sums := 0
	for seed := range uint64(400) {
		d := newDice(9000 + seed)
		p := d.workshop()
		p.Budget = 1
		for range 2 {
			p = d.advance(publish(p, solved(t, "published", p)))
		}
		for i := range p.Batches {
			if d.chance(50) {
				p.Batches[i].CureUntil = civil.Of(p.Now).AddDays(d.between(1, 40))
			}
		}
		enquiry := d.order(p, "q")
		enquiry.NeededBy, enquiry.HandOver, enquiry.Lines = civil.Of(p.Now).AddDays(d.between(0, 30)), 0, enquiry.Lines[:1]
		a, err := schedule.Promise(context.Background(), p, enquiry)
		if err != nil {
			t.Fatal(err)
		}
		if !a.Proved {
			continue
		}
		there, poured, owed, supplied, chain := 0, 0, 0, -1, false
		for _, r := range a.Reasons {
			said(r.Text, "at most ", &there)
			said(r.Text, "All molds filled before give ", &poured)
			said(r.Text, "there are supplies for ", &supplied)
			said(r.Text, "Other orders that are in time need ", &owed)
			chain = chain || r.Kind == schedule.HoldCut
		}
		if !chain {
			continue // all of it waits for what is there already
		}
		if supplied >= 0 { // which is poured pieces, of which some spoil
			poured = supplied - int(math.Ceil(float64(supplied)*spoil(p, enquiry)-1e-9))
		}
		if there+poured+owed > 0 {
			sums++
		}
		if asked := enquiry.Lines[0].Pieces; there+poured-owed >= asked {
			t.Errorf("workshop %d: %d there and %d poured are enough for %d asked for and %d owed: %v", seed, there, poured, asked, owed, a.Reasons)
		}
	}
	if sums < 20 {
		t.Errorf("only %d proofs have something to add up", sums)
	}
}

// spoil is the share that spoils of what an order's first line asks for.
func spoil(p *schedule.Problem, o schedule.Order) float64 {
	i := slices.IndexFunc(p.Designs, func(d schedule.Design) bool { return d.ID == o.Lines[0].DesignID })
	return p.Designs[i].Spoil
}

// said reads the number that follows some words in a text, where they are there.
func said(text, words string, n *int) {
	if _, after, found := strings.Cut(text, words); found {
		if _, err := fmt.Sscan(after, n); err != nil {
			*n = 0
		}
	}
}
