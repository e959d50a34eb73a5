package pages

import (
	"net/url"
	"slices"
	"strings"

	"ripeline/orders"
)

// shelf is the workshop's named things, to show names where records hold ids
// and to offer choices.
type shelf struct {
	molds       []orders.Mold
	designs     []orders.Design
	recipes     []orders.Recipe
	ingredients []orders.Ingredient
	trials      []orders.Trial
	customers   []orders.Customer
	people      []orders.Person
}

// shelf reads all of them once for a request: a workshop has dozens, not
// thousands.
func (v *visit) shelf() (*shelf, error) {
	if v.named != nil {
		return v.named, nil
	}
	s, err := v.readShelf()
	if err == nil {
		v.named = s
	}
	return s, err
}

func (v *visit) readShelf() (*shelf, error) {
	s := &shelf{}
	var err error
	if s.molds, err = every(v, v.Book.Molds); err != nil {
		return nil, err
	}
	if s.designs, err = every(v, v.Book.Designs); err != nil {
		return nil, err
	}
	if s.recipes, err = every(v, v.Book.Recipes); err != nil {
		return nil, err
	}
	if s.ingredients, err = every(v, v.Book.Ingredients); err != nil {
		return nil, err
	}
	if s.trials, err = every(v, v.Book.Trials); err != nil {
		return nil, err
	}
	if s.customers, err = every(v, v.Book.Customers); err != nil {
		return nil, err
	}
	s.people, err = all(func(q orders.ListQuery) (orders.Page[orders.Person], error) {
		return v.Book.People(v.ctx(), v.actor, q)
	}, orders.ListQuery{All: true})
	return s, err
}

func byID[T any](list []T, id string, idOf func(T) string) (T, bool) {
	i := slices.IndexFunc(list, func(t T) bool { return idOf(t) == id })
	if i < 0 {
		var none T
		return none, false
	}
	return list[i], true
}

func (s *shelf) mold(id string) (orders.Mold, bool) {
	return byID(s.molds, id, func(m orders.Mold) string { return m.ID })
}

func (s *shelf) design(id string) (orders.Design, bool) {
	return byID(s.designs, id, func(d orders.Design) string { return d.ID })
}

func (s *shelf) recipe(id string) (orders.Recipe, bool) {
	return byID(s.recipes, id, func(r orders.Recipe) string { return r.ID })
}

func (s *shelf) ingredient(id string) (orders.Ingredient, bool) {
	return byID(s.ingredients, id, func(i orders.Ingredient) string { return i.ID })
}

// trialOf is how a design stands to its trial.
func (s *shelf) trialOf(d orders.Design) orders.TrialNeed {
	r, _ := s.recipe(d.RecipeID)
	return orders.TrialOf(d, r, s.ingredients, s.trials)
}

func (s *shelf) ingredientName(id string) string {
	i, ok := s.ingredient(id)
	return nameOr(i.Name, ok, "a removed ingredient")
}

func (s *shelf) designName(id string) string {
	d, ok := s.design(id)
	return nameOr(d.Name, ok, "a removed design")
}

func (s *shelf) moldName(id string) string {
	m, ok := s.mold(id)
	return nameOr(m.Name, ok, "a removed mold")
}

func (s *shelf) recipeName(id string) string {
	r, ok := s.recipe(id)
	return nameOr(r.Name, ok, "a removed recipe")
}

func (s *shelf) customerName(id string) string {
	c, ok := byID(s.customers, id, func(c orders.Customer) string { return c.ID })
	return nameOr(c.Name, ok, "a removed customer")
}

func (s *shelf) personName(id string) string {
	p, ok := byID(s.people, id, func(p orders.Person) string { return p.ID })
	return nameOr(p.Name, ok, "someone who left")
}

func nameOr(name string, found bool, otherwise string) string {
	if !found {
		return otherwise
	}
	return name
}

// choose makes options of a list: those not retired, and the one chosen now.
func choose[T any](list []T, first string, chosen string, of func(T) (id, name string, retired bool)) []option {
	out := []option{{Label: first}}
	for _, item := range list {
		id, name, retired := of(item)
		if !retired || id == chosen {
			out = append(out, option{Value: id, Label: name})
		}
	}
	slices.SortStableFunc(out[1:], func(a, b option) int {
		return strings.Compare(strings.ToLower(a.Label), strings.ToLower(b.Label))
	})
	return out
}

func (s *shelf) designChoices(chosen string) []option {
	return choose(s.designs, "Choose a design", chosen, func(d orders.Design) (string, string, bool) { return d.ID, d.Name, d.Retired })
}

func (s *shelf) recipeChoices(chosen string) []option {
	return choose(s.recipes, "Choose a recipe", chosen, func(r orders.Recipe) (string, string, bool) { return r.ID, r.Name, r.Retired })
}

func (s *shelf) moldChoices(chosen string) []option {
	return choose(s.molds, "Choose a mold", chosen, func(m orders.Mold) (string, string, bool) { return m.ID, m.Name, m.Retired })
}

func (s *shelf) ingredientChoices(chosen string) []option {
	return choose(s.ingredients, "Choose an ingredient", chosen, func(i orders.Ingredient) (string, string, bool) {
		return i.ID, i.Name, i.Retired
	})
}

func (s *shelf) customerChoices(chosen string) []option {
	return choose(s.customers, "Choose a customer", chosen, func(c orders.Customer) (string, string, bool) { return c.ID, c.Name, c.Retired })
}

func (s *shelf) personChoices(chosen string) []option {
	return choose(s.people, "Choose a person", chosen, func(p orders.Person) (string, string, bool) { return p.ID, p.Name, p.Retired })
}

// query encodes pairs of names and values.
func query(pairs ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		q.Add(pairs[i], pairs[i+1])
	}
	return q.Encode()
}
