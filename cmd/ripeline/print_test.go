package main

import (
	"context"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
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
				for name, size := range papers {
					if n := pagesPrinted(p, size, true) + pagesPrinted(p, size, false); n != 2 {
						p.t.Errorf("%s of %s takes %d pages of %s in two prints, want 2", part, p.text("h1"), n, name)
					}
				}
			}
		}
	}
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
