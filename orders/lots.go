package orders

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"ripeline/schedule/civil"
)

// maxLotCode is the longest code of a lot, in characters.
const maxLotCode = 60

// byExpiry orders lots as they are used up: first what expires first, then what
// came first.
func byExpiry(a, b Lot) int {
	if a.ExpiresOn.IsZero() != b.ExpiresOn.IsZero() {
		if a.ExpiresOn.IsZero() {
			return 1
		}
		return -1
	}
	return cmp.Or(a.ExpiresOn.Compare(b.ExpiresOn), a.ReceivedOn.Compare(b.ReceivedOn), strings.Compare(a.ID, b.ID))
}

// checkLot completes and checks a lot; today is the workshop's.
func (b *Book) checkLot(ctx context.Context, tx Tx, r, before *Lot) error {
	today, err := b.today(ctx, tx)
	if err != nil {
		return err
	}
	var c Check
	ing, err := known(ctx, &c, tx.Ingredients(), "ingredient_id", r.IngredientID, "ingredient")
	if err != nil {
		return err
	}
	if r.ReceivedOn.IsZero() {
		r.ReceivedOn = today
	}
	if before == nil {
		r.Used = 0
		r.Left = cmp.Or(r.Left, r.Received)
	} else {
		r.Used = before.Used
		c.Want(ing.ID == "" || ing.ID == before.IngredientID, "ingredient_id", "can not change; remove this lot and receive it anew")
	}
	r.Code = strings.TrimSpace(r.Code)
	checkText(&c, "code", r.Code, maxLotCode, false)
	checkNote(&c, "note", r.Note)
	r.checkDays(&c, today)
	w, err := tx.Workshop(ctx)
	if err != nil {
		return err
	}
	r.checkAmounts(&c, w)
	if err := c.Err(); err != nil || before != nil && sameCode(before.Code, r.Code) {
		return err
	}
	return checkNewCode(ctx, tx, r)
}

// sameCode compares codes as the trace does.
func sameCode(a, b string) bool { return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) }

// checkNewCode refuses a code that another lot of the ingredient has: on a sheet
// or in a list of choices nobody could tell them apart.
func checkNewCode(ctx context.Context, tx Tx, r *Lot) error {
	if r.Code == "" {
		return nil
	}
	all, err := allOf(ctx, tx.Lots(), ListQuery{Parent: r.IngredientID, All: true})
	if err != nil {
		return err
	}
	var c Check
	for _, l := range all {
		if l.ID != r.ID && sameCode(l.Code, r.Code) {
			c.Add("code", fmt.Sprintf("is on record already, received on %s; add what came now to that lot, or write behind the code what tells them apart, such as the day", l.ReceivedOn))
			break
		}
	}
	return c.Err()
}

func (l Lot) checkDays(c *Check, today civil.Date) {
	checkDay(c, "received_on", l.ReceivedOn)
	c.Want(!l.ReceivedOn.After(today), "received_on", "lies ahead; record it as on order until it is here")
	if l.ExpiresOn.IsZero() {
		return
	}
	checkDay(c, "expires_on", l.ExpiresOn)
	c.Want(!l.ExpiresOn.Before(l.ReceivedOn), "expires_on", "lies before the day it was received ("+l.ReceivedOn.String()+"); check both dates")
}

func (l Lot) checkAmounts(c *Check, w Workshop) {
	c.Want(l.Received > 0 && l.Received <= maxOnHand, "received_mg", "must be more than 0 and at most 10,000 kg")
	c.Want(l.Left >= 0 || l.Received < 0, "left_mg", "must not be negative; give what is left, 0 when it is used up")
	if l.Left >= 0 && l.Received > 0 && l.Left+l.Used > l.Received {
		most := max(0, l.Received-l.Used)
		c.Add("left_mg", fmt.Sprintf("can be at most %s: of the %s received batches used %s", w.atMost(most), w.mass(l.Received), w.mass(l.Used)))
	}
	checkMoney(c, "price_minor", l.Price)
}

// unusedLot keeps what a batch was made of on record.
func unusedLot(r *Lot) error {
	if r.Used == 0 {
		return nil
	}
	return &Conflict{"Batches were made with this lot, and the record says which, so it stays. Set what is left to 0 when it is used up."}
}

// stockUp makes the first lot of a new ingredient that is on the shelf already.
func (b *Book) stockUp(ctx context.Context, tx Tx, i *Ingredient) error {
	if i.OnHand == 0 {
		return nil
	}
	today, err := b.today(ctx, tx)
	if err != nil {
		return err
	}
	lot := Lot{IngredientID: i.ID, ReceivedOn: today, Received: i.OnHand, Left: i.OnHand, Note: "On the shelf when the ingredient was added"}
	if err := tx.Lots().Insert(ctx, &lot); err != nil {
		return fmt.Errorf("stock up with %s: %w", i.Name, err)
	}
	i.Lots = 1
	return nil
}

// shelved parts what has expired by today from what is on hand.
func (b *Book) shelved(ctx context.Context, tx Tx, all []Ingredient) error {
	today, err := b.today(ctx, tx)
	if err != nil {
		return err
	}
	for n := range all {
		i := &all[n]
		i.Expired = i.expiredBy(today)
		i.OnHand -= i.Expired
	}
	return nil
}

// keepStock leaves to lots and purchases what they tell: what a change says of
// it may be as old as the record was when it was read, so it is ignored.
func keepStock(c *Check, r, before *Ingredient) {
	if before != nil {
		r.OnHand, r.ExpectedOn, r.Lots, r.Ends = before.OnHand, before.ExpectedOn, before.Lots, before.Ends
		return
	}
	c.Want(r.ExpectedOn.IsZero(), "expected_on", "is told by what is on order; add the ingredient, then a purchase of it")
	r.Lots, r.Expired, r.Ends = 0, 0, nil
}

// checkPurchase completes and checks something on order.
func (b *Book) checkPurchase(ctx context.Context, tx Tx, r, before *Purchase) error {
	if before != nil && before.LotID != "" {
		return &Conflict{"This was received already. Correct the lot it became."}
	}
	today, err := b.today(ctx, tx)
	if err != nil {
		return err
	}
	var c Check
	i, err := known(ctx, &c, tx.Ingredients(), "ingredient_id", r.IngredientID, "ingredient")
	if err != nil {
		return err
	}
	if r.OrderedOn.IsZero() {
		r.OrderedOn = today
	}
	if r.ArrivesOn.IsZero() {
		r.ArrivesOn = r.OrderedOn.AddDays(i.LeadDays)
	}
	r.LotID = ""
	checkDay(&c, "ordered_on", r.OrderedOn)
	checkDay(&c, "arrives_on", r.ArrivesOn)
	c.Want(!r.OrderedOn.After(today), "ordered_on", "lies ahead; record it when it is ordered")
	c.Want(!r.ArrivesOn.Before(r.OrderedOn), "arrives_on", "lies before the day it was ordered ("+r.OrderedOn.String()+"); check both dates")
	c.Want(r.Quantity >= 0 && r.Quantity <= maxOnHand, "quantity_mg", "must lie between 0 and 10,000 kg; leave it empty when it is not known")
	checkMoney(&c, "price_minor", r.Price)
	checkNote(&c, "note", r.Note)
	return c.Err()
}

// Receive makes a lot of what was on order. Helpers may call it.
func (b *Book) Receive(ctx context.Context, a Actor, id string, version int, in Receipt) (Lot, error) {
	if err := a.may(Helper, true); err != nil {
		return Lot{}, err
	}
	return write(ctx, b, a, func(tx Tx) (Lot, error) {
		p, err := tx.Purchases().Get(ctx, id)
		if err != nil {
			return Lot{}, err
		}
		if p.LotID != "" {
			return Lot{}, &Conflict{"This was received already. Correct the lot it became."}
		}
		if err := p.seen(version, "This purchase"); err != nil {
			return Lot{}, err
		}
		return b.receive(ctx, tx, a, p, in)
	})
}

func (b *Book) receive(ctx context.Context, tx Tx, a Actor, p Purchase, in Receipt) (Lot, error) {
	lot := Lot{
		IngredientID: p.IngredientID, Code: in.Code, ReceivedOn: in.ReceivedOn, ExpiresOn: in.ExpiresOn,
		Received: cmp.Or(in.Received, p.Quantity), Price: cmp.Or(in.Price, p.Price), Note: cmp.Or(in.Note, p.Note),
	}
	if err := b.checkLot(ctx, tx, &lot, nil); err != nil {
		return Lot{}, err
	}
	if err := tx.Lots().Insert(ctx, &lot); err != nil {
		return Lot{}, fmt.Errorf("receive purchase %s: %w", p.ID, err)
	}
	p.LotID = lot.ID
	if err := tx.Purchases().Update(ctx, &p); err != nil {
		return Lot{}, fmt.Errorf("receive purchase %s: %w", p.ID, err)
	}
	i, err := tx.Ingredients().Get(ctx, p.IngredientID)
	if err != nil {
		return Lot{}, err
	}
	w, err := tx.Workshop(ctx)
	if err != nil {
		return Lot{}, err
	}
	text := fmt.Sprintf("Received %s of %s, lot %s.", w.mass(lot.Received), i.Name, lot.called())
	if err := b.journal(ctx, tx, a, "purchase.receive", lot.ID, text); err != nil {
		return Lot{}, err
	}
	_, err = b.replan(ctx, tx, a, text)
	return lot, err
}

// called is what a person calls the lot.
func (l Lot) called() string {
	return cmp.Or(l.Code, "of unknown code, received "+l.ReceivedOn.String())
}

// sortedLots is lots as they are used up.
func sortedLots(lots []Lot) []Lot {
	out := slices.Clone(lots)
	slices.SortFunc(out, byExpiry)
	return out
}
