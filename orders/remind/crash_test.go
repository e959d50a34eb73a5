package remind

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"ripeline/orders"
)

// life is that of one replica: it dies, as by kill -9, at the steps that fate
// chooses, and after that does nothing any more.
type life struct {
	fate  func(step string) bool
	over  atomic.Bool
	taken atomic.Int64 // mails the server took
	noted atomic.Int64 // of those, noted as sent
}

// step panics when the replica dies here or is dead; a panic stands for the
// kill, since nothing that follows it in the goroutine runs.
func (l *life) step(name string) {
	if l.over.Load() || l.fate(name) {
		l.over.Store(true)
		panic("killed " + name)
	}
}

// frail is a store that a mortal replica uses.
type frail struct {
	orders.Store
	life *life
}

func (f frail) Read(ctx context.Context, workshopID string, fn func(orders.Tx) error) error {
	f.life.step("before read")
	return f.Store.Read(ctx, workshopID, fn)
}

func (f frail) System(ctx context.Context, fn func(orders.SystemTx) error) error {
	f.life.step("before a transaction")
	var did string
	err := f.Store.System(ctx, func(tx orders.SystemTx) error { return fn(noting{tx, &did}) })
	if err == nil && did == "finish sent" {
		f.life.noted.Add(1)
	}
	if err == nil && did != "" {
		f.life.step("after " + did)
	}
	return err
}

// noting notes which step a transaction took.
type noting struct {
	orders.SystemTx
	did *string
}

func (n noting) ClaimDelivery(ctx context.Context, now time.Time, lease time.Duration) (string, orders.Delivery, error) {
	w, d, err := n.SystemTx.ClaimDelivery(ctx, now, lease)
	if err == nil {
		*n.did = "claim"
	}
	return w, d, err
}

func (n noting) FinishDelivery(ctx context.Context, d orders.Delivery) error {
	*n.did = "finish " + string(d.Status)
	return n.SystemTx.FinishDelivery(ctx, d)
}

// frailMailer is the way to the mail server that a mortal replica uses.
type frailMailer struct {
	Mailer
	life *life
}

func (f frailMailer) Send(ctx context.Context, m Message) (orders.DeliveryStatus, string, error) {
	f.life.step("before send")
	noted := m.Noted
	m.Noted = func(give func() error) error {
		return noted(func() error {
			err := give()
			if err == nil {
				f.life.taken.Add(1)
				f.life.step("after send")
			}
			return err
		})
	}
	return f.Mailer.Send(ctx, m)
}

// live runs one look of a mortal replica. It reports whether it died, and how
// many mails it had handed on by then without noting so; alive it leaves none.
func (s *stage) live(mailer Mailer, fate func(string) bool) (died bool, open int) {
	s.t.Helper()
	l := &life{fate: fate}
	r := s.serviceOn(frail{s.store, l}, frailMailer{mailer, l})
	var err error
	func() {
		defer recovered(&err)
		_, err = r.RunOnce(s.t.Context())
	}()
	died, open = l.over.Load(), int(l.taken.Load()-l.noted.Load())
	if !died && (err != nil || open != 0) {
		s.t.Errorf("a replica that lived left %d mails open: %v", open, err)
	}
	return died, open
}

// TestCrashAtEachStep kills a replica once at each step, and lets another take
// over when the lease has run out. Only a death between the server's yes and
// its being noted may double a mail, and then under the same Message-ID.
func TestCrashAtEachStep(t *testing.T) {
	t.Parallel()
	for _, step := range []string{"after claim", "after finish due", "before send", "after send", "after finish sent"} {
		t.Run(step, func(t *testing.T) {
			t.Parallel()
			s := newStage(t, "Europe/Lisbon")
			s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
			var p post
			mailer := p.plain(t)
			var once sync.Once
			fate := func(at string) (now bool) {
				if at == step {
					once.Do(func() { now = true })
				}
				return now
			}
			s.wall("2035-12-03", "18:00")
			if died, _ := s.live(mailer, fate); !died {
				t.Fatal("the replica did not die")
			}
			other := s.service(mailer)
			s.run(other) // the lease still holds
			s.hand.pass(DefaultLease)
			s.run(other)
			s.hand.pass(DefaultLease)
			s.run(other)
			want := 1
			if step == "after send" {
				want = 2
			}
			counts := p.counts(t)
			if d := s.find(kindDigest, "2035-12-03"); len(counts) != 1 || counts[d.MessageID] != want || d.Status != orders.DeliverySent {
				t.Errorf("accepted %v, want %d of %+v", counts, want, d)
			}
		})
	}
}

// TestTwoReplicasWithCrashes runs two replicas through twelve days of a
// workshop with several people, killing them at random.
func TestTwoReplicasWithCrashes(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	people := s.hire(8)
	var tasks []orders.Task
	for d := day("2035-12-04"); d.Before(day("2035-12-16")); d = d.AddDays(1) {
		tasks = append(tasks, s.timed(orders.TaskCut, "Cut on "+d.String(), d.String(), "18:00"))
	}
	s.publish("First plan", tasks...)
	var p post
	mailer := p.plain(t)
	dice := rand.New(rand.NewPCG(7, 11))
	var mu sync.Mutex
	doubtful := 0 // mails the server took from a replica that died before noting it
	fate := func(string) bool {
		mu.Lock()
		defer mu.Unlock()
		return dice.IntN(40) == 0
	}
	for d := day("2035-12-03"); d.Before(day("2035-12-15")); d = d.AddDays(1) {
		s.wall(d.String(), "17:59")
		for range 10 {
			var both sync.WaitGroup
			for range 2 {
				both.Go(func() {
					_, open := s.live(mailer, fate)
					mu.Lock()
					defer mu.Unlock()
					doubtful += open
				})
			}
			both.Wait()
			s.hand.pass(DefaultLease)
		}
		s.run(s.service(mailer))
	}
	counts, extra := p.counts(t), 0
	for _, n := range counts {
		extra += n - 1
	}
	if want := 12 * (people + 1); len(counts) != want {
		t.Errorf("%d different reminders were accepted, want %d", len(counts), want)
	}
	if extra != doubtful {
		t.Errorf("%d mails came once more, but %d deaths left one open", extra, doubtful)
	}
	t.Logf("%d reminders, %d deaths between the server's yes and its being noted", len(counts), doubtful)
	for _, d := range s.deliveries() {
		if d.Status != orders.DeliverySent && !d.LocalDate.Before(day("2035-12-03")) && d.DueAt.Before(s.hand.now()) {
			t.Errorf("left behind: %+v", d)
		}
	}
}

// hire adds n people with an evening digest.
func (s *stage) hire(n int) int {
	s.t.Helper()
	s.change(func(ctx context.Context, tx orders.Tx) error {
		for i := range n {
			p := orders.Person{
				Name: fmt.Sprintf("Hand %d", i+1), Email: fmt.Sprintf("hand%d@saltmarsh.example", i+1), Role: orders.Helper,
				PasswordHash: "x", DigestAt: minute("18:00"),
			}
			if err := tx.People().Insert(ctx, &p); err != nil {
				return err
			}
		}
		return nil
	})
	return n
}

// TestManyReplicasNoDoubles runs five replicas at the same moment, all alive.
func TestManyReplicasNoDoubles(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	people := s.hire(20)
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var p post
	mailer := p.plain(t)
	s.wall("2035-12-03", "18:00")
	var all sync.WaitGroup
	for range 5 {
		all.Go(func() { s.live(mailer, func(string) bool { return false }) })
	}
	all.Wait()
	s.run(s.service(mailer))
	counts := p.counts(t)
	if len(counts) != people+1 || len(p.accepted()) != people+1 {
		t.Errorf("%d mails, %d different; want %d", len(p.accepted()), len(counts), people+1)
	}
}

// TestStopFinishesWhatIsBegun ends the context while a mail is under way.
func TestStopFinishesWhatIsBegun(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	ctx, stop := context.WithCancel(t.Context())
	var box outbox
	r := s.service(stopping{&box, stop})
	s.wall("2035-12-03", "18:00")
	if _, err := r.RunOnce(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	if d := s.find(kindDigest, "2035-12-03"); d.Status != orders.DeliverySent || len(box.take()) != 1 {
		t.Errorf("stored %+v", d)
	}
}

// stopping stops the service as soon as a mail is on its way.
type stopping struct {
	Mailer
	stop context.CancelFunc
}

func (s stopping) Send(ctx context.Context, m Message) (orders.DeliveryStatus, string, error) {
	s.stop()
	if err := ctx.Err(); err != nil {
		return "", "", err
	}
	return s.Mailer.Send(ctx, m)
}

// worn can not note that a mail was sent.
type worn struct{ orders.Store }

func (f worn) System(ctx context.Context, fn func(orders.SystemTx) error) error {
	return f.Store.System(ctx, func(tx orders.SystemTx) error { return fn(wornTx{tx}) })
}

type wornTx struct{ orders.SystemTx }

func (f wornTx) FinishDelivery(ctx context.Context, d orders.Delivery) error {
	if d.Status == orders.DeliverySent {
		return errors.New("the disk is full")
	}
	return f.SystemTx.FinishDelivery(ctx, d)
}

// TestNothingLeavesThatCannotBeNoted keeps a mail back, since it would leave
// again and again, and sends it when the database is well.
func TestNothingLeavesThatCannotBeNoted(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"))
	var p post
	mailer := p.plain(t)
	s.wall("2035-12-03", "18:00")
	if _, err := s.serviceOn(worn{s.store}, mailer).RunOnce(t.Context()); err == nil {
		t.Error("nobody heard of it")
	}
	if got := p.accepted(); len(got) != 0 {
		t.Errorf("%d mails left", len(got))
	}
	s.hand.pass(DefaultLease)
	s.run(s.service(mailer))
	if d := s.find(kindDigest, "2035-12-03"); len(p.accepted()) != 1 || d.Status != orders.DeliverySent {
		t.Errorf("%d mails left, stored %+v", len(p.accepted()), d)
	}
}
