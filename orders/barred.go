package orders

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"ripeline/schedule"
)

// Bar is why nothing more of a design may be poured, and where that is mended. No
// hours, mold or later date helps against it.
type Bar struct {
	DesignID string `json:"design_id"`
	Design   string `json:"design"`
	Text     string `json:"text"` // why, and what to do, without a full stop
	Mend     MendAt `json:"mend"`
	MendID   string `json:"mend_id"` // of the recipe or the design that has to change
	MendName string `json:"mend_name"`
}

// MendAt is the kind of record that has to change.
type MendAt string

// The kinds of record that mend a bar.
const (
	MendRecipe MendAt = "recipe"
	MendDesign MendAt = "design"
)

// Bars lists the designs of which nothing may be poured, by name; retired ones too,
// since orders may wait for them.
func (b *Book) Bars(ctx context.Context, a Actor) ([]Bar, error) {
	return read(ctx, b, a, func(tx Tx) ([]Bar, error) {
		snap, err := tx.Snapshot(ctx)
		if err != nil {
			return nil, err
		}
		var out []Bar
		for _, d := range snap.Designs {
			if bar := snap.bar(d); bar != nil {
				out = append(out, *bar)
			}
		}
		slices.SortFunc(out, func(a, b Bar) int {
			return cmp.Or(strings.Compare(a.Design, b.Design), strings.Compare(a.DesignID, b.DesignID))
		})
		return out, nil
	})
}

// bar is what stands against pouring a design; nil when nothing does.
func (s *Snapshot) bar(d Design) *Bar {
	at := Bar{DesignID: d.ID, Design: d.Name, Mend: MendDesign, MendID: d.ID, MendName: d.Name}
	recipe, ok := find(s.Recipes, d.RecipeID, func(r Recipe) string { return r.ID })
	if !ok {
		at.Text = fmt.Sprintf("%s has no recipe; give it one", d.Name)
		return &at
	}
	if fits, _ := s.fits(d); len(fits) == 0 {
		at.Text = fmt.Sprintf("%s has no mold it can be poured in; choose one", d.Name)
		return &at
	}
	at.Mend, at.MendID, at.MendName = MendRecipe, recipe.ID, recipe.Name
	if at.Text = cmp.Or(s.trialOf(d).unfit(d.Name), s.unsafeRecipe(recipe)); at.Text == "" {
		return nil
	}
	return &at
}

// unsafeRecipe says why a recipe may not be poured and what to change, "" when it
// may: its certificates forbid it, or it can not be worked out as its ingredients
// are by now, such as a lye above what dissolves.
func (s *Snapshot) unsafeRecipe(r Recipe) string {
	f := FragranceOf(r, s.Ingredients)
	switch {
	case f.Refusal != "":
		return fmt.Sprintf("%s. Change that in the recipe %s and it is planned again, or promise another design", f.Refusal, r.Name)
	case f.Trouble != "":
		return fmt.Sprintf("the recipe %s can not be worked out (%s). Change it and it is planned again, or promise another design", r.Name, strings.TrimSuffix(f.Trouble, "."))
	}
	return ""
}

// pouredAllTheSame says of a batch that had left the plan what stood against pouring it.
func pouredAllTheSame(ctx context.Context, tx Tx, x Batch) ([]string, error) {
	snap, err := tx.Snapshot(ctx)
	if err != nil {
		return nil, err
	}
	out := []string{x.Lot + " had left the plan."}
	d, _ := find(snap.Designs, x.DesignID, func(d Design) string { return d.ID })
	if bar := snap.bar(d); bar != nil {
		out = append(out, fmt.Sprintf("%s may not be poured: %s.", d.Name, strings.TrimSuffix(bar.Text, ".")))
	}
	if r, ok := find(snap.Recipes, d.RecipeID, func(r Recipe) string { return r.ID }); ok {
		f := FragranceOf(r, snap.Ingredients)
		out = append(out, f.notForSale(d.Name)...)
	}
	return out, nil
}

// forSale is the problem in which soap that is not for sale is only there for the orders
// that hold it: nothing more of it is promised.
func (s *Snapshot) forSale(p *schedule.Problem) *schedule.Problem {
	out := *p
	held := func(all []schedule.Share) int {
		n := 0
		for _, x := range all {
			n += x.Pieces
		}
		return n
	}
	refused := map[string]bool{}
	for _, d := range s.Designs {
		if r, ok := find(s.Recipes, d.RecipeID, func(r Recipe) string { return r.ID }); ok {
			f := FragranceOf(r, s.Ingredients)
			refused[d.ID] = f.Refusal != ""
		}
	}
	out.Batches, out.Stock = slices.Clone(p.Batches), slices.Clone(p.Stock)
	for i := range out.Batches {
		if b := &out.Batches[i]; refused[b.DesignID] {
			b.Sound = held(b.For)
		}
	}
	out.Stock = slices.DeleteFunc(out.Stock, func(k schedule.Stock) bool { return refused[k.DesignID] && len(k.For) == 0 })
	for i := range out.Stock {
		if k := &out.Stock[i]; refused[k.DesignID] {
			k.Pieces = held(k.For)
		}
	}
	return &out
}

// mend offers to change what bars the question's designs, and says whether it could
// be promised then; nothing where none is barred.
func (s *Snapshot) mend(ctx context.Context, p *schedule.Problem, q schedule.Order) ([]schedule.Alternative, error) {
	var bars []Bar
	for _, d := range s.Designs {
		asked := slices.ContainsFunc(q.Lines, func(l schedule.Line) bool { return l.DesignID == d.ID })
		if bar := s.bar(d); asked && bar != nil {
			bars = append(bars, *bar)
		}
	}
	if len(bars) == 0 {
		return nil, nil
	}
	then, err := schedule.Promise(ctx, unbarred(p, bars), q)
	if err != nil {
		return nil, err
	}
	out := make([]schedule.Alternative, len(bars))
	for i, bar := range bars {
		out[i] = schedule.Alternative{Kind: schedule.AltMend, DesignID: bar.DesignID, Text: fmt.Sprintf("Change the %s %s. %s", bar.Mend, bar.MendName, onceMended(then, q))}
		if then.Verdict == schedule.Yes {
			out[i].Ready = then.Ready
		}
	}
	return out, nil
}

// unbarred is the problem in which those designs may be poured.
func unbarred(p *schedule.Problem, bars []Bar) *schedule.Problem {
	free := *p
	free.Designs = slices.Clone(p.Designs)
	for i := range free.Designs {
		if slices.ContainsFunc(bars, func(b Bar) bool { return b.DesignID == free.Designs[i].ID }) {
			free.Designs[i].Blocked = "" // the fits of one without a mold are empty all the same
		}
	}
	return &free
}

// onceMended says what the answer would be if nothing were barred.
func onceMended(then *schedule.Answer, q schedule.Order) string {
	switch {
	case then.Verdict == schedule.Yes:
		return fmt.Sprintf("As things stand it could then be ready on %s, in time for %s.", then.Ready, q.NeededBy)
	case then.Verdict == schedule.YesIf:
		return fmt.Sprintf("Whether it could then be ready by %s depends on more: ask again once that is done.", q.NeededBy)
	case !then.Earliest.IsZero():
		return fmt.Sprintf("As things stand the earliest date to promise would then be %s.", then.Earliest)
	}
	return "Ask again once that is done."
}
