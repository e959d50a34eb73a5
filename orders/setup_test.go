package orders_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"ripeline/orders"
)

// racing is a store on which something else happens right after the workshops were
// counted.
type racing struct {
	orders.Store
	between func()
}

func (r racing) System(ctx context.Context, fn func(orders.SystemTx) error) error {
	return r.Store.System(ctx, func(tx orders.SystemTx) error { return fn(racingTx{tx, r.between}) })
}

type racingTx struct {
	orders.SystemTx
	between func()
}

func (r racingTx) CountWorkshops(ctx context.Context) (int, error) {
	n, err := r.SystemTx.CountWorkshops(ctx)
	r.between()
	return n, err
}

// TestSetupLinkOpensNothingOnceThereIsAWorkshop makes the link while another replica
// makes the first workshop: whoever reads the link in a log must not make a second.
func TestSetupLinkOpensNothingOnceThereIsAWorkshop(t *testing.T) {
	t.Parallel()
	ctx, store := t.Context(), openStore(t)
	now := func() time.Time { return wednesday }
	other := orders.NewBook(store, now)
	first := orders.Setup{Workshop: "Tideline", Name: "Inês", Email: "ines@example.org", Password: "a long enough secret", Zone: "Europe/Lisbon"}
	book := orders.NewBook(racing{store, func() {
		if _, err := other.AddWorkshop(ctx, first); err != nil {
			t.Error(err)
		}
	}}, now)
	token, err := book.NewSetupToken(ctx)
	if err != nil || token == "" {
		t.Fatalf("link %q, %v", token, err)
	}
	if err := other.CheckSetupToken(ctx, token); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("the link is said to open first run: %v", err)
	}
	second := first
	second.Email = "rui@example.org"
	if _, err := other.FirstRun(ctx, token, second); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("the link makes a second workshop: %v", err)
	}
}
