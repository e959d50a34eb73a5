package orders

import (
	"fmt"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// workings is the recipes of a book worked out, each only once for all batches
// that pour the same volume of the same design: a book has many of those.
type workings struct {
	book *Snapshot
	done map[poured]worked
}

type poured struct {
	designID string
	volume   calc.Volume
}

type worked struct {
	mixture
	err error
}

func (s *Snapshot) workings() *workings { return &workings{book: s, done: map[poured]worked{}} }

// needsOf is what is weighed out for a batch by its recipe as it is now, its
// lye too. The error says in words why it can not be worked out.
func (w *workings) needsOf(b Batch) ([]need, error) {
	d, _ := find(w.book.Designs, b.DesignID, func(d Design) string { return d.ID })
	volume := w.book.volumeOf(d, b.Molds)
	key := poured{d.ID, volume}
	mixed, ok := w.done[key]
	if !ok {
		mixed.mixture, mixed.err = w.book.mixed(d, volume)
		w.done[key] = mixed
	}
	if mixed.err != nil {
		return nil, mixed.err
	}
	return mixed.withLye(w.book.Ingredients, civil.Of(b.Make.From)), nil // which lye is a guess, so that the day by UTC will do
}

// mixed is so much of a design's recipe.
func (s *Snapshot) mixed(d Design, volume calc.Volume) (mixture, error) {
	r, _ := find(s.Recipes, d.RecipeID, func(r Recipe) string { return r.ID })
	kilo, err := mixtureOf(r, s.Ingredients)
	if err != nil {
		return mixture{}, err
	}
	if volume == 0 {
		return mixture{}, fmt.Errorf("the cut of %s does not fit its molds any more", d.Name)
	}
	return kilo.filling(volume)
}
