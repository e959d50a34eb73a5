package pages

import (
	"fmt"
	"slices"
	"strings"

	"ripeline/calc"
	"ripeline/orders"
)

func designs() recordKind[orders.Design] {
	return recordKind[orders.Design]{
		path: "/designs", one: "design", many: "Designs",
		intro:   "What a customer orders: a recipe with its cut, its colours and its looks.",
		empty:   "No design yet. Add a mold and a recipe first, then your first design.",
		keep:    "A design that was ordered or poured can not be removed. Tick “no longer made” instead.",
		records: func(b *orders.Book) orders.Records[orders.Design] { return b.Designs },
		meta:    func(d *orders.Design) *orders.Meta { return &d.Meta },
		blank: func(*visit) orders.Design { // common practice, for the maker to change
			return orders.Design{Spoil: 4 * calc.Percent, Cut: orders.CutPlan{
				Thickness: 25 * calc.Millimetre, TrimEnds: 5 * calc.Millimetre, PiecesPerSlice: 1, Spacing: 15 * calc.Millimetre,
			}}
		},
		row: designRow, fields: designFields, read: readDesign, aside: designAside, also: designSale,
	}
}

func designRow(_ *visit, s *shelf, d orders.Design) recordRow {
	row := recordRow{Title: d.Name, Badge: d.LotCode, Lines: []string{"Recipe: " + s.recipeName(d.RecipeID)}}
	for _, id := range d.MoldIDs {
		m, ok := s.mold(id)
		cut, err := calc.Yield(calcMold(m), calc.CutPlan(d.Cut))
		if ok && err == nil {
			row.Lines = append(row.Lines, fmt.Sprintf("%s: %s", m.Name, count(cut.Pieces, "piece")))
		}
	}
	switch trial := s.trialOf(d); {
	case d.Retired:
		row.Faint, row.Badge = true, "no longer made"
	case trial.Needed:
		row.Lines = append(row.Lines, "Needs a trial before the first real pour")
	}
	return row
}

func calcMold(m orders.Mold) calc.Mold {
	return calc.Mold{Kind: m.Kind, Length: m.Length, Width: m.Width, Depth: m.Depth, Cavities: m.Cavities, CavityVolume: m.CavityVolume}
}

// onlyChoices picks a new design's recipe and mold where there is but one.
func onlyChoices(s *shelf, d orders.Design) orders.Design {
	var recipes, molds []string
	for _, r := range s.recipes {
		if !r.Retired {
			recipes = append(recipes, r.ID)
		}
	}
	for _, m := range s.molds {
		if !m.Retired {
			molds = append(molds, m.ID)
		}
	}
	if len(recipes) == 1 {
		d.RecipeID = recipes[0]
	}
	if len(molds) == 1 {
		d.MoldIDs = molds
	}
	return d
}

func designFields(f *form, s *shelf, d orders.Design) []fieldGroup {
	w := f.words
	if d.ID == "" && !f.sent {
		d = onlyChoices(s, d)
	}
	cut := func(name, label string, l calc.Length) field {
		return f.quantityInput("cut."+name, label, w.lengthValue(l), w.lengthUnit())
	}
	whole := func(name, label string, n int) field { return blankZero(f.wholeInput("cut."+name, label, n)) }
	rows := colourRows(f, d.Colours)
	colours := f.group("colours", "Colours")
	colours.Rows, colours.Hint = rows, "The pots the batter is split into. The shares must add up to 100 %. Leave all empty for one pot."
	return []fieldGroup{
		{Fields: []field{
			f.textInput("name", "Name", d.Name).must(),
			f.textInput("lot_code", "Code", d.LotCode).must().hint("2 to 6 letters. Every batch gets a number that begins with them, such as OAT-261203-1."),
			f.selectInput("recipe_id", "Recipe", d.RecipeID, s.recipeChoices(d.RecipeID)).must(),
		}},
		moldTicks(f, s, d),
		{Title: "Cut of a loaf", Hint: "For a slab leave thickness and pieces per slice empty; for cavities fill in pieces per cavity only.", Fields: []field{
			cut("thickness_um", "Thickness of a slice", d.Cut.Thickness),
			whole("pieces_per_slice", "Pieces per slice or cavity", d.Cut.PiecesPerSlice),
			cut("trim_ends_um", "Trim lost at each end", d.Cut.TrimEnds),
		}},
		{Title: "Cut of a slab", Hint: "Leave these empty for a loaf or cavities.", Fields: []field{
			whole("rows", "Rows", d.Cut.Rows), whole("columns", "Columns", d.Cut.Columns),
		}},
		{Title: "Room", Fields: []field{
			cut("spacing_um", "Gap between pieces on the rack", d.Cut.Spacing),
			cut("dressing_clear_um", "Keep the dressing off the cuts by", d.Cut.DressingClear),
		}},
		colours,
		{Title: "Looks and losses", Fields: []field{
			f.textInput("dressing", "Dressing on top", d.Dressing).hint("Such as oat flakes or dried petals."),
			f.quantityInput("spoil_ppm", "Pieces usually spoiled", percentValue(d.Spoil), "%"),
			f.moneyInput("packaging_minor", "Packaging of a piece", d.Packaging).hint("Wrapper, label and string. For costs and quotes."),
			f.tickInput("trial_passed", "The trial was judged good", d.TrialOK),
			f.tickInput("retired", "No longer made", d.Retired),
		}},
	}
}

func moldTicks(f *form, s *shelf, d orders.Design) fieldGroup {
	g := f.group("mold_ids", "Molds it may be poured in")
	for _, m := range s.molds {
		chosen := slices.Contains(d.MoldIDs, m.ID)
		if !m.Retired || chosen {
			g.Fields = append(g.Fields, f.tickInput("mold_"+m.ID, m.Name, chosen))
		}
	}
	if len(g.Fields) == 0 {
		g.Hint = "There is no mold yet. Add one under Molds first."
	}
	return g
}

func colourRows(f *form, colours []orders.Colour) [][]field {
	filled := len(colours)
	if f.sent {
		filled = f.compact("colours", mostRows, "name", "share_ppm")
	}
	var rows [][]field
	for i := range filled + spareRows {
		var c orders.Colour
		share := ""
		if i < len(colours) {
			c = colours[i]
			share = percentValue(c.Share)
		}
		rows = append(rows, []field{
			f.textInput(rowName("colours", i, "name"), "Colour", c.Name),
			f.quantityInput(rowName("colours", i, "share_ppm"), "Share", share, "%"),
		})
	}
	return rows
}

func readDesign(f *form, s *shelf, d *orders.Design) {
	d.Name, d.LotCode, d.RecipeID = f.text("name"), strings.ToUpper(f.text("lot_code")), f.text("recipe_id")
	d.Cut = orders.CutPlan{
		Thickness: f.length("cut.thickness_um"), TrimEnds: f.length("cut.trim_ends_um"),
		PiecesPerSlice: f.whole("cut.pieces_per_slice", 0), Rows: f.whole("cut.rows", 0), Columns: f.whole("cut.columns", 0),
		Spacing: f.length("cut.spacing_um"), DressingClear: f.length("cut.dressing_clear_um"),
	}
	d.MoldIDs = []string{}
	for _, m := range s.molds {
		if f.ticked("mold_" + m.ID) {
			d.MoldIDs = append(d.MoldIDs, m.ID)
		}
	}
	d.Colours = []orders.Colour{}
	for i := range f.compact("colours", mostRows, "name", "share_ppm") {
		d.Colours = append(d.Colours, orders.Colour{
			Name: f.text(rowName("colours", i, "name")), Share: f.percent(rowName("colours", i, "share_ppm")),
		})
	}
	d.Dressing, d.Spoil, d.Packaging = f.text("dressing"), f.percent("spoil_ppm"), f.money("packaging_minor")
	d.TrialOK, d.Retired = f.ticked("trial_passed"), f.ticked("retired")
}

// designAside is the cut drawn to scale in each of the design's molds.
func designAside(v *visit, s *shelf, d orders.Design) aside {
	out := aside{Title: "What one full mold gives"}
	for _, id := range d.MoldIDs {
		m, ok := s.mold(id)
		if !ok {
			continue
		}
		cut := orders.CutOf(m, d)
		if cut.Trouble != "" {
			out.Warn = append(out.Warn, m.Name+": "+v.words.limits(cut.Trouble))
			continue
		}
		pic := drawCut(v.words, cut)
		if b := cut.Better; b != nil && v.may(orders.Owner) {
			pic.Take = &takeCut{"/designs/" + d.ID + "/less-waste", m.ID, "Cut slices of " + v.words.length(b.Cut.Thickness), d.Version, newOnce()}
		}
		out.Cuts = append(out.Cuts, pic)
	}
	return out
}
