package remind

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"ripeline/orders"
)

func TestDigestGoesOutOnce(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var box outbox
	r := s.service(&box)
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Fatalf("mailed before it was due: %+v", got)
	}
	s.wall("2035-12-03", "18:00")
	s.run(r)
	got := box.take()
	if len(got) != 1 || got[0].Subject != "Tomorrow, Tue 4 Dec: 1 task" || got[0].To != s.owner.Email {
		t.Fatalf("got %+v", got)
	}
	d := s.find(kindDigest, "2035-12-03")
	if d.Status != orders.DeliverySent || d.MessageID != got[0].ID || !strings.HasSuffix(d.MessageID, "@soap.example") || d.DoneAt.IsZero() {
		t.Errorf("stored %+v", d)
	}
	s.hand.pass(time.Hour)
	s.run(r)
	s.run(s.service(&box))
	if got := box.take(); len(got) != 0 {
		t.Errorf("mailed again: %+v", got)
	}
}

func TestNothingToSay(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	var box outbox
	r := s.service(&box)
	s.run(r)
	s.wall("2035-12-03", "18:00")
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Fatalf("mailed %+v", got)
	}
	if d := s.find(kindDigest, "2035-12-03"); d.Status != orders.DeliveryEmpty {
		t.Errorf("stored %+v", d)
	}
}

func TestRestartAfterTwoDaysFolds(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351207-1 · 24 pieces", "2035-12-07", "18:00"))
	var box outbox
	s.run(s.service(&box))

	s.wall("2035-12-06", "19:00") // stopped since Monday noon
	s.run(s.service(&box))
	got := box.take()
	if len(got) != 1 {
		t.Fatalf("got %d mails, want one: %+v", len(got), got)
	}
	for _, want := range []string{
		"Tomorrow, Fri 7 Dec: 1 task", "Not sent in time, so told here",
		"- Mon 3 Dec, 18:00  your digest", "- Tue 4 Dec, 18:00  your digest", "- Wed 5 Dec, 18:00  your digest",
	} {
		if !strings.Contains(got[0].Text, want) {
			t.Errorf("no %q in\n%s", want, got[0].Text)
		}
	}
	for _, date := range []string{"2035-12-03", "2035-12-04", "2035-12-05"} {
		if d := s.find(kindDigest, date); d.Status != orders.DeliveryFolded {
			t.Errorf("%s: %+v", date, d)
		}
	}
	s.wall("2035-12-07", "18:00")
	s.run(s.service(&box))
	for _, m := range box.take() {
		if strings.Contains(m.Text, "Not sent in time") {
			t.Errorf("told twice of what was folded:\n%s", m.Text)
		}
	}
}

func TestALittleLateIsStillSent(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var box outbox
	s.run(s.service(&box))
	s.wall("2035-12-03", "21:00")
	s.run(s.service(&box))
	if got := box.take(); len(got) != 1 {
		t.Errorf("three hours late: %d mails, want one", len(got))
	}
}

func TestTriesAgainAfterAPassingFailure(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var box outbox
	box.failWith(errors.New("450 busy"))
	r := s.service(&box)
	s.wall("2035-12-03", "18:00")
	if _, err := r.RunOnce(t.Context()); err == nil || !strings.Contains(err.Error(), "450 busy") {
		t.Errorf("the failure was not reported: %v", err)
	}
	first := s.find(kindDigest, "2035-12-03")
	if first.Status != orders.DeliveryDue || first.LastError != "450 busy" || first.MessageID == "" || !first.NextTry.Equal(s.hand.now().Add(time.Minute)) {
		t.Fatalf("stored %+v", first)
	}
	s.run(r) // not yet
	box.failWith(nil)
	s.hand.pass(time.Minute)
	s.run(r)
	got := box.take()
	if len(got) != 1 || got[0].ID != first.MessageID || got[0].Text != first.Text {
		t.Fatalf("got %+v, want what was written first: %+v", got, first)
	}
}

func TestMailServerDownForAnEveningFolds(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351205-1 · 24 pieces", "2035-12-05", "18:00"),
		s.timed(orders.TaskMake, "Pour LAV-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var box outbox
	box.failWith(errors.New("connection refused"))
	r := s.service(&box)
	for s.wall("2035-12-03", "18:00"); s.hand.now().Before(s.at("2035-12-03", "22:00")); s.hand.pass(time.Minute) {
		if _, err := r.RunOnce(t.Context()); err != nil && !strings.Contains(err.Error(), "connection refused") {
			t.Fatal(err)
		}
	}
	d := s.find(kindDigest, "2035-12-03")
	if d.Status != orders.DeliveryFolded || d.Attempts > 12 {
		t.Fatalf("stored %+v", d)
	}
	box.failWith(nil)
	s.wall("2035-12-04", "18:00")
	s.run(r)
	if got := box.take(); len(got) != 1 || !strings.Contains(got[0].Text, "- Mon 3 Dec, 18:00  your digest") {
		t.Errorf("got %+v", got)
	}
}

func TestRefusedForGood(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var box outbox
	box.failWith(errors.Join(ErrRefused, errors.New("550 no such mailbox")))
	r := s.service(&box)
	s.wall("2035-12-03", "18:00")
	if _, err := r.RunOnce(t.Context()); !errors.Is(err, ErrRefused) {
		t.Errorf("got %v", err)
	}
	if d := s.find(kindDigest, "2035-12-03"); d.Status != orders.DeliveryFailed || !strings.Contains(d.LastError, "550 no such mailbox") {
		t.Errorf("stored %+v", d)
	}
	box.failWith(nil)
	s.hand.pass(time.Hour)
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Errorf("tried again: %+v", got)
	}
}

func TestShownWithoutAMailServer(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	log, written := recordLog()
	r := s.service(NewShown(log))
	s.wall("2035-12-03", "18:00")
	s.run(r)
	d := s.find(kindDigest, "2035-12-03")
	if d.Status != orders.DeliveryShown || !strings.Contains(d.Text, "Cut OAT-351204-1") || strings.Contains(d.Text, UnsubscribePath) {
		t.Errorf("stored %+v", d)
	}
	if !strings.Contains(written(), "Tomorrow, Tue 4 Dec: 1 task") {
		t.Errorf("the log says\n%s", written())
	}
}

func TestANewTimeCounts(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var box outbox
	r := s.service(&box)
	s.run(r) // stores 18:00
	s.setOwner(func(p *orders.Person) { p.DigestAt = minute("16:00") })
	s.run(r)
	s.wall("2035-12-03", "16:00")
	s.run(r)
	if got := box.take(); len(got) != 1 {
		t.Fatalf("moved to 16:00: %d mails", len(got))
	}
	s.setOwner(func(p *orders.Person) { p.DigestAt = minute("20:00") })
	s.wall("2035-12-03", "20:00")
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Errorf("a second digest on one day: %+v", got)
	}
	s.setOwner(func(p *orders.Person) { p.DigestAt = nil })
	s.wall("2035-12-04", "20:00")
	s.run(r)
	if d := s.find(kindDigest, "2035-12-04"); len(box.take()) != 0 || d.Status != orders.DeliveryEmpty {
		t.Errorf("no digest wanted, yet %+v", d)
	}
}

func TestOwnRule(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.setOwner(func(p *orders.Person) { p.DigestAt = nil })
	rule := orders.ReminderRule{PersonID: s.owner.ID, Name: "Before a cut", Cron: "30 17 * * *", Kind: orders.TaskCut, LeadDays: 2}
	s.change(func(ctx context.Context, tx orders.Tx) error { return tx.Rules().Insert(ctx, &rule) })
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351205-1 · 24 pieces", "2035-12-05", "18:00"),
		s.timed(orders.TaskMake, "Pour LAV-351205-1 · 24 pieces", "2035-12-05", "19:00"))
	var box outbox
	r := s.service(&box)
	s.run(r)
	s.wall("2035-12-03", "17:30")
	s.run(r)
	got := box.take()
	if len(got) != 1 || got[0].Subject != "In 2 days, Wed 5 Dec: 1 batch to cut" || strings.Contains(got[0].Text, "LAV") {
		t.Fatalf("got %+v", got)
	}
	s.wall("2035-12-04", "17:30")
	s.run(r)
	if d := s.find(kindRule+rule.ID, "2035-12-04"); len(box.take()) != 0 || d.Status != orders.DeliveryEmpty || d.Slot != "17:30" {
		t.Errorf("nothing to cut in two days, yet %+v", d)
	}
}

// TestLateRuleWithoutADigest has no digest to fold a late reminder into.
func TestLateRuleWithoutADigest(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.setOwner(func(p *orders.Person) { p.DigestAt = nil })
	rule := orders.ReminderRule{PersonID: s.owner.ID, Name: "Before a cut", Cron: "30 17 * * *", Kind: orders.TaskCut, LeadDays: 1}
	s.change(func(ctx context.Context, tx orders.Tx) error { return tx.Rules().Insert(ctx, &rule) })
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var box outbox
	s.run(s.service(&box))
	s.wall("2035-12-04", "06:00")
	s.run(s.service(&box))
	got := box.take()
	if len(got) != 1 || got[0].Subject != "Today, Tue 4 Dec: 1 batch to cut" || !strings.Contains(got[0].Text, "This was due Mon 3 Dec, 17:30 and could not be sent then.") {
		t.Errorf("got %+v", got)
	}
}

// TestSeveralWorkshops has a second one, in another zone, that is not the
// first one's business.
func TestSeveralWorkshops(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	other := *s
	other.shop = orders.Workshop{Name: "Dune Soap", Zone: "Asia/Tokyo", Units: "metric", Currency: "EUR", Locale: "en-GB", Hands: 1}
	other.owner = orders.Person{Name: "Ama Dune", Email: "ama@dune.example", Role: orders.Owner, PasswordHash: "x", DigestAt: minute("18:00")}
	other.clock = zoned(t, "Asia/Tokyo")
	must(t, s.store.System(t.Context(), func(tx orders.SystemTx) error {
		return tx.CreateWorkshop(t.Context(), &other.shop, &other.owner, func(orders.Tx) error { return nil })
	}))
	s.publish("Plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	other.publish("Plan", other.timed(orders.TaskCut, "Cut DUN-351205-1 · 12 pieces", "2035-12-05", "18:00"))
	var box outbox
	r := s.service(&box)
	s.run(r)
	s.wall("2035-12-03", "18:00")
	s.run(r)
	if got := box.take(); len(got) != 1 || got[0].To != s.owner.Email || strings.Contains(got[0].Text, "DUN") {
		t.Errorf("got %+v", got)
	}
	other.wall("2035-12-04", "18:00")
	s.run(r)
	if got := box.take(); len(got) != 1 || got[0].To != "ama@dune.example" || got[0].FromName != "Dune Soap" || strings.Contains(got[0].Text, "OAT") {
		t.Errorf("got %+v", got)
	}
}

// setOwner changes the owner.
func (s *stage) setOwner(fn func(*orders.Person)) {
	s.t.Helper()
	s.change(func(ctx context.Context, tx orders.Tx) error {
		p, err := tx.People().Get(ctx, s.owner.ID)
		if err != nil {
			return err
		}
		fn(&p)
		s.owner = p
		return tx.People().Update(ctx, &p)
	})
}
