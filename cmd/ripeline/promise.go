package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// promiseCmd asks whether an order can be ready by a date.
type promiseCmd struct {
	database `embed:""`
	Email    string `required:"" help:"E-mail address of someone of the workshop."`
	Design   string `required:"" help:"The design: its name or its lot code."`
	Pieces   int    `required:"" help:"How many pieces."`
	By       string `required:"" help:"The date they are needed, as 2026-12-31."`
}

// Run prints the answer in words.
func (c promiseCmd) Run(ctx context.Context, std streams) (err error) {
	by, err := civil.Parse(c.By)
	if err != nil {
		return fmt.Errorf("--by: %w", err)
	}
	if err := c.existing(); err != nil {
		return err
	}
	db, err := c.open(ctx, slog.New(slog.DiscardHandler), shared)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close(ctx)) }()
	book := orders.NewBook(db.store, time.Now)
	actor, err := c.actor(ctx, db.store)
	if err != nil {
		return err
	}
	design, err := c.find(ctx, book, actor)
	if err != nil {
		return err
	}
	answer, err := book.Promise(ctx, actor, orders.Question{NeededBy: by, Lines: []orders.OrderLine{{DesignID: design.ID, Pieces: c.Pieces}}})
	if err != nil {
		return err
	}
	return printAnswer(std.out, answer)
}

// actor may look at the workshop that the e-mail address belongs to.
func (c promiseCmd) actor(ctx context.Context, store orders.Store) (orders.Actor, error) {
	var a orders.Actor
	err := store.System(ctx, func(tx orders.SystemTx) error {
		workshop, p, err := tx.PersonByEmail(ctx, c.Email)
		a = orders.Actor{WorkshopID: workshop, PersonID: p.ID, Name: p.Name, Role: orders.Viewer, ReadOnly: true}
		return err
	})
	if errors.Is(err, orders.ErrNotFound) {
		return a, fmt.Errorf("--email: nobody signs in with %s", c.Email)
	}
	return a, err
}

func (c promiseCmd) find(ctx context.Context, book *orders.Book, a orders.Actor) (orders.Design, error) {
	var names []string
	for q := (orders.ListQuery{Limit: 200}); ; {
		page, err := book.Designs.List(ctx, a, q)
		if err != nil {
			return orders.Design{}, err
		}
		for _, d := range page.Items {
			if strings.EqualFold(d.Name, c.Design) || strings.EqualFold(d.LotCode, c.Design) {
				return d, nil
			}
			names = append(names, d.Name)
		}
		if q.Cursor = page.Next; q.Cursor == "" {
			return orders.Design{}, fmt.Errorf("--design: there is no %q; there are: %s", c.Design, strings.Join(names, ", "))
		}
	}
}

// printAnswer says the verdict, the days it rests on, the reasons and the
// alternatives, a line each.
func printAnswer(w io.Writer, a *schedule.Answer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s", a.Verdict)
	if !a.Ready.IsZero() {
		fmt.Fprintf(&b, ": ready on %s, wanted ready by %s", a.Ready, a.Deadline)
	}
	b.WriteString("\n")
	for _, s := range a.Stages {
		fmt.Fprintf(&b, "  %s to %s  %s\n", s.From, s.To, s.Text)
	}
	if !a.LastSafePour.IsZero() {
		fmt.Fprintf(&b, "  Last safe pour: %s\n", a.LastSafePour)
	}
	for _, r := range a.Reasons {
		fmt.Fprintf(&b, "  because %s\n", r.Text)
	}
	if a.Verdict != schedule.Yes && !a.Earliest.IsZero() {
		fmt.Fprintf(&b, "  Earliest date that can be promised: %s\n", a.Earliest)
	}
	for _, alt := range a.Alternatives {
		fmt.Fprintf(&b, "  or: %s\n", alt.Text)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
