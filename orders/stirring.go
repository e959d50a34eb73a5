package orders

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"ripeline/calc"
)

// PotAdded is so much of an ingredient as is stirred into one pot.
type PotAdded struct {
	IngredientID string         `json:"ingredient_id"`
	Name         string         `json:"name"`
	Kind         IngredientKind `json:"kind"`
	Mass         calc.Mass      `json:"mass_mg"`
}

// stirOrder is the order in which things go into the batter at trace (common
// practice): fragrance last, since it may thicken the batter.
var stirOrder = [...]IngredientKind{KindLiquid, KindOther, KindColour, KindBotanical, KindFragrance}

// stirred is what of a recipe is stirred in at trace, in that order.
func stirred(added []Weighed) []Weighed {
	var out []Weighed
	for _, kind := range stirOrder {
		for _, w := range added {
			if w.Kind == kind && w.Mass > 0 {
				out = append(out, w)
			}
		}
	}
	return out
}

// stirInto parts what is stirred in among the pots by their shares, each to the
// milligram.
func stirInto(pots []SheetPot, added []Weighed, ingredients []Ingredient) {
	if len(pots) == 0 {
		return
	}
	for _, w := range stirred(added) {
		in := potsFor(w, pots, browns(w, ingredients))
		shares := make([]calc.Pot, len(in))
		for i, p := range in {
			shares[i] = calc.Pot{Name: pots[p].Colour, Share: pots[p].Share}
		}
		for i, mass := range calc.Apportion(w.Mass, shares) {
			if mass > 0 {
				pots[in[i]].Added = append(pots[in[i]].Added, PotAdded{w.IngredientID, w.Name, w.Kind, mass})
			}
		}
	}
}

// browns reports whether what is weighed is a fragrance with vanillin.
func browns(w Weighed, ingredients []Ingredient) bool {
	i, ok := find(ingredients, w.IngredientID, func(i Ingredient) string { return i.ID })
	return ok && i.Kind == KindFragrance && i.Fragrance.Vanillin
}

// potsFor is the places of the pots an ingredient goes into. One that browns
// stays out of white pots; a colour goes into the pots it shares a word of its
// name with, or into all that are to have colour. What would go into none goes into
// all.
func potsFor(w Weighed, pots []SheetPot, browns bool) []int {
	var some []int
	switch {
	case browns:
		some = potsThat(pots, func(p SheetPot) bool { return !namedWith(p.Colour, "white") })
	case w.Kind == KindColour:
		some = potsThat(pots, func(p SheetPot) bool { return namedWith(p.Colour, wordsOf(w.Name)...) })
		if len(some) == 0 {
			some = potsThat(pots, func(p SheetPot) bool {
				return !namedWith(p.Colour, "white", "plain", "natural", "uncoloured", "uncolored")
			})
		}
	}
	if len(some) == 0 {
		return potsThat(pots, func(SheetPot) bool { return true })
	}
	return some
}

func potsThat(pots []SheetPot, takes func(SheetPot) bool) []int {
	var out []int
	for i, p := range pots {
		if takes(p) {
			out = append(out, i)
		}
	}
	return out
}

func namedWith(name string, words ...string) bool {
	return slices.ContainsFunc(wordsOf(name), func(w string) bool { return slices.Contains(words, w) })
}

func wordsOf(name string) []string {
	return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) })
}

// keptOut is the colours of the pots that hold nothing of what is stirred in.
func keptOut(pots []SheetPot, w Weighed) []string {
	var out []string
	for _, p := range pots {
		if p.added(w.IngredientID) == 0 {
			out = append(out, fmt.Sprintf("%q", p.Colour))
		}
	}
	return out
}

// added is how much of an ingredient goes into the pot.
func (p SheetPot) added(ingredientID string) calc.Mass {
	a, _ := find(p.Added, ingredientID, func(a PotAdded) string { return a.IngredientID })
	return a.Mass
}

// strongPots warns of fragrances that only some of the pots share: those hold
// more of them than the recipe says.
func strongPots(s Sheet) []Caution {
	var out []Caution
	for _, w := range stirred(s.Weights.Added) {
		others := keptOut(s.Pots, w)
		if w.Kind != KindFragrance || len(others) == 0 {
			continue
		}
		var most calc.PPM
		for _, p := range s.Pots {
			whole := p.Mass
			for _, a := range p.Added {
				whole += a.Mass
			}
			most = max(most, calc.ShareOf(p.added(w.IngredientID), whole))
		}
		out = append(out, Caution{
			cautionFragrance,
			fmt.Sprintf("%s goes into the other pots only, where it is %s of the batter: hold that against its limit if a piece may be of one pot alone.", w.Name, most),
			"worked out from the weights",
		})
	}
	return out
}

// stirStage is the stirring in at trace, each ingredient pot by pot; it has no
// items when nothing is stirred in.
func stirStage(s Sheet) SheetStage {
	stage := SheetStage{Title: "Stir in at trace"}
	for _, w := range stirred(s.Weights.Added) {
		item := SheetItem{Item: "stir:" + w.IngredientID, Text: w.Name, Mass: w.Mass, AtMost: w.Kind == KindFragrance}
		if w.Kind == KindBotanical && s.Dressing != "" {
			item.Text += ", less what is kept for the top"
		}
		if len(s.Pots) == 0 {
			stage.Items = append(stage.Items, item)
			continue
		}
		stage.Items = append(stage.Items, item.inPots(s.Pots, w.IngredientID)...)
		if out := keptOut(s.Pots, w); w.Kind == KindFragrance && len(out) > 0 {
			stage.Title += fmt.Sprintf("; no %s into %s", w.Name, strings.Join(out, ", "))
		}
	}
	return stage
}

// inPots is the item for each pot that holds some of the ingredient, named by the
// pot's place: where colours change places a tick shows as of something else.
func (i SheetItem) inPots(pots []SheetPot, ingredientID string) []SheetItem {
	var out []SheetItem
	for n, p := range pots {
		mass := p.added(ingredientID)
		if mass == 0 {
			continue
		}
		item := i
		item.Item = fmt.Sprintf("%s:%d", i.Item, n+1)
		item.Text, item.Mass = fmt.Sprintf("%s into %q", i.Text, p.Colour), mass
		out = append(out, item)
	}
	return out
}
