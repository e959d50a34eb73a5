// Package remind tells people what is due: a daily digest, reminders by their
// own rules, and short mails about changes that come after the digest.
//
// What is due is computed from wall-clock times, each local day by itself, and
// stored ahead as rows of the outbox (orders.Delivery). The loop claims rows
// whose time has come, writes them from the published plan and sends them, so
// "due by now" also catches up after a stop. Nothing is kept in memory only.
//
// A row is one reminder: a unique key (person, local date, kind, slot) keeps
// two replicas from storing it twice, a lease from sending it at once. Its text
// and Message-ID are stored before the first attempt and never change. The
// mail's last byte leaves within a transaction that has already marked the row
// as sent, so that when the mail server says yes the commit is all that is left.
// A process killed between the two leaves a row that can not tell, and it is
// sent again after the lease, with the same text and under the same Message-ID,
// by which mail programs may tell. SMTP offers nothing better: the alternative
// is to lose it.
package remind

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/url"
	"runtime/debug"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
	"golang.org/x/sync/errgroup"

	"ripeline/orders"
)

// Defaults of Config.
const (
	DefaultEvery   = 20 * time.Second
	DefaultLease   = 5 * time.Minute
	DefaultWorkers = 4
)

// Config is what the reminders need.
type Config struct {
	Store  orders.Store     // required
	Mailer Mailer           // required; NewShown when there is no mail server
	Now    func() time.Time // required: the only clock that is read
	Log    *slog.Logger     // required

	// BaseURL is the scheme and host people use, such as https://soap.example.
	// Links in reminders and the host of their Message-IDs come from it.
	BaseURL string

	Every time.Duration // how often the loop looks; DefaultEvery when 0
	// Lease is how long a claimed reminder is left to who claimed it. It must
	// be longer than sending may take, and than the replicas' clocks differ;
	// DefaultLease when 0.
	Lease   time.Duration
	Workers int // reminders sent at once; DefaultWorkers when 0
}

// Service stores reminders ahead and delivers those that are due. Any number
// of them may run on one database.
type Service struct {
	cfg  Config
	now  func() time.Time // to the second, as the database keeps it
	host string           // of Message-IDs
}

// New checks cfg and fills in its defaults.
func New(cfg Config) (*Service, error) {
	if cfg.Store == nil || cfg.Mailer == nil || cfg.Now == nil || cfg.Log == nil {
		return nil, errors.New("remind: Store, Mailer, Now and Log must be set")
	}
	cfg.BaseURL = strings.TrimRight(cfg.BaseURL, "/")
	base, err := url.Parse(cfg.BaseURL)
	if err != nil || base.Host == "" || (base.Scheme != "http" && base.Scheme != "https") {
		return nil, fmt.Errorf("remind: the base address %q must be http or https with a host, such as https://soap.example", cfg.BaseURL)
	}
	if cfg.Every < 0 || cfg.Lease < 0 || cfg.Workers < 0 {
		return nil, errors.New("remind: Every, Lease and Workers must not be negative")
	}
	if cfg.Every == 0 {
		cfg.Every = DefaultEvery
	}
	if cfg.Lease == 0 {
		cfg.Lease = DefaultLease
	}
	if cfg.Workers == 0 {
		cfg.Workers = DefaultWorkers
	}
	now := func() time.Time { return cfg.Now().UTC().Truncate(time.Second) }
	return &Service{cfg: cfg, now: now, host: messageHost(base.Hostname())}, nil
}

// messageHost is what stands behind the @ of a Message-ID: a bare address is no
// name, so it is not used.
func messageHost(host string) string {
	if net.ParseIP(host) != nil {
		return "localhost"
	}
	return host
}

// Run looks at once and then every cfg.Every until ctx ends, and returns nil
// after what was under way has been finished. Failures are logged and tried
// again; a look that takes longer than cfg.Every delays the next one.
func (s *Service) Run(ctx context.Context) error {
	log := cronLog{s.cfg.Log}
	wake := cron.NewChain(cron.SkipIfStillRunning(log), cron.Recover(log)).Then(cron.FuncJob(func() { s.look(ctx) }))
	tick := cron.New(cron.WithLocation(time.UTC), cron.WithLogger(log))
	tick.Schedule(cron.Every(s.cfg.Every), wake)
	wake.Run()
	tick.Start()
	<-ctx.Done()
	<-tick.Stop().Done()
	return nil
}

func (s *Service) look(ctx context.Context) {
	if ctx.Err() != nil {
		return
	}
	n, err := s.RunOnce(ctx)
	if err != nil && ctx.Err() == nil {
		s.cfg.Log.ErrorContext(ctx, "reminders: something failed and will be tried again", "error", err)
	}
	if n > 0 {
		s.cfg.Log.InfoContext(ctx, "reminders: done", "count", n)
	}
}

// RunOnce stores what will be due, forgets what ended long ago, then delivers all that is due. It returns
// how many reminders it brought to an end or put off, and everything that went
// wrong; one that fails does not keep others back.
func (s *Service) RunOnce(ctx context.Context) (int, error) {
	errs := []error{s.storeAhead(ctx), s.prune(ctx)}
	counts := make([]int, s.cfg.Workers)
	failures := make([]error, s.cfg.Workers)
	var group errgroup.Group
	for i := range s.cfg.Workers {
		group.Go(func() error {
			defer recovered(&failures[i])
			counts[i], failures[i] = s.drain(ctx)
			return nil
		})
	}
	_ = group.Wait() // the failures are kept apart, since one must not hide another
	n := 0
	for _, c := range counts {
		n += c
	}
	return n, errors.Join(append(errs, failures...)...)
}

// recovered turns a panic of a worker into an error. The tick recovers its own
// goroutine only, and one reminder must not stop the service; its lease stands,
// so it is tried again later.
func recovered(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("panic: %v\n%s", r, debug.Stack())
	}
}

// drain claims and delivers until nothing is due.
func (s *Service) drain(ctx context.Context) (int, error) {
	var errs []error
	for n := 0; ; n++ {
		if err := ctx.Err(); err != nil {
			return n, errors.Join(append(errs, err)...)
		}
		found, err := s.deliverOne(ctx)
		if err != nil {
			errs = append(errs, err)
		}
		if !found {
			return n, errors.Join(errs...)
		}
	}
}

// cronLog hands what the tick has to say to slog.
type cronLog struct{ log *slog.Logger }

// Info is about each tick, which nobody wants to read.
func (l cronLog) Info(msg string, args ...any) { l.log.Debug("reminders: tick: "+msg, args...) }

// Error tells of a panic in a look.
func (l cronLog) Error(err error, msg string, args ...any) {
	l.log.Error("reminders: "+msg, append([]any{"error", err}, args...)...)
}
