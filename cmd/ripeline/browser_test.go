package main

import (
	"strings"
	"testing"
	"time"
)

// TestMainJobByThePages is the whole job, from an empty workshop to a failed
// batch and the way out of it, on the running program by its pages alone, in a
// browser as narrow as a phone.
func TestMainJobByThePages(t *testing.T) {
	t.Parallel()
	s := start(t, "serve", "--database-url", newDatabase(t).OwnerURL)
	p := newPhone(t, s.base)
	p.open("/setup?token=" + s.setupToken())
	p.send("form", "button", map[string]string{
		"workshop": "Tidepool", "name": "Mara", "email": ownerEmail, "password": ownerPassword, "zone": zoneName,
	})
	p.shows("h1", "Three steps")
	furnishByPages(p)
	promiseByPages(p)
	p.shows("h1", "Favours for a naming day")
	p.shows(".flash", "Order taken")

	p.open("/plan")
	if p.count(".plan svg rect.pour") < 2 {
		t.Error("the plan shows fewer than two pours")
	}
	before := feedByPages(p)
	feed := before.address
	batches := plannedByPages(p)
	pourAndCutByPages(p, batches[0])
	cut := subscribed(t, feed)
	if moved, _ := checkFollowed(t, before.entries, cut); moved == 0 {
		t.Error("a batch was poured and cut before its time, and nothing moved in the feed")
	}
	loseByPages(p)
	if _, cancelled := checkFollowed(t, cut, subscribed(t, feed)); cancelled == 0 {
		t.Error("a batch failed, and nothing was cancelled in the feed")
	}
}

// furnishByPages gives the workshop what furnish does.
func furnishByPages(p *phone) {
	p.t.Helper()
	p.open("/hours")
	p.send("form#f-hours", "button", map[string]string{
		"hours[0].weekday": "2", "hours[0].from": "18:00", "hours[0].to": "21:00",
		"hours[1].weekday": "4", "hours[1].from": "18:00", "hours[1].to": "21:00",
		"hours[2].weekday": "6", "hours[2].from": "09:00", "hours[2].to": "15:00",
	})
	p.shows(".flash", "Hours saved")
	p.open("/molds/new")
	p.send("form.sheet", "button", map[string]string{"name": "Loaf", "count": "2", "length_um": "600", "width_um": "90", "depth_um": "70"})
	p.open("/racks/new")
	p.send("form.sheet", "button", map[string]string{"name": "North wall", "shelves": "5", "width_um": "1200", "depth_um": "400"})
	p.open("/ingredients/new")
	p.send("form.sheet", "button", map[string]string{"name": "Rapeseed oil", "kind": "oil", "sv_used": "188.5", "on_hand_mg": "40 kg"})
	p.open("/recipes/new")
	p.send("form.sheet", "button", map[string]string{
		"name": "Plain oil", "parts[0].ingredient_id": p.option("parts[0].ingredient_id", "Rapeseed oil"), "parts[0].share_ppm": "100",
		"cut_min": "18", "cut_max": "48", "cure_min_days": "28", "cure_target_days": "42",
	})
	p.shows(".list", "Plain oil")
	p.open("/designs/new")
	p.send("form.sheet", "button", map[string]string{
		"name": "Pebble", "lot_code": "PEB", "recipe_id": p.option("recipe_id", "Plain oil"),
		p.attribute(`.tick input[name^="mold_"]`, "name"): "1",
	})
	p.shows(".list", "Pebble")
}

// askByPages asks for 60 pieces.
func askByPages(p *phone, days int) {
	p.t.Helper()
	p.open("/promise")
	p.send("form.ask", "button", map[string]string{
		"lines[0].design_id": p.option("lines[0].design_id", "Pebble"), "lines[0].pieces": "60",
		"needed_by": today(p.t).AddDays(days).String(),
	})
}

// promiseByPages asks for too early a date, then for one that works, and takes
// the order.
func promiseByPages(p *phone) {
	p.t.Helper()
	askByPages(p, 20)
	p.shows(".answer.no h2", "No")
	p.shows(".answer.no .lead", "The earliest date you could promise with nothing else moved is")
	p.shows(".answer.no .chain", "cure for at least 28 days")
	if p.count(`button[name="accept"]`) > 0 {
		p.t.Error("an order that can not be met may be accepted")
	}
	askByPages(p, 45)
	p.shows(".answer.yes h2", "Yes")
	if p.count(".answer.yes .timeline rect.cure") == 0 {
		p.t.Error("a yes comes without a picture of the time between")
	}
	takeByPages(p)
}

func takeByPages(p *phone) {
	p.t.Helper()
	p.send(`form[action="/promise/take"]`, `button[name="accept"]`, map[string]string{
		"new_customer": "Guesthouse on the dune", "title": "Favours for a naming day",
	})
}

// plannedByPages is the paths of the planned batches.
func plannedByPages(p *phone) []string {
	p.t.Helper()
	p.open("/batches?status=planned")
	paths := value[[]string](p, `[...document.querySelectorAll(".list a.item")].map(a => a.getAttribute("href"))`)
	if len(paths) == 0 {
		p.t.Fatal("no batch is planned")
	}
	return paths
}

// madeFeed is a feed and what was in it when it was made.
type madeFeed struct {
	address string
	entries map[string]entry
}

// feedByPages makes a feed of everything and subscribes to it.
func feedByPages(p *phone) madeFeed {
	p.t.Helper()
	p.open("/calendars")
	p.send(`form[action="/calendars"]`, "button", map[string]string{"name": "My phone"})
	address := p.attribute("input#address", "value")
	if p.count("svg.qr path") != 1 || !strings.HasPrefix(p.attribute("input#webcal", "value"), "webcal://") {
		p.t.Error("the feed comes without its code or its webcal address")
	}
	return madeFeed{address, subscribed(p.t, address)}
}

// yesterday is a moment a day ago as a form takes it, by the workshop's clock.
func yesterday(t testing.TB) string {
	t.Helper()
	return time.Now().In(shopZone(t)).AddDate(0, 0, -1).Format("2006-01-02T15:04")
}

// pourAndCutByPages does the first batch, with 5 pieces spoiled.
func pourAndCutByPages(p *phone, batch string) {
	p.t.Helper()
	p.open(batch)
	p.shows(".cautions", "oggles")
	p.send(`form[action="`+batch+`/pour"]`, "button", map[string]string{"at": yesterday(p.t)})
	p.shows(".flash", "Poured: PEB-")
	chooseIfAsked(p)
	p.open(batch)
	p.send(`form[action="`+batch+`/cut"]`, "button", map[string]string{"spoiled": "5", "reason": "Corners broke"})
	p.shows(".flash", "Cut: PEB-")
	chooseIfAsked(p)
	p.open(batch)
	p.shows("main", "5 pieces lost at the cut")
}

// chooseIfAsked picks the first of the ways to go on where there are some.
func chooseIfAsked(p *phone) {
	p.t.Helper()
	if p.count(".proposal") > 0 {
		p.send(`.proposal:first-child form[action$="/take"]`, "button", nil)
		p.shows(".flash", "Chosen")
	}
}

// loseByPages pours another batch, loses it and picks a way to go on.
func loseByPages(p *phone) {
	p.t.Helper()
	batch := plannedByPages(p)[0]
	p.open(batch)
	p.send(`form[action="`+batch+`/pour"]`, "button", map[string]string{"at": yesterday(p.t)})
	chooseIfAsked(p)
	p.open(batch + "/wrong")
	p.send("form.sheet", "button", map[string]string{"extent": "all", "reason": "It seized"})
	p.shows("h1", "Ways to go on")
	if p.count(".proposal") == 0 {
		p.t.Fatal("no way to go on is proposed")
	}
	chooseIfAsked(p)
	p.open("/today")
	if strings.Contains(p.text("main"), "waits for your yes") {
		p.t.Error("the plan still waits after a way was chosen")
	}
}

// everyPage opens every page that links lead to from the main ones, each kind
// once, and looks at it.
func everyPage(p *phone) {
	p.t.Helper()
	const links = `[...document.querySelectorAll("main a[href^='/']")].map(a => a.getAttribute("href"))`
	seen := map[string]bool{}
	for todo := []string{"/today", "/promise", "/plan", "/orders", "/batches", "/proposals", "/start", "/more"}; len(todo) > 0; todo = todo[1:] {
		path, _, _ := strings.Cut(todo[0], "#") // within a page
		kind := kindOfPage(path)
		if seen[kind] {
			continue
		}
		seen[kind] = true
		p.open(path)
		todo = append(todo, value[[]string](p, links)...)
	}
	if len(seen) < 25 {
		p.t.Errorf("links lead to %d kinds of page only: %v", len(seen), seen)
	}
}

// kindOfPage is a path with one word for each id in it, and without its query.
func kindOfPage(path string) string {
	path, _, _ = strings.Cut(path, "?")
	parts := strings.Split(path, "/")
	for i, part := range parts {
		if len(part) == len("00000000-0000-0000-0000-000000000000") && strings.Count(part, "-") == 4 {
			parts[i] = "id"
		}
	}
	return strings.Join(parts, "/")
}

// TestPagesWithoutScripts goes the main path with JavaScript turned off.
func TestPagesWithoutScripts(t *testing.T) {
	t.Parallel()
	s := start(t, "serve", "--database-url", newDatabase(t).OwnerURL)
	furnish(setUp(t, s))
	p := newPhone(t, s.base).withoutScripts()
	p.open("/today")
	p.send("form", "button", map[string]string{"email": ownerEmail, "password": ownerPassword})
	p.shows("h1", "Today")
	askByPages(p, 45)
	p.shows(".answer.yes h2", "Yes")
	takeByPages(p)
	p.shows(".flash", "Order taken")
	batch := plannedByPages(p)[0]
	p.open(batch)
	p.send(`form[action="`+batch+`/pour"]`, "button", nil)
	chooseIfAsked(p)
	p.open(batch)
	p.shows("main", "Poured")
	feedByPages(p)
}

// TestDemoPages looks at every page of the demo workshop, and prints its sheets.
func TestDemoPages(t *testing.T) {
	t.Parallel()
	s := start(t, "demo", "--database-url", newDatabase(t).OwnerURL, "--data", t.TempDir())
	email, password, _ := strings.Cut(s.line("Sign in as "), " with the password ")
	p := newPhone(t, s.base)
	p.open("/")
	p.send("form", "button", map[string]string{"email": email, "password": password})
	p.shows(".demo", "This is the demo")
	everyPage(p)
	sheetsOnOnePage(p)
}
