package orders

import (
	"fmt"
	"time"

	"ripeline/calc"
)

// SheetStage is a stage of the making day with what there is to do in it, in
// order.
type SheetStage struct {
	Title string      `json:"title"`
	Items []SheetItem `json:"items"`
}

// SheetItem is one thing to do, which can be ticked. Mass is what to weigh, 0
// for what is not weighed.
type SheetItem struct {
	Item string    `json:"item"` // names it, for ticking
	Text string    `json:"text"`
	Mass calc.Mass `json:"mass_mg"`
	// AtMost is set of a fragrance, which may be at its largest safe dose: whoever
	// rounds the mass rounds it down.
	AtMost bool      `json:"at_most,omitempty"`
	At     time.Time `json:"at,omitzero"` // when it was ticked
	By     string    `json:"by,omitempty"`
	// Earlier is a tick of what the item was before a change: by what it is now it
	// is not done.
	Earlier *EarlierTick `json:"earlier,omitempty"`
}

// EarlierTick is a tick of an item that said or weighed something else.
type EarlierTick struct {
	Text string    `json:"text"`
	Mass calc.Mass `json:"mass_mg"`
	At   time.Time `json:"at"`
	By   string    `json:"by,omitempty"`
}

// SheetReading is a value to note while making. Reading is 0 until it is noted;
// a temperature is in thousandths of a degree Celsius, a time in minutes.
type SheetReading struct {
	Item    string    `json:"item"`
	Text    string    `json:"text"`
	Reading int64     `json:"reading"`
	Most    int64     `json:"most"`
	At      time.Time `json:"at,omitzero"`
	By      string    `json:"by,omitempty"`
}

func readings(ticks []Tick) []SheetReading {
	out := []SheetReading{
		{Item: ReadOilsTemp, Text: "Oils when combined", Most: int64(maxReadTemp)},
		{Item: ReadLyeTemp, Text: "Lye solution when combined", Most: int64(maxReadTemp)},
		{Item: ReadTrace, Text: "Minutes to trace", Most: longestTrace},
	}
	for i := range out {
		if k, ok := find(ticks, out[i].Item, func(k Tick) string { return k.Item }); ok {
			out[i].Reading, out[i].At, out[i].By = k.Reading, k.At, k.Person
		}
	}
	return out
}

// work is the order of work of the making day (common practice), each thing
// with its tick. A sheet without weights has none.
func (m making) work(s Sheet, ticks []Tick) []SheetStage {
	if s.Weights == nil {
		return nil
	}
	stages := []SheetStage{
		{"Get ready", []SheetItem{
			{Item: "gear", Text: "Goggles, gloves and long sleeves on; water running; children and animals out"},
			{Item: "molds", Text: "Molds lined and at hand"},
		}},
		{"Lye solution, first, so that it cools", lyeItems(s.Weights.Lye)},
		{"Oils", oilItems(*s.Weights)},
	}
	if added := addedItems(s.Weights.Added); len(added) > 0 {
		stages = append(stages, SheetStage{"Weigh ready", added})
	}
	stages = append(stages, combineStage(s))
	if stir := stirStage(s); len(stir.Items) > 0 {
		stages = append(stages, stir)
	}
	stages = append(stages, SheetStage{"Pour", pourItems(s)})
	for i := range stages {
		for j := range stages[i].Items {
			item := &stages[i].Items[j]
			if k, ok := find(ticks, item.Item, func(k Tick) string { return k.Item }); ok {
				item.tick(k)
			}
		}
	}
	return stages
}

// tick marks the item as done by a tick of it, unless it was of something else.
func (i *SheetItem) tick(k Tick) {
	if k.Text != "" && (k.Text != i.Text || k.Mass != i.Mass) {
		i.Earlier = &EarlierTick{Text: k.Text, Mass: k.Mass, At: k.At, By: k.Person}
		return
	}
	i.At, i.By = k.At, k.Person
}

func lyeItems(l LyeWeights) []SheetItem {
	if l.Stock != nil {
		stock := SheetItem{Item: "stock", Text: fmt.Sprintf("Lye stock of %s", l.Stock.Concentration), Mass: l.Stock.Mass}
		if l.Stock.Water == 0 {
			return []SheetItem{stock}
		}
		stock.Text += ", into the water"
		return []SheetItem{{Item: "water", Text: "Cold water", Mass: l.Stock.Water}, stock}
	}
	out := []SheetItem{{Item: "water", Text: "Cold water", Mass: l.Water}}
	if l.NaOH > 0 {
		out = append(out, SheetItem{Item: "naoh", Text: "Lye (NaOH), into the water", Mass: l.NaOH})
	}
	if l.KOH > 0 {
		out = append(out, SheetItem{Item: "koh", Text: "Potash lye (KOH), into the water", Mass: l.KOH})
	}
	return out
}

func oilItems(w Weights) []SheetItem {
	var out []SheetItem
	if w.BlendMass > 0 {
		out = append(out, SheetItem{Item: "blend", Text: "Ready-mixed oils", Mass: w.BlendMass})
	}
	for _, o := range w.Oils {
		if !o.Blended {
			out = append(out, SheetItem{Item: "oil:" + o.IngredientID, Text: o.Name, Mass: o.Mass})
		}
	}
	return out
}

func addedItems(added []Weighed) []SheetItem {
	var out []SheetItem
	for _, w := range added {
		if w.Kind != KindPackaging {
			out = append(out, SheetItem{Item: "add:" + w.IngredientID, Text: w.Name, Mass: w.Mass, AtMost: w.Kind == KindFragrance})
		}
	}
	return out
}

// combineStage names the pots by their colours, so that a tick stays with its
// colour; several of one colour are counted.
func combineStage(s Sheet) SheetStage {
	title := "Combine"
	if len(s.Pots) > 0 && len(s.Weights.Added) > 0 {
		title = "Combine (pots before what is stirred in)"
	}
	out := []SheetItem{{Item: "combine", Text: "Lye solution into the oils, stirred to trace"}}
	seen := make(map[string]int)
	for _, p := range s.Pots {
		seen[p.Colour]++
		out = append(out, SheetItem{Item: fmt.Sprintf("pot:%d:%s", seen[p.Colour], p.Colour), Text: fmt.Sprintf("Pot %q, %s", p.Colour, p.Share), Mass: p.Mass})
	}
	return SheetStage{title, out}
}

func pourItems(s Sheet) []SheetItem {
	var out []SheetItem
	seen := make(map[string]int)
	for i, f := range s.Fills {
		seen[f.MoldID]++
		item := SheetItem{
			Item: fmt.Sprintf("mold:%d:%s", seen[f.MoldID], f.MoldID), Mass: f.Batter.Mass / calc.Mass(max(1, f.Units)),
			Text: fmt.Sprintf("%d × %s, %s", f.Units, f.Mold, s.Cuts[i].PouredText()),
		}
		if f.Units > 1 {
			item.Text += ", into each"
		}
		out = append(out, item)
	}
	if s.Dressing != "" {
		out = append(out, SheetItem{Item: "top", Text: "On top: " + s.Dressing})
	}
	return append(out, SheetItem{Item: "tidy", Text: "Everything that touched lye or batter washed up; lye locked away"})
}
