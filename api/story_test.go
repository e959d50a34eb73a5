package api

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	ics "github.com/emersion/go-ical"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// subscribe makes a feed and returns its path.
func (s *shop) subscribe(body map[string]any) string {
	s.t.Helper()
	f := want[feedAnswer](s.t, s.send(http.MethodPost, "/feeds", body), http.StatusCreated)
	path, ok := strings.CutPrefix(f.URL, "https://soap.example")
	if !ok || f.Webcal != "webcal://soap.example"+path || !strings.HasSuffix(path, "/plan.ics") {
		s.t.Fatalf("addresses are %q and %q", f.URL, f.Webcal)
	}
	return path
}

// look reads a feed; headers come in pairs.
func (s *shop) look(path string, headers ...string) *httptest.ResponseRecorder {
	s.t.Helper()
	r := httptest.NewRequestWithContext(s.t.Context(), http.MethodGet, path, nil)
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.h.ServeHTTP(w, r)
	return w
}

// entry is what the story needs to know of a calendar event.
type entry struct {
	summary, start string
	sequence       int
}

// entries are a feed's events by UID, as a parser that did not write them reads
// them.
func (s *shop) entries(path string) map[string]entry {
	s.t.Helper()
	w := s.look(path)
	if w.Code != http.StatusOK {
		s.t.Fatalf("feed answers %d %s", w.Code, w.Body)
	}
	cal, err := ics.NewDecoder(bytes.NewReader(w.Body.Bytes())).Decode()
	if err != nil {
		s.t.Fatal(err)
	}
	found := map[string]entry{}
	for _, e := range cal.Events() {
		value := func(name string) string { return e.Props.Get(name).Value }
		sequence, err := strconv.Atoi(value(ics.PropSequence))
		if err != nil {
			s.t.Fatal(err)
		}
		found[value(ics.PropUID)] = entry{value(ics.PropSummary), value(ics.PropDateTimeStart), sequence}
	}
	return found
}

// tell reports a fact about a batch.
func (s *shop) tell(step string, b orders.Batch, fact map[string]any) batchAnswer {
	s.t.Helper()
	return want[batchAnswer](s.t, s.send(http.MethodPost, "/batches/"+b.ID+"/"+step, fact, "If-Match", etag(b.Version)), http.StatusOK)
}

// The main job by the API alone: from an empty workshop to a failed batch, and
// the way out of it in everybody's calendar.
func TestFromEmptyWorkshopToReshuffledPlan(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	today := civil.Of(noon)
	soon, later := today.AddDays(20), today.AddDays(45)

	ask := func(day civil.Date) schedule.Answer {
		return want[schedule.Answer](t, s.send(http.MethodPost, "/promise",
			map[string]any{"needed_by": day, "lines": []map[string]any{{"design_id": g.design, "pieces": 60}}}), http.StatusOK)
	}
	if no := ask(soon); no.Verdict != schedule.No || !no.Earliest.After(soon) || len(no.Reasons) == 0 {
		t.Fatalf("in 20 days: %s, earliest %s, because %+v", no.Verdict, no.Earliest, no.Reasons)
	}
	if yes := ask(later); yes.Verdict != schedule.Yes || yes.Ready.IsZero() || yes.Ready.After(later) {
		t.Fatalf("in 45 days: %s, ready %s, because %+v", yes.Verdict, yes.Ready, yes.Reasons)
	}
	if all := want[orders.Page[orders.Order]](t, s.send(http.MethodGet, "/orders", nil), http.StatusOK); len(all.Items) > 0 {
		t.Fatal("asking wrote an order")
	}

	taken := want[orderAnswer](t, s.send(http.MethodPost, "/orders", g.accepted(g.orderBody(60, later.String()))), http.StatusCreated)
	if taken.Order.Status != orders.Accepted || taken.Order.Told.IsZero() {
		t.Fatalf("taken: %+v", taken.Order)
	}
	batches := want[orders.Page[orders.Batch]](t, s.send(http.MethodGet, "/batches?state=planned", nil), http.StatusOK).Items
	if len(batches) < 2 {
		t.Fatalf("%d batches for 60 pieces in two molds of 20", len(batches))
	}
	outlooks := want[orders.Page[schedule.Outlook]](t, s.send(http.MethodGet, "/plan/confidence", nil), http.StatusOK).Items
	if len(outlooks) != 1 || outlooks[0].OrderID != taken.Order.ID || outlooks[0].Futures != schedule.DefaultFutures || outlooks[0].Share <= 0.5 || outlooks[0].Share > 1 {
		t.Errorf("how likely the order is met: %+v", outlooks)
	}
	everything := s.subscribe(map[string]any{"name": "Everything", "kind": "all"})
	theirs := s.subscribe(map[string]any{"name": "For the dune", "kind": "order", "order_id": taken.Order.ID})
	before := s.entries(everything)
	if len(before) < 3*len(batches) {
		t.Errorf("the feed has %d entries for %d batches", len(before), len(batches))
	}
	for _, e := range s.entries(theirs) {
		if strings.Contains(e.summary, "PEB-") || strings.Contains(e.summary, "Make") || strings.Contains(e.summary, "Order") {
			t.Errorf("the customer sees %q", e.summary)
		}
	}

	first := batches[0]
	*s.now = first.Make.To
	first = s.tell("pour", first, map[string]any{}).Batch
	*s.now = first.Cut.To
	first = s.tell("cut", first, map[string]any{"spoiled": 5, "reason": "Corners broke"}).Batch
	if first.State != orders.BatchCuring || len(first.Losses) != 1 || first.Losses[0].Pieces != 5 {
		t.Errorf("cut: %+v", first)
	}
	s.loseAndRecover()
	s.feedFollowed(everything, before)
}

// loseAndRecover pours the next planned batch, loses it and takes the best way
// out.
func (s *shop) loseAndRecover() {
	s.t.Helper()
	if open := want[orders.Page[orders.Proposal]](s.t, s.send(http.MethodGet, "/proposals", nil), http.StatusOK).Items; len(open) > 0 {
		want[orders.PlanChange](s.t, s.send(http.MethodPost, "/proposals/"+open[0].ID+"/take", nil), http.StatusOK)
	}
	next := want[orders.Page[orders.Batch]](s.t, s.send(http.MethodGet, "/batches?state=planned", nil), http.StatusOK).Items[0]
	*s.now = next.Make.To
	next = s.tell("pour", next, map[string]any{}).Batch
	*s.now = next.Make.To.Add(time.Hour)
	lost := s.tell("fail", next, map[string]any{"reason": "It seized"})
	if len(lost.PlanChange.Proposals) < 1 {
		s.t.Fatalf("no way out was proposed: %+v", lost.PlanChange)
	}
	best := lost.PlanChange.Proposals[0]
	change := want[orders.PlanChange](s.t, s.send(http.MethodPost, "/proposals/"+best.ID+"/take", nil), http.StatusOK)
	if !change.Published {
		s.t.Errorf("taken, but not published: %+v", change)
	}
	refused(s.t, s.send(http.MethodPost, "/proposals/"+best.ID+"/take", nil), http.StatusConflict)
}

// feedFollowed checks that entries that moved kept their UID and raised their
// sequence, and that some did.
func (s *shop) feedFollowed(path string, before map[string]entry) {
	s.t.Helper()
	raised := 0
	for uid, now := range s.entries(path) {
		was, known := before[uid]
		switch {
		case !known:
		case was.start != now.start && now.sequence <= was.sequence:
			s.t.Errorf("%s moved from %s to %s with sequence %d after %d", now.summary, was.start, now.start, now.sequence, was.sequence)
		case now.sequence > was.sequence:
			raised++
		}
	}
	if raised == 0 {
		s.t.Error("nothing in the feed changed")
	}
}

func TestFeedOverHTTP(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	f := want[feedAnswer](t, s.send(http.MethodPost, "/feeds", map[string]any{"name": "Everything", "kind": "all"}), http.StatusCreated)
	path := strings.TrimPrefix(f.URL, "https://soap.example")
	first := s.look(path)
	if first.Code != http.StatusOK || !strings.Contains(first.Body.String(), "BEGIN:VEVENT") {
		t.Fatalf("an empty plan gives %d %s", first.Code, first.Body)
	}
	secret := strings.Split(path, "/")[2]
	if strings.Contains(first.Body.String(), secret) || first.Header().Get("Set-Cookie") != "" || first.Header().Get("X-Robots-Tag") != "noindex" ||
		first.Header().Get("Referrer-Policy") != "no-referrer" || first.Header().Get("X-Content-Type-Options") != "nosniff" {
		t.Errorf("headers %v\n%s", first.Header(), first.Body)
	}
	tag := first.Header().Get("ETag")
	*s.now = s.now.Add(3 * time.Hour)
	if again := s.look(path, "If-None-Match", tag); again.Code != http.StatusNotModified || again.Body.Len() > 0 {
		t.Errorf("three hours later, nothing changed: %d", again.Code)
	}
	if since := s.look(path, "If-Modified-Since", first.Header().Get("Last-Modified")); since.Code != http.StatusNotModified {
		t.Errorf("not modified since: %d", since.Code)
	}

	rotated := want[feedAnswer](t, s.send(http.MethodPost, "/feeds/"+f.ID+"/rotate", nil), http.StatusOK)
	if old := s.look(path, "If-None-Match", tag); old.Code != http.StatusNotFound || old.Header().Get("Location") != "" {
		t.Errorf("the old address answers %d", old.Code)
	}
	path = strings.TrimPrefix(rotated.URL, "https://soap.example")
	if w := s.look(path); w.Code != http.StatusOK {
		t.Errorf("the new address answers %d", w.Code)
	}
	if w := s.send(http.MethodDelete, "/feeds/"+f.ID, nil); w.StatusCode != http.StatusNoContent {
		t.Fatalf("revoking gives %d %s", w.StatusCode, w.body)
	}
	if w := s.look(path); w.Code != http.StatusNotFound {
		t.Errorf("a revoked feed answers %d", w.Code)
	}
}

func TestBadQuestionsNameTheirFields(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	for name, c := range map[string]struct {
		change func(map[string]any)
		field  string
	}{
		"a day in the past": {func(o map[string]any) { o["needed_by"] = "2026-11-01" }, "needed_by"},
		"no day":            {func(o map[string]any) { delete(o, "needed_by") }, "needed_by"},
		"no pieces":         {func(o map[string]any) { o["lines"] = []map[string]any{{"design_id": g.design}} }, "lines[0].pieces"},
		"a million pieces":  {func(o map[string]any) { o["lines"] = []map[string]any{{"design_id": g.design, "pieces": 1_000_000}} }, "lines[0].pieces"},
		"no lines":          {func(o map[string]any) { o["lines"] = []any{} }, "lines"},
		"no design":         {func(o map[string]any) { o["lines"] = []map[string]any{{"pieces": 10}} }, "lines[0].design_id"},
	} {
		for _, path := range []string{"/promise", "/orders"} {
			body := g.orderBody(10, "2027-02-20")
			if path == "/promise" {
				delete(body, "customer_id")
				delete(body, "title")
			}
			c.change(body)
			p := refused(t, s.send(http.MethodPost, path, body), http.StatusUnprocessableEntity)
			if fmt.Sprint(p.locations()) != "[body."+c.field+"]" {
				t.Errorf("%s %s: faults are %+v", path, name, p.Errors)
			}
		}
	}
	if all := want[orders.Page[orders.Order]](t, s.send(http.MethodGet, "/orders", nil), http.StatusOK); len(all.Items) > 0 {
		t.Errorf("%d orders were written", len(all.Items))
	}
}
