package pages

import (
	"testing"

	"ripeline/orders"
)

func TestDeliveryWithoutWordsIsNamedByWhatItIsAbout(t *testing.T) {
	t.Parallel()
	rules := []orders.ReminderRule{{Meta: orders.Meta{ID: "r1"}, Name: "The evening before a cut"}}
	for kind, want := range map[string]string{
		"digest": "What there is to do tomorrow", "digest-today": "What there is to do today", "change": "Changes to the plan",
		"rule:r1": "The evening before a cut", "rule:r2": "A reminder whose rule was removed",
	} {
		if got := deliveryName(kind, rules); got != want {
			t.Errorf("%s is called %q, want %q", kind, got, want)
		}
	}
}

func TestRuleTimeOfACronLine(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]struct{ at, days, cron string }{
		"0 18 * * *":    {"18:00", "*", ""},
		"5 7 * * 1-5":   {"07:05", "1-5", ""},
		"30 6 * * 0,6":  {"06:30", "0,6", ""},
		"0 9 * * 4":     {"09:00", "4", ""},
		"0 24 * * *":    {"", "*", "0 24 * * *"},
		"60 9 * * *":    {"", "*", "60 9 * * *"},
		"*/5 9 * * *":   {"", "*", "*/5 9 * * *"},
		"0 9 1 * *":     {"", "*", "0 9 1 * *"},
		"0 9 * * 1,3,5": {"", "*", "0 9 * * 1,3,5"},
	} {
		got, at := ruleTimeOf(line), ""
		if got.at != nil {
			at = got.at.String()
		}
		if at != want.at || got.days != want.days || got.cron != want.cron {
			t.Errorf("%q is at %q on %q, as a line %q; want %+v", line, at, got.days, got.cron, want)
		}
	}
}
