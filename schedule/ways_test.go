package schedule_test

import (
	"slices"
	"testing"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TestWaysOutHold does what each way out of a refusal asks for, in workshops with
// few hours, published or not, and asks again: for fewer pieces, with the hours
// more, the answer is yes, and for the later date yes or yes after less cure.
func TestWaysOutHold(t *testing.T) {
	tried := map[schedule.AlternativeKind]int{}
	for seed := range uint64(80) {
		d := newDice(40_000 + seed)
		p := d.workshop()
		p.Hours = []schedule.Window{
			{Weekday: time.Saturday, From: 9 * 60, To: civil.Minute(60 * d.between(11, 14))},
			{Weekday: time.Weekday(d.IntN(6)), From: 9 * 60, To: civil.Minute(60 * d.between(11, 14))},
		}
		if seed%2 == 1 {
			p = d.advance(publish(p, solved(t, "published", p)))
		}
		enquiry := d.order(p, "q")
		enquiry.NeededBy = civil.Of(p.Now).AddDays(d.between(20, 70))
		for _, alt := range promised(t, p, enquiry).Alternatives {
			changed, then := enquiry, *p
			changed.Lines = slices.Clone(enquiry.Lines)
			switch alt.Kind {
			case schedule.AltLaterDate:
				changed.NeededBy = alt.NeededBy
			case schedule.AltFewer:
				changed.Lines[0].Pieces = alt.Pieces
			case schedule.AltExtraWindow:
				then.Extra = append(slices.Clip(p.Extra), alt.Window)
			default:
				continue
			}
			tried[alt.Kind]++
			again := promised(t, &then, changed)
			ripens := alt.Kind == schedule.AltLaterDate && again.Verdict == schedule.YesIf && again.Alternatives[0].Kind == schedule.AltMinimumCure
			if again.Verdict != schedule.Yes && !ripens {
				t.Errorf("workshop %d: %s Asked again: %s, %v", seed, alt.Text, again.Verdict, again.Alternatives)
			}
		}
	}
	if tried[schedule.AltExtraWindow] < 5 || tried[schedule.AltFewer] < 2 || tried[schedule.AltLaterDate] < 30 {
		t.Errorf("%v is too few to tell", tried)
	}
}
