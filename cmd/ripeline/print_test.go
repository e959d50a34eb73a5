package main

import (
	"context"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"ripeline/calc"
	"ripeline/orders"
)

// papers is the sizes a sheet is printed on, in inches.
var papers = map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}}

// pageOfPDF begins a page in a PDF; the list of all pages is a /Pages.
var pageOfPDF = regexp.MustCompile(`/Type\s*/Page\b`)

// sheetsOnOnePage prints the sheet and the label of every open batch, with the
// margins that the style sheet asks for and with a browser's usual 1 cm.
func sheetsOnOnePage(p *phone) {
	p.t.Helper()
	for _, state := range []string{"planned", "poured", "curing"} {
		p.open("/batches?status=" + state)
		for _, batch := range value[[]string](p, `[...document.querySelectorAll(".list a.item")].map(a => a.getAttribute("href"))`) {
			if !strings.HasPrefix(batch, "/batches/") {
				continue
			}
			for _, part := range []string{"/sheet", "/label"} {
				p.open(batch + part)
				onOneSheet(p, part)
			}
		}
	}
}

// onOneSheet prints the page that is shown on every paper, as sheetsOnOnePage does.
func onOneSheet(p *phone, what string) {
	p.t.Helper()
	for name, size := range papers {
		if n := pagesPrinted(p, size, true) + pagesPrinted(p, size, false); n != 2 {
			p.t.Errorf("%s of %s takes %d pages of %s in two prints, want 2", what, p.text("h1"), n, name)
		}
	}
}

// TestLongLabelTakesOneSheet drafts the label of a soap of 25 ingredients, 12 of
// them oils, and 8 allergens, in both ways to name the oils.
func TestLongLabelTakesOneSheet(t *testing.T) {
	t.Parallel()
	s := start(t, "serve", "--database-url", newDatabase(t).OwnerURL)
	c := setUp(t, s)
	design := manyParts(c, furnish(c))
	p := newPhone(t, s.base).withoutScripts()
	p.open("/today")
	p.send("form", "button", map[string]string{"email": ownerEmail, "password": ownerPassword})
	for _, names := range []string{"as_added", "as_saponified"} {
		p.open("/designs/" + design + "/label?names=" + names)
		if n := p.count(".order tbody tr"); n != 25+8 {
			t.Errorf("the label names %d things %s, want 33", n, names)
		}
		onOneSheet(p, "the label, oils "+names+",")
	}
}

// manyParts adds a recipe of many parts, and returns the id of a design of it.
func manyParts(c caller, g goods) string {
	c.t.Helper()
	recipe, design := got[orders.Recipe](c, "/recipes/"+g.recipe), got[orders.Design](c, "/designs/"+g.design)
	recipe.Name, recipe.Parts = "Of many parts", nil
	add := func(ingredient map[string]any, share calc.PPM) {
		recipe.Parts = append(recipe.Parts, orders.RecipePart{IngredientID: c.create("/ingredients", ingredient), Share: share})
	}
	for i := range 12 {
		add(map[string]any{
			"name": fmt.Sprintf("Pressed coastal seed oil number %d", i), "kind": "oil", "sv_used": 190, "label_name": fmt.Sprintf("Semenia Litoralis %d Oil", i),
		}, (calc.Whole-4)/12)
	}
	recipe.Parts[0].Share += 4
	for i := range 10 {
		add(map[string]any{"name": fmt.Sprintf("Clay %d", i), "kind": "other", "label_name": fmt.Sprintf("Clay of the %d. Cliff", i)}, calc.Percent)
	}
	var allergens []map[string]any
	for i := range 8 {
		allergens = append(allergens, map[string]any{"name": fmt.Sprintf("Hydroxyallergenal %d", i), "share_ppm": 50_000})
	}
	add(map[string]any{"name": "Cliff path", "kind": "fragrance", "label_name": "Parfum", "fragrance": map[string]any{
		"limit": "max", "max_ppm": 30_000, "reference": "sheet", "dated": "2026-03-01", "behaviour": "steady", "allergens": allergens,
	}}, 2*calc.Percent)
	design.Name, design.LotCode = "Many things", "MNY"
	design.RecipeID = c.create("/recipes", recipe)
	return c.create("/designs", design)
}

// pagesPrinted is how many pages of paper the page takes.
func pagesPrinted(p *phone, size [2]float64, ownMargins bool) int {
	p.t.Helper()
	const margin = 1 / 2.54 // 1 cm in inches
	ask := page.PrintToPDFParams{PaperWidth: size[0], PaperHeight: size[1], PreferCSSPageSize: &ownMargins}
	if !ownMargins {
		ask.MarginTop, ask.MarginBottom, ask.MarginLeft, ask.MarginRight = new(margin), new(margin), new(margin), new(margin)
	}
	var pages int
	p.call(func(ctx context.Context) error {
		got, err := chromedp.Call(ctx, page.PrintToPDF, ask)
		pages = len(pageOfPDF.FindAll(got.Data, -1))
		return err
	})
	return pages
}

// TestPagesOfPDFAreCounted tells a page of a PDF from the list of its pages.
func TestPagesOfPDFAreCounted(t *testing.T) {
	t.Parallel()
	if n := len(pageOfPDF.FindAllString("<</Type /Pages /Count 2>> <</Type /Page\n>> <</Type /Page /Parent 1 0 R>>", -1)); n != 2 {
		t.Errorf("%d pages, want 2", n)
	}
}
