package pages

import (
	"fmt"
	"strconv"

	"ripeline/orders"
)

func ingredients() recordKind[orders.Ingredient] {
	return recordKind[orders.Ingredient]{
		path: "/ingredients", one: "ingredient", many: "Ingredients",
		intro:   "What your recipes use, how much is on the shelf, and how long more takes to arrive. A pour is never planned before its supplies can be there; “Supplies” says what to order by when.",
		empty:   "No ingredient yet. Add your oils first, with the saponification value from the supplier's sheet.",
		keep:    "An ingredient that a recipe uses can not be removed. Tick “no longer used” instead.",
		records: func(b *orders.Book) orders.Records[orders.Ingredient] { return b.Ingredients },
		meta:    func(i *orders.Ingredient) *orders.Meta { return &i.Meta },
		blank:   blankIngredient, start: knownOils,
		row: ingredientRow, fields: ingredientPage, read: readIngredientPage, aside: ingredientAside,
	}
}

func ingredientRow(v *visit, _ *shelf, i orders.Ingredient) recordRow {
	row := recordRow{Title: i.Name, Badge: string(i.Kind)}
	onHand := "none on the shelf"
	if i.OnHand > 0 {
		onHand = v.words.stored(i.OnHand) + " on the shelf"
	}
	if i.Expired > 0 {
		onHand += ", " + v.words.stored(i.Expired) + " expired"
	}
	if i.Kind == orders.KindOil {
		onHand = fmt.Sprintf("saponification value %s, %s", svText(i), onHand)
	}
	row.Lines = append(row.Lines, capital(onHand))
	if i.LeadDays > 0 {
		row.Lines = append(row.Lines, "Takes "+count(i.LeadDays, "day")+" to arrive")
	}
	if !i.ExpectedOn.IsZero() {
		row.Lines = append(row.Lines, "On order, expected "+v.words.day(i.ExpectedOn))
	}
	if i.Retired {
		row.Faint, row.Badge = true, "no longer used"
	}
	return row
}

func svText(i orders.Ingredient) string {
	if i.SVLow == 0 || i.SVHigh == 0 {
		return number(i.SVUsed)
	}
	return fmt.Sprintf("%s (range %s–%s)", number(i.SVUsed), number(i.SVLow), number(i.SVHigh))
}

func ingredientFields(f *form, _ *shelf, i orders.Ingredient) []fieldGroup {
	kinds := []option{
		{Value: "oil", Label: "Oil, butter or wax"},
		{Value: "lye", Label: "Lye"},
		{Value: "liquid", Label: "Liquid"},
		{Value: "fragrance", Label: "Fragrance"},
		{Value: "colour", Label: "Colour"},
		{Value: "botanical", Label: "Botanical"},
		{Value: "packaging", Label: "Packaging"},
		{Value: "other", Label: "Other"},
	}
	return []fieldGroup{
		{Fields: []field{
			f.textInput("name", "Name", i.Name).must(),
			f.selectInput("kind", "Kind", string(i.Kind), kinds),
			f.textInput("label_name", "Name on the label", i.LabelName).hint("Usually the INCI name."),
			lyeKind(f, i),
		}},
		{
			Fold: i.Kind != orders.KindOil, Summary: "only for oils",
			Title: "Saponification value, in mg KOH per g",
			Hint:  "Only for oils. Use the value on your supplier's sheet or certificate; the range shows how far an oil can stray from it.",
			Fields: append([]field{
				f.quantityInput("sv_used", "Value used", number(i.SVUsed), ""),
				f.quantityInput("sv_low", "Lowest", number(i.SVLow), "").half(),
				f.quantityInput("sv_high", "Highest", number(i.SVHigh), "").half(),
				f.quantityInput("density_g_per_ml", "Density", number(i.Density), "g/ml").hint("At the temperature you pour at, from your supplier's sheet. That of a usual oil is an estimate for 20 °C, for you to confirm. Empty when you do not know it."),
			}, svOrigin(f, i)...),
		},
		{Title: "Supply", Fields: supplyFields(f, i)},
	}
}

// ingredientAside leads to what is on the shelf and on order.
func ingredientAside(v *visit, _ *shelf, i orders.Ingredient) aside {
	out := aside{Title: "On the shelf", Lines: []string{v.words.stored(i.OnHand) + " in lots that are good"}, Links: []link{
		{supplyHref(i.ID), "Its lots, and what the plan needs"},
		{"/lots/new?" + query("ingredient", i.ID), "Add a lot"},
		{"/purchases/new?" + query("ingredient", i.ID), "I have ordered some"},
	}}
	if i.Expired > 0 {
		out.Lines = append(out.Lines, v.words.stored(i.Expired)+" that expired, which the plan does not count on")
	}
	if !i.ExpectedOn.IsZero() {
		out.Lines = append(out.Lines, "On order, expected "+v.words.day(i.ExpectedOn))
	}
	return out
}

// supplyFields asks for the stock of a new ingredient only: later it is told by
// its lots.
func supplyFields(f *form, i orders.Ingredient) []field {
	fields := []field{
		f.wholeInput("lead_days", "Days from ordering to the shelf", i.LeadDays).hint("The plan counts back from the pour by this. 0: fetched the same day."),
		f.tickInput("retired", "No longer used", i.Retired),
	}
	if i.ID != "" {
		return fields
	}
	shelf := f.quantityInput("on_hand_mg", "On the shelf now", f.words.massValue(i.OnHand), f.words.massUnit()).
		hint("Becomes its first lot. Another unit may be written: 2 kg, 1.5 lb.")
	return append([]field{shelf}, fields...)
}

func readIngredient(f *form, _ *shelf, i *orders.Ingredient) {
	i.Name, i.LabelName, i.Kind = f.text("name"), f.text("label_name"), orders.IngredientKind(f.text("kind"))
	i.SVUsed, i.SVLow, i.SVHigh = f.decimal("sv_used"), f.decimal("sv_low"), f.decimal("sv_high")
	i.Density, i.LeadDays = f.decimal("density_g_per_ml"), f.whole("lead_days", 0)
	if i.ID == "" {
		i.OnHand = f.mass("on_hand_mg")
	}
	i.Retired = f.ticked("retired")
	readLyeKind(f, i)
}

func customers() recordKind[orders.Customer] {
	return recordKind[orders.Customer]{
		path: "/customers", one: "customer", many: "Customers",
		intro:   "Who orders from you. A customer can be given a calendar with nothing in it but their own order's dates.",
		empty:   "No customer yet. One is added when you take an order.",
		keep:    "A customer with orders can not be removed. Tick “no longer a customer” instead.",
		records: func(b *orders.Book) orders.Records[orders.Customer] { return b.Customers },
		meta:    func(c *orders.Customer) *orders.Meta { return &c.Meta },
		blank:   func(*visit) orders.Customer { return orders.Customer{} },
		row: func(_ *visit, _ *shelf, c orders.Customer) recordRow {
			row := recordRow{Title: c.Name, Lines: nonEmpty(c.Email, c.Phone), Faint: c.Retired}
			if c.Retired {
				row.Badge = "no longer a customer"
			}
			return row
		},
		fields: func(f *form, _ *shelf, c orders.Customer) []fieldGroup {
			return []fieldGroup{{Fields: []field{
				f.textInput("name", "Name", c.Name).must(),
				f.input("email", "email", "E-mail", c.Email),
				f.input("tel", "phone", "Telephone", c.Phone),
				f.input("area", "note", "Note", c.Note),
				f.tickInput("retired", "No longer a customer", c.Retired),
			}}}
		},
		read: func(f *form, _ *shelf, c *orders.Customer) {
			c.Name, c.Email, c.Phone = f.text("name"), f.text("email"), f.text("phone")
			c.Note, c.Retired = f.text("note"), f.ticked("retired")
		},
	}
}

func stock() recordKind[orders.Stock] {
	return recordKind[orders.Stock]{
		path: "/stock", one: "stock", many: "Stock",
		intro:   "Wrapped, sound pieces on the shelf. They are used before anything new is poured.",
		empty:   "Nothing on the shelf. Pieces come here when a batch is wrapped; you can also count in what you have.",
		records: func(b *orders.Book) orders.Records[orders.Stock] { return b.Stock },
		meta:    func(s *orders.Stock) *orders.Meta { return &s.Meta },
		blank:   func(*visit) orders.Stock { return orders.Stock{} },
		rows:    (*visit).readWraps,
		row: func(v *visit, s *shelf, st orders.Stock) recordRow {
			from := "counted in " + v.words.day(v.words.date(st.CreatedAt))
			if st.BatchID != "" {
				from = "from a batch" + v.wrappedOn(st.BatchID)
			}
			return recordRow{
				Title: s.designName(st.DesignID), Badge: strconv.Itoa(st.Pieces) + " pieces",
				Lines: nonEmpty(capital(from), st.Note), Faint: st.Pieces == 0,
			}
		},
		fields: func(f *form, s *shelf, st orders.Stock) []fieldGroup {
			design := f.selectInput("design_id", "Design", st.DesignID, s.designChoices(st.DesignID)).must()
			if st.ID != "" {
				d, _ := s.design(st.DesignID)
				design.Options = []option{{Value: st.DesignID, Label: d.Name, Chosen: true}}
			}
			return []fieldGroup{{Fields: []field{
				design,
				blankZero(f.wholeInput("pieces", "Pieces on the shelf", st.Pieces)).must().least("0"),
				f.textInput("note", "Note", st.Note),
			}}}
		},
		read: func(f *form, _ *shelf, st *orders.Stock) {
			st.DesignID, st.Pieces, st.Note = f.text("design_id"), f.whole("pieces", 0), f.text("note")
		},
	}
}

// readWraps reads when the batches that the stock comes from were wrapped, which may
// be days before it was written down.
func (v *visit) readWraps(all []orders.Stock) error {
	var ids []string
	for _, s := range all {
		if s.BatchID != "" {
			ids = append(ids, s.BatchID)
		}
	}
	var err error
	v.wraps, err = v.Book.WrapTimes(v.ctx(), v.actor, ids)
	return err
}

// wrappedOn says when a batch was wrapped, after what it is; "" when that was not
// read.
func (v *visit) wrappedOn(batchID string) string {
	at, ok := v.wraps[batchID]
	if !ok {
		return ""
	}
	return " wrapped " + v.words.day(v.words.date(at))
}
