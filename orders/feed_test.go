package orders_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule/ical"
)

const planPage = "https://tideline.example.org/plan"

func (s *shop) feed(in orders.FeedInput) orders.NewFeed {
	s.t.Helper()
	f, err := s.book.AddFeed(s.ctx, s.owner, in)
	s.must(err)
	return f
}

// read publishes a feed by its secret.
func (s *shop) read(secret string) (ical.Feed, string) {
	s.t.Helper()
	f, err := s.book.FeedByToken(s.ctx, secret, planPage)
	s.must(err)
	text, err := ical.Publish(f, s.today())
	s.must(err)
	return f, string(bytes.ReplaceAll(text, []byte("\r\n "), nil))
}

func kinds(f ical.Feed) map[string]int {
	out := make(map[string]int)
	for _, e := range f.Events {
		out[e.Kind]++
	}
	return out
}

func TestFeedsByKind(t *testing.T) {
	s := newShop(t, openStore(t))
	all := s.feed(orders.FeedInput{Name: "Everything", Kind: orders.FeedAll, Alarm: 30})
	empty, text := s.read(all.Secret)
	if len(empty.Events) != 0 || !contains(text, "Nothing planned") {
		t.Errorf("a feed of nothing: %s", text)
	}
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	f, text := s.read(all.Secret)
	for kind, said := range map[orders.FeedKind]string{"make": "pour", "cut": "cut", "cure": "cure", "wrap": "wrap", "hand_over": "hand-over"} {
		if kinds(f)[said] != 1 || !contains(text, "CATEGORIES:"+said) {
			t.Errorf("%d events %s in the feed of everything, want 1", kinds(f)[said], said)
		}
		one, _ := s.read(s.feed(orders.FeedInput{Name: said, Kind: kind}).Secret)
		if len(one.Events) != 1 || one.Events[0].Kind != said {
			t.Errorf("the feed %s holds %v", kind, kinds(one))
		}
		if ref := one.Events[0].Ref; (ref == b.Lot) != (kind != "hand_over") {
			t.Errorf("the event of the feed %s is told apart by %q, the lot is %s", kind, ref, b.Lot)
		}
	}
	if f.Alarm != 30*time.Minute || !contains(text, "Pour "+b.Lot) || contains(text, all.Secret) {
		t.Errorf("alarm %s; text %s", f.Alarm, text)
	}
	_, later := s.read(all.Secret)
	if later != text {
		t.Error("nothing changed and the feed did")
	}
}

// TestFeedFollowsTheBook checks that what is cancelled or moved keeps its UID
// and raises its SEQUENCE.
func TestFeedFollowsTheBook(t *testing.T) {
	s := newShop(t, openStore(t))
	all := s.feed(orders.FeedInput{Name: "Everything", Kind: orders.FeedAll})
	s.take(s.wants(20, 60))
	before, _ := s.read(all.Secret)
	s.now = s.now.Add(time.Hour)
	_, err := s.book.Closed.Create(s.ctx, s.owner, orders.ClosedDays{From: s.today(), To: s.today().AddDays(9)})
	s.must(err)
	open, err := s.book.Proposals(s.ctx, s.owner)
	s.must(err)
	if len(open) != 1 {
		t.Fatalf("%d proposals after closing days that were firm, want 1", len(open))
	}
	waiting, _ := s.read(all.Secret)
	for i, e := range waiting.Events {
		if was := before.Events[i]; !e.Start.Equal(was.Start) || e.From != was.From {
			t.Errorf("before the yes %q moved to %s", e.Summary, e.Start)
		}
		if e.Kind == "pour" && !strings.Contains(e.Description, "can not be done as planned: There are no hours") {
			t.Errorf("of a pour on a closed day the feed says %q", e.Description)
		}
	}
	_, err = s.book.TakeProposal(s.ctx, s.owner, open[0].ID)
	s.must(err)
	after, _ := s.read(all.Secret)
	was := make(map[string]ical.Event)
	for _, e := range before.Events {
		was[e.UID] = e
	}
	for _, e := range after.Events {
		old, ok := was[e.UID]
		if e.Kind == "pour" && (!ok || e.Sequence <= old.Sequence+1 || strings.Contains(e.Description, "can not be done") || !e.Start.After(old.Start) || !e.Modified.Equal(s.now)) {
			t.Errorf("the pour moved from %+v to %+v", old, e)
		}
	}
}

func TestOrderFeedShowsOnlyItsOwnDates(t *testing.T) {
	s := newShop(t, openStore(t))
	in := s.wants(10, 60)
	in.Title, in.Note = "Naming day", "pays late"
	mine, _ := s.take(in)
	in = s.wants(2, 61)
	in.Title = "Secret wedding"
	s.take(in)
	f, text := s.read(s.feed(orders.FeedInput{Name: "Your soap", Kind: orders.FeedOrder, OrderID: mine.ID}).Secret)
	if got := kinds(f); got["cure"] != 1 || got["hand-over"] != 1 || len(f.Events) != 2 {
		t.Errorf("the customer's feed holds %v, want one cure and the hand-over", got)
	}
	for _, private := range []string{"wedding", "OAT-", "pays late", "12 pieces", "11 pieces", "Maré", planPage} {
		if contains(text, private) {
			t.Errorf("the customer's feed tells %q:\n%s", private, text)
		}
	}
	for _, e := range f.Events {
		if e.Busy || !e.AllDay {
			t.Errorf("%q takes the customer's time", e.Summary)
		}
	}
}

// TestFeedTimeNeverGoesBack loses the batch that an order's feed showed, so
// that nothing newer than the order itself is left in it.
func TestFeedTimeNeverGoesBack(t *testing.T) {
	s := newShop(t, openStore(t))
	s.now = s.now.AddDate(50, 0, 0) // after whatever the database's own clock says
	mine, _ := s.take(s.wants(20, 60))
	secret := s.feed(orders.FeedInput{Name: "Your soap", Kind: orders.FeedOrder, OrderID: mine.ID}).Secret
	b := s.batches(orders.BatchPlanned)[0]
	s.now = b.Make.To.Add(3 * time.Hour)
	b, _, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	s.now = b.Cut.To.Add(24 * time.Hour)
	_, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	before, _ := s.read(secret)
	if kinds(before)["cure"] != 1 || !before.Modified.Equal(s.now) {
		t.Fatalf("before the loss the feed holds %v of %s", kinds(before), before.Modified)
	}
	s.now = s.now.Add(time.Hour)
	_, _, err = s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{})
	s.must(err)
	after, _ := s.read(secret)
	if kinds(after)["cure"] != 0 || after.Modified.Before(before.Modified) {
		t.Errorf("the feed holds %v and its time went from %s to %s", kinds(after), before.Modified, after.Modified)
	}
}

func TestFeedTokens(t *testing.T) {
	s := newShop(t, openStore(t))
	made := s.feed(orders.FeedInput{Name: "Everything", Kind: orders.FeedAll})
	for _, wrong := range []string{"", "x", made.Secret + "x", made.ID} {
		if _, err := s.book.FeedByToken(s.ctx, wrong, planPage); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("token %q: %v, want not found", wrong, err)
		}
	}
	used := func() time.Time {
		page, err := s.book.Feeds(s.ctx, s.owner, orders.ListQuery{})
		s.must(err)
		return page.Items[0].UsedAt
	}
	s.read(made.Secret)
	first := used()
	s.now = s.now.Add(30 * time.Second)
	s.read(made.Secret)
	if !first.Equal(wednesday) || !used().Equal(first) {
		t.Errorf("used at %s, then %s within the same minute", first, used())
	}
	s.now = s.now.Add(30 * time.Second)
	s.read(made.Secret)
	if !used().Equal(s.now) {
		t.Errorf("used at %s, want %s", used(), s.now)
	}
	s.must(s.book.RevokeFeed(s.ctx, s.owner, made.ID))
	if _, err := s.book.FeedByToken(s.ctx, made.Secret, planPage); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("revoked token: %v, want not found", err)
	}
}
