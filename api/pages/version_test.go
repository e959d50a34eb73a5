package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

// TestFormsWithoutTheirVersionChangeNothing sends every form that carries the version
// of what it shows, as it stands on its page but without the version, or with none that
// a record can have: a page that was tampered with or cut off overwrites nothing.
func TestFormsWithoutTheirVersionChangeNothing(t *testing.T) {
	t.Parallel()
	_, b, _, addresses := busyWorld(t)
	sent := 0
	for _, path := range append(addresses, "/workshop") {
		b.get(path)
		page := b.page
		for _, form := range page.Find(`form[method="post"]`).EachIter() {
			if shown := form.Find(`[name="version"]`).AttrOr("value", ""); shown == "" || shown == "0" {
				continue // it shows no record, or a new one
			}
			for _, version := range []string{"", "0", "x"} {
				sent++
				values := filled(form)
				values.Set("version", version)
				b.post(form.AttrOr("action", path), values)
				stale := strings.Contains(b.body, "omeone changed this") || strings.Contains(b.body, "changed by someone else")
				if b.status != http.StatusConflict && b.status != http.StatusUnprocessableEntity && !stale {
					t.Errorf("%s on %s with version %q answers %d: %.200s", form.AttrOr("action", ""), path, version, b.status, b.text("main"))
				}
			}
		}
	}
	if sent < 60 {
		t.Errorf("only %d forms were sent", sent)
	}
}

// filled is what a browser would send of a form as it stands.
func filled(form *goquery.Selection) url.Values {
	out := url.Values{}
	for _, input := range form.Find("input, textarea").EachIter() {
		kind := input.AttrOr("type", "text")
		if _, checked := input.Attr("checked"); (kind == "checkbox" || kind == "radio") && !checked {
			continue
		}
		value := input.AttrOr("value", "")
		if goquery.NodeName(input) == "textarea" {
			value = input.Text()
		}
		out.Add(input.AttrOr("name", ""), value)
	}
	for _, choice := range form.Find("select").EachIter() {
		picked := choice.Find("option[selected]")
		if picked.Length() == 0 {
			picked = choice.Find("option").First()
		}
		out.Set(choice.AttrOr("name", ""), picked.AttrOr("value", ""))
	}
	return out
}
