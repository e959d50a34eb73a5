package remind

import (
	"context"
	"log/slog"
	"os"
	"sync"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
	"ripeline/schedule/civil"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

// baseURL is where the tests' service is reached.
const baseURL = "https://soap.example"

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// newStore is a fresh database.
func newStore(t *testing.T) *postgres.Store {
	t.Helper()
	db := pgtest.New(t, func(ctx context.Context, ownerURL string) error {
		return postgres.Migrate(ctx, ownerURL, slog.New(slog.DiscardHandler))
	})
	s, err := postgres.Open(t.Context(), db.AppURL)
	must(t, err)
	t.Cleanup(s.Close)
	return s
}

// hand is a clock that only the test moves.
type hand struct {
	mu sync.Mutex
	at time.Time
}

func (h *hand) now() time.Time {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.at
}

func (h *hand) set(at time.Time) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.at = at
}

func (h *hand) pass(d time.Duration) { h.set(h.now().Add(d)) }

// stage is a workshop on a database, its owner, and a clock. Days lie in 2035,
// after whatever the database's own clock says.
type stage struct {
	t     *testing.T
	store orders.Store
	shop  orders.Workshop
	owner orders.Person
	clock clock
	hand  *hand
}

// newStage sets up a workshop in zone whose owner wants an evening digest at
// 18:00. It is noon on Monday 3 December 2035.
func newStage(t *testing.T, zone string) *stage {
	t.Helper()
	loc, err := civil.LoadZone(zone)
	must(t, err)
	s := &stage{t: t, store: newStore(t), clock: clock{loc}, hand: &hand{}}
	s.shop = orders.Workshop{Name: "Saltmarsh Soap", Zone: zone, Units: "metric", Currency: "EUR", Locale: "en-GB", Hands: 1}
	s.owner = orders.Person{Name: "Tilda Marram", Email: "tilda@saltmarsh.example", Role: orders.Owner, PasswordHash: "x", DigestAt: minute("18:00")}
	must(t, s.store.System(t.Context(), func(tx orders.SystemTx) error {
		return tx.CreateWorkshop(t.Context(), &s.shop, &s.owner, func(orders.Tx) error { return nil })
	}))
	s.wall("2035-12-03", "12:00")
	return s
}

// wall moves the clock to a wall-clock time of the workshop.
func (s *stage) wall(date, clock string) {
	s.t.Helper()
	s.hand.set(s.at(date, clock))
}

func (s *stage) at(date, clock string) time.Time {
	s.t.Helper()
	return s.clock.at(day(date), *minute(clock))
}

// service is a replica on the stage's database.
func (s *stage) service(m Mailer) *Service {
	s.t.Helper()
	return s.serviceOn(s.store, m)
}

func (s *stage) serviceOn(store orders.Store, m Mailer) *Service {
	s.t.Helper()
	out, err := New(Config{
		Store: store, Mailer: m, Now: s.hand.now, BaseURL: baseURL, Log: slog.New(slog.DiscardHandler), Workers: 2,
	})
	must(s.t, err)
	return out
}

// run looks once and wants no trouble.
func (s *stage) run(r *Service) {
	s.t.Helper()
	if _, err := r.RunOnce(s.t.Context()); err != nil {
		s.t.Fatal(err)
	}
}

// change runs fn in a transaction of the workshop.
func (s *stage) change(fn func(context.Context, orders.Tx) error) {
	s.t.Helper()
	must(s.t, s.store.Write(s.t.Context(), s.shop.ID, func(tx orders.Tx) error { return fn(s.t.Context(), tx) }))
}

// publish publishes a plan revision with these tasks in it.
func (s *stage) publish(why string, tasks ...orders.Task) []orders.Task {
	s.t.Helper()
	s.change(func(ctx context.Context, tx orders.Tx) error {
		rev := orders.PlanRevision{At: s.hand.now(), By: s.owner.Name, Why: why}
		if err := tx.AddRevision(ctx, &rev); err != nil {
			return err
		}
		for i := range tasks {
			tasks[i].Revision, tasks[i].ChangedAt = rev.Number, s.hand.now()
		}
		return tx.PutTasks(ctx, tasks)
	})
	return tasks
}

// timed is an open task that begins at a wall-clock time and takes 40 minutes.
func (s *stage) timed(kind orders.TaskKind, title, date, clock string) orders.Task {
	s.t.Helper()
	from := s.at(date, clock)
	return orders.Task{
		Kind: kind, Title: title, Detail: "Oat and honey: 2 × Loaf", Status: orders.TaskOpen,
		From: from, To: from.Add(40 * time.Minute), Day: s.clock.day(from), LastDay: s.clock.day(from.Add(40 * time.Minute)),
	}
}

// deliveries is the outbox, oldest first.
func (s *stage) deliveries() []orders.Delivery {
	s.t.Helper()
	var out []orders.Delivery
	must(s.t, s.store.Read(s.t.Context(), s.shop.ID, func(tx orders.Tx) error {
		var err error
		out, err = deliveriesSince(s.t.Context(), tx, "", time.Time{})
		return err
	}))
	for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
		out[i], out[j] = out[j], out[i]
	}
	return out
}

// find is the delivery of a kind on a date; it must be there.
func (s *stage) find(kind, date string) orders.Delivery {
	s.t.Helper()
	for _, d := range s.deliveries() {
		if d.Kind == kind && d.LocalDate == day(date) {
			return d
		}
	}
	s.t.Fatalf("no %s delivery on %s in %+v", kind, date, s.deliveries())
	return orders.Delivery{}
}

func day(s string) civil.Date {
	d, err := civil.Parse(s)
	if err != nil {
		panic(err)
	}
	return d
}

func minute(s string) *civil.Minute {
	m, err := civil.ParseMinute(s)
	if err != nil {
		panic(err)
	}
	return &m
}

// outbox is a Mailer that keeps what it is given, or fails.
type outbox struct {
	mu   sync.Mutex
	mail []Message
	fail error
}

func (o *outbox) Send(_ context.Context, m Message) (orders.DeliveryStatus, string, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.fail != nil {
		return "", "", o.fail
	}
	o.mail = append(o.mail, m)
	return orders.DeliverySent, "250 taken", nil
}

// take returns what came since the last take.
func (o *outbox) take() []Message {
	o.mu.Lock()
	defer o.mu.Unlock()
	out := o.mail
	o.mail = nil
	return out
}

func (o *outbox) failWith(err error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.fail = err
}

// recordLog is a log, and what was written to it so far.
func recordLog() (*slog.Logger, func() string) {
	var w lockedText
	return slog.New(slog.NewTextHandler(&w, nil)), w.String
}

type lockedText struct {
	mu   sync.Mutex
	text []byte
}

func (w *lockedText) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.text = append(w.text, p...)
	return len(p), nil
}

func (w *lockedText) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return string(w.text)
}
