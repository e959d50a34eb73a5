package orders

import (
	"context"
	"fmt"
	"math"
	"net/mail"
	"regexp"
	"slices"
	"strings"

	"golang.org/x/text/currency"
	"golang.org/x/text/language"

	"ripeline/calc"
)

// Limits of what is mixed and sold; wide room for a small workshop.
const (
	maxPieces     = 100_000
	maxAsked      = 20_000 // pieces of one order: years of pouring, still planned within seconds
	maxParts      = 60
	maxColours    = 20
	maxLeadDays   = 365
	maxCureDays   = 730
	maxCutHours   = 14 * 24
	maxCutDays    = 14
	maxStepTime   = 12 * 60
	maxPerPiece   = 3600
	maxSuperfat   = 30 * calc.Percent
	maxSpoil      = 50 * calc.Percent
	maxCureLoss   = 50 * calc.Percent
	maxOnHand     = calc.Mass(10_000_000) * calc.Gram
	maxDesignMold = 50
)

var ingredientKinds = []IngredientKind{KindOil, KindLye, KindLiquid, KindFragrance, KindColour, KindBotanical, KindPackaging, KindOther}

func (b *Book) checkIngredient(ctx context.Context, tx Tx, r, before *Ingredient) error {
	var c Check
	today, err := b.today(ctx, tx)
	if err != nil {
		return err
	}
	checkFragrance(&c, r.Kind, &r.Fragrance, today)
	checkMoney(&c, "price_minor_per_kg", r.Price)
	checkName(&c, "name", r.Name, true)
	checkName(&c, "label_name", r.LabelName, false)
	checkName(&c, "soap_name", r.SoapName, false)
	c.Want(r.Kind == KindOil || r.SoapName == "", "soap_name", "belongs to oils; leave it empty")
	c.Want(slices.Contains(ingredientKinds, r.Kind), "kind", "must be one of oil, lye, liquid, fragrance, colour, botanical, packaging, other")
	checkSV(&c, r)
	checkName(&c, "sv_source", r.SVSource, false)
	c.Want(r.Kind == KindOil || !r.WaxEster, "wax_ester", "belongs to oils and waxes; leave it out")
	c.Want(r.Alkali == "" || r.Alkali == AlkaliNaOH || r.Alkali == AlkaliKOH, "alkali", "must be naoh or koh")
	c.Want(r.Kind == KindLye || r.Alkali == "", "alkali", "belongs to lye; leave it out")
	checkDensity(&c, r)
	c.Want(r.OnHand >= 0 && r.OnHand <= maxOnHand, "on_hand_mg", "must lie between 0 and 10,000 kg")
	within(&c, "lead_days", r.LeadDays, 0, maxLeadDays, "days")
	keepStock(&c, r, before)
	if err := keepLimit(ctx, tx, &c, r, before); err != nil {
		return err
	}
	if err := c.Err(); err != nil || before != nil && before.Name == r.Name {
		return err
	}
	return checkNewName(ctx, tx, r)
}

// checkDensity wants of what takes room in the batter a density that a batter can
// be worked out with; petals may be lighter.
func checkDensity(c *Check, r *Ingredient) {
	least := 0.3
	if r.Kind == KindOil || r.stirredIn() {
		least = 0.5
	}
	c.Want(r.Density == 0 || (r.Density >= least && r.Density <= 3), "density_g_per_ml", fmt.Sprintf("must lie between %v and 3 g/ml, or be 0 when not known", least))
}

// keepLimit refuses to make something else of a fragrance that a recipe holds: its
// certificate would limit it no more.
func keepLimit(ctx context.Context, tx Tx, c *Check, r, before *Ingredient) error {
	if before == nil || before.Kind != KindFragrance || r.Kind == KindFragrance {
		return nil
	}
	all, err := allOf(ctx, tx.Recipes(), ListQuery{All: true})
	for _, recipe := range all {
		if slices.ContainsFunc(recipe.Parts, func(p RecipePart) bool { return p.IngredientID == before.ID }) {
			c.Add("kind", fmt.Sprintf("must stay a fragrance while the recipe %s holds it, for its certificate limits it there; take it out of the recipe first", recipe.Name))
			break
		}
	}
	return err
}

// checkNewName refuses a name that another ingredient has: nobody could tell them
// apart where one is picked.
func checkNewName(ctx context.Context, tx Tx, r *Ingredient) error {
	var c Check
	for q := (ListQuery{Limit: 200, Text: r.Name, All: true}); ; {
		page, err := tx.Ingredients().List(ctx, q)
		if err != nil {
			return err
		}
		for _, other := range page.Items {
			same := strings.EqualFold(other.Name, r.Name) && other.ID != r.ID
			c.Want(!same, "name", "is already on the list; change that one, or add what tells this one apart, such as its supplier")
		}
		if page.Next == "" {
			return c.Err()
		}
		q.Cursor = page.Next
	}
}

// checkSV wants a saponification value of oils, within its own range; values
// of fats and waxes lie between 50 and 400 mg KOH per g (from memory).
func checkSV(c *Check, r *Ingredient) {
	ok := func(v float64) bool { return !math.IsNaN(v) && v >= 50 && v <= 400 }
	if r.Kind != KindOil {
		c.Want(r.SVUsed == 0 && r.SVLow == 0 && r.SVHigh == 0, "sv_used", "belongs to oils; leave it empty")
		return
	}
	c.Want(ok(r.SVUsed), "sv_used", "an oil needs its saponification value, 50 to 400 mg KOH per g; it stands on the supplier's sheet")
	c.Want(r.SVLow == 0 || (ok(r.SVLow) && r.SVLow <= r.SVUsed), "sv_low", "must be 50 or more and not above the value used")
	c.Want(r.SVHigh == 0 || (ok(r.SVHigh) && r.SVHigh >= r.SVUsed), "sv_high", "must be 400 or less and not below the value used")
}

// checkParts checks the parts and gives the oils of a kilogram. While it is not
// known what some part is, nothing is said of all of them together.
func checkParts(ctx context.Context, tx Tx, c *Check, parts []RecipePart) ([]calc.Oil, error) {
	c.Want(len(parts) <= maxParts, "parts", fmt.Sprintf("has more than %d parts; leave some out", maxParts))
	var whole calc.PPM
	var oils []calc.Oil
	var lyes []Ingredient
	unknown := false
	for i, p := range parts[:min(len(parts), maxParts)] {
		at := fmt.Sprintf("parts[%d].", i)
		ing, err := known(ctx, c, tx.Ingredients(), at+"ingredient_id", p.IngredientID, "ingredient")
		if err != nil {
			return nil, err
		}
		c.Want(p.Share > 0 && p.Share <= calc.Whole, at+"share_ppm", "must be more than 0 and at most 100 % of the oils")
		if ing.ID == "" {
			unknown = true
			continue
		}
		for _, q := range parts[:i] {
			c.Want(q.IngredientID != p.IngredientID, at+"ingredient_id", "is there twice; add the two shares up")
		}
		if ing.Kind == KindOil {
			whole += p.Share
			oils = append(oils, ing.oil(p.Share.Of(calc.Kilogram)))
		}
		if ing.Kind == KindLye {
			second := slices.ContainsFunc(lyes, func(o Ingredient) bool { return o.ID != ing.ID && ing.sameAlkali(o) })
			c.Want(!second, at+"ingredient_id", "is a second lye of the same alkali; keep one of them, and say on the batch's page when the other was used")
			lyes = append(lyes, ing)
		}
		c.Want(!p.Blended || ing.Kind == KindOil, at+"blended", "is for oils; take the mark away")
	}
	c.Want(unknown || whole == calc.Whole, "parts", fmt.Sprintf("the oils add up to %s, not 100 %%; change their shares", whole))
	return oils, nil
}

func checkTimes(c *Check, r *Recipe) {
	limit, unit := maxCutHours, "hours"
	if r.CutInDays {
		limit, unit = maxCutDays, "days"
	}
	within(c, "cut_min", r.CutMin, 0, limit, unit)
	within(c, "cut_max", r.CutMax, 0, limit, unit)
	c.Want(r.CutMax >= r.CutMin && (r.CutInDays || r.CutMax > r.CutMin), "cut_max", "must be more than the shortest time before the cut")
	within(c, "cure_min_days", r.CureMin, 1, maxCureDays, "days")
	within(c, "cure_target_days", r.CureTarget, 1, maxCureDays, "days")
	c.Want(r.CureTarget >= r.CureMin, "cure_target_days", "must not be shorter than the minimum cure")
	within(c, "trial_minutes", r.TrialMinutes, 0, maxStepTime, "minutes")
	c.Want(!r.NeedsTrial || r.TrialMinutes > 0, "trial_minutes", "say how long a trial takes")
	within(c, "make_minutes", r.MakeFixed, 1, maxStepTime, "minutes")
	within(c, "cut_minutes", r.CutFixed, 1, maxStepTime, "minutes")
	within(c, "wrap_minutes", r.WrapFixed, 1, maxStepTime, "minutes")
	within(c, "make_seconds_per_piece", r.MakePer, 0, maxPerPiece, "seconds")
	within(c, "cut_seconds_per_piece", r.CutPer, 0, maxPerPiece, "seconds")
	within(c, "wrap_seconds_per_piece", r.WrapPer, 0, maxPerPiece, "seconds")
}

var lotCode = regexp.MustCompile(`^[A-Z][A-Z0-9]{1,5}$`)

func checkDesign(ctx context.Context, tx Tx, r, before *Design) error {
	var c Check
	checkName(&c, "name", r.Name, true)
	checkNote(&c, "dressing", r.Dressing)
	c.Want(lotCode.MatchString(r.LotCode), "lot_code", "must be 2 to 6 capitals or digits that begin with a letter, such as OAT")
	recipe, err := known(ctx, &c, tx.Recipes(), "recipe_id", r.RecipeID, "recipe")
	if err == nil && recipe.ID != "" && (before == nil || before.RecipeID != r.RecipeID) {
		err = checkSafeRecipe(ctx, tx, &c, recipe)
	}
	if err != nil {
		return err
	}
	within(&c, "spoil_ppm", r.Spoil, 0, maxSpoil, "of the pieces")
	checkMoney(&c, "packaging_minor", r.Packaging)
	checkColours(&c, r.Colours)
	c.Want(len(r.MoldIDs) > 0, "mold_ids", "choose at least one mold it may be poured in")
	c.Want(len(r.MoldIDs) <= maxDesignMold, "mold_ids", "has too many molds; leave some out")
	for i, id := range r.MoldIDs[:min(len(r.MoldIDs), maxDesignMold)] {
		if err := checkFit(ctx, tx, &c, r, i, id); err != nil {
			return err
		}
	}
	return c.Err()
}

// checkFit checks that the design's cut plan gives pieces from its i-th mold.
func checkFit(ctx context.Context, tx Tx, c *Check, r *Design, i int, id string) error {
	at := fmt.Sprintf("mold_ids[%d]", i)
	c.Want(!slices.Contains(r.MoldIDs[:i], id), at, "is there twice; take one away")
	mold, err := known(ctx, c, tx.Molds(), at, id, "mold")
	if err != nil || mold.ID == "" {
		return err
	}
	_, err = calc.Yield(mold.calcMold(), calc.CutPlan(r.Cut))
	return c.fold(err, cutField)
}

// cutField is the JSON name of calc's cut plan field.
func cutField(f string) string {
	switch f {
	case "thickness", "trim_ends", "spacing", "dressing_clear":
		return "cut." + f + "_um"
	}
	if strings.HasPrefix(f, "mold.") {
		return "mold_ids"
	}
	return "cut." + f
}

func checkColours(c *Check, colours []Colour) {
	c.Want(len(colours) <= maxColours, "colours", fmt.Sprintf("has more than %d colours; leave some out", maxColours))
	var sum calc.PPM
	for i, col := range colours[:min(len(colours), maxColours)] {
		at := fmt.Sprintf("colours[%d].", i)
		checkName(c, at+"name", col.Name, true)
		c.Want(col.Share > 0 && col.Share <= calc.Whole, at+"share_ppm", "must be more than 0 and at most 100 %")
		sum += col.Share
	}
	c.Want(len(colours) == 0 || sum == calc.Whole, "colours", fmt.Sprintf("the shares add up to %s, not 100 %%; change them", sum))
}

func checkCustomer(_ context.Context, _ Tx, r, _ *Customer) error {
	var c Check
	checkName(&c, "name", r.Name, true)
	checkName(&c, "phone", r.Phone, false)
	checkNote(&c, "note", r.Note)
	if r.Email != "" {
		checkEmail(&c, "email", r.Email)
	}
	return c.Err()
}

func checkEmail(c *Check, field, value string) {
	a, err := mail.ParseAddress(value)
	c.Want(err == nil && a.Address == value && len(value) <= 254, field, "is not an e-mail address; write it as name@example.org")
}

func checkStock(ctx context.Context, tx Tx, r, before *Stock) error {
	var c Check
	if _, err := known(ctx, &c, tx.Designs(), "design_id", r.DesignID, "design"); err != nil {
		return err
	}
	c.Want(r.Pieces >= 0 && r.Pieces <= maxPieces, "pieces", fmt.Sprintf("must lie between 0 and %d", maxPieces))
	checkNote(&c, "note", r.Note)
	if before == nil {
		c.Want(r.Pieces > 0, "pieces", "count at least one piece in")
		c.Want(r.BatchID == "", "batch_id", "comes of wrapping the batch; leave it empty")
	} else {
		c.Want(r.DesignID == before.DesignID && r.BatchID == before.BatchID, "design_id", "can not change; remove this and count it in anew")
	}
	return c.Err()
}

// keepWrapped keeps what was wrapped on record: by it a batch can be traced to
// the customers who got its pieces.
func keepWrapped(r *Stock) error {
	if r.BatchID == "" {
		return nil
	}
	return &Conflict{"These pieces were wrapped from a batch, and the record says who got them, so it stays. Set the count to what there is, 0 for none."}
}

func isCurrency(code string) bool {
	u, err := currency.ParseISO(code)
	return err == nil && u.String() == code
}

func isLocale(code string) bool {
	_, err := language.Parse(code)
	return err == nil && code != ""
}
