package pages

import (
	"ripeline/orders"
)

// lyeKind is which lye an ingredient is.
func lyeKind(f *form, i orders.Ingredient) field {
	return f.selectInput("alkali", "Which lye", string(i.Alkali), []option{
		{Value: "", Label: "Not said"},
		{Value: string(orders.AlkaliNaOH), Label: "Sodium hydroxide (NaOH)"},
		{Value: string(orders.AlkaliKOH), Label: "Potassium hydroxide (KOH), potash"},
	}).hint("Only for lye.")
}

// svOrigin says where an oil's value comes from, and what it is.
func svOrigin(f *form, i orders.Ingredient) []field {
	return []field{
		f.textInput("sv_source", "Where the value was read", i.SVSource).hint("Such as the supplier's sheet and its date. A figure from memory is a default for you to confirm."),
		f.tickInput("wax_ester", "A wax, which gives no glycerol (beeswax, jojoba)", i.WaxEster),
	}
}

func readLyeKind(f *form, i *orders.Ingredient) {
	i.SVSource, i.WaxEster, i.Alkali = f.text("sv_source"), f.ticked("wax_ester"), orders.Alkali(f.text("alkali"))
}

// startFrom is a choice that fills in the form for a new record.
type startFrom struct {
	Label, Button string
	Fields        []field
}

// knownOils offers the usual oils for a new ingredient.
func knownOils(v *visit) (*startFrom, error) {
	known, err := orders.KnownOils()
	if err != nil {
		return nil, err
	}
	options := []option{{Label: "Choose one to fill in its figures"}}
	for _, o := range known {
		options = append(options, option{Value: o.Name, Label: o.Name})
	}
	pick := v.blankForm().selectInput("oil", "A usual oil, butter or wax", v.r.URL.Query().Get("oil"), options)
	return &startFrom{Label: "Start from a usual oil", Button: "Fill in its figures", Fields: []field{pick}}, nil
}

// blankIngredient is a new one, of the oil that was chosen.
func blankIngredient(v *visit) orders.Ingredient {
	known, err := orders.KnownOils()
	if err == nil { // else knownOils tells
		if o, ok := byID(known, v.r.URL.Query().Get("oil"), func(i orders.Ingredient) string { return i.Name }); ok {
			return o
		}
	}
	return orders.Ingredient{Kind: orders.KindOil}
}
