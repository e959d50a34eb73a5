package orders

import (
	"context"
	"fmt"
	"regexp"

	"ripeline/schedule/civil"
)

// soapLot is a lot code of soap: the design's code, a day and a number.
var soapLot = regexp.MustCompile(`^(.+)-(\d{6})-\d+$`)

// lotDay writes a day as a lot code has it.
func lotDay(d civil.Date) string { return fmt.Sprintf("%02d%02d%02d", d.Year%100, d.Month, d.Day) }

// nextLot is a lot code that no batch had yet.
func nextLot(ctx context.Context, tx Tx, code, day string) (string, error) {
	prefix := fmt.Sprintf("%s-%s-", code, day)
	n, err := tx.NextLot(ctx, prefix)
	return fmt.Sprintf("%s%d", prefix, n), err
}

// codeByPour gives a batch that is poured on another day than its lot code has the
// code of that day, and says so. Nothing of it carries the code yet: from the pour on
// it never changes, since labels have it.
func (x *Batch) codeByPour(ctx context.Context, tx Tx, day civil.Date) ([]string, error) {
	parts := soapLot.FindStringSubmatch(x.Lot)
	if parts == nil || parts[2] == lotDay(day) {
		return nil, nil
	}
	was := x.Lot
	var err error
	if x.Lot, err = nextLot(ctx, tx, parts[1], lotDay(day)); err != nil {
		return nil, fmt.Errorf("name %s by its pour: %w", was, err)
	}
	x.note("Planned as " + was + "; the lot code follows the day of the pour.")
	return []string{fmt.Sprintf("Its lot code is %s from now on, by the day of the pour; change it on a sheet that was printed as %s.", x.Lot, was)}, nil
}
