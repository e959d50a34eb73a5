package orders

import (
	"context"
	"time"

	"ripeline/schedule/civil"
)

// event is the moment at which a fact is recorded.
type event struct {
	now  time.Time
	zone *time.Location
	shop Workshop
}

func (b *Book) newEvent(ctx context.Context, tx Tx) (event, error) {
	w, err := tx.Workshop(ctx)
	if err != nil {
		return event{}, err
	}
	zone, err := w.location()
	return event{now: b.now(), zone: zone, shop: w}, err
}

// longestAgo is how far back a fact may be recorded.
const longestAgo = 366 * 24 * time.Hour

// at is when it happened, to the second: now when nothing is given. It can lie
// neither ahead nor before the step that came before. A form knows no seconds: the
// minute of the step before is that step's time.
func (e event) at(c *Check, given, before time.Time, step string) time.Time {
	if given.IsZero() {
		given = e.now
	}
	at := given.UTC().Truncate(time.Second)
	switch {
	case at.After(e.now):
		c.Add("at", "lies in the future; give the time it happened, or leave it empty for now")
	case at.Before(e.now.Add(-longestAgo)):
		c.Add("at", "lies more than a year back; check the date")
	case at.Before(before) && at.Equal(before.Truncate(time.Minute)):
		return before
	case at.Before(before):
		c.Add("at", "lies before the batch was "+step+" ("+e.says(before)+"); give a later time")
	}
	return at
}

// says writes an instant by the workshop's clock.
func (e event) says(t time.Time) string { return t.In(e.zone).Format("2006-01-02 15:04") }

func (e event) day(t time.Time) civil.Date { return civil.Of(t.In(e.zone)) }
