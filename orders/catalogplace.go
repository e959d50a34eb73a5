package orders

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// Limits of what a workshop can say of itself; wide room for a small one.
const (
	maxHands      = 50
	maxFirmDays   = 60
	maxHandOver   = 60
	maxHours      = 100
	maxMolds      = 1000
	maxCleaning   = 7 * 24 * 60
	maxShelves    = 500
	maxClosedSpan = 400
	maxYearsAhead = 10
)

// calcMold is the mold as the arithmetic takes it.
func (m Mold) calcMold() calc.Mold {
	return calc.Mold{Kind: m.Kind, Length: m.Length, Width: m.Width, Depth: m.Depth, Cavities: m.Cavities, CavityVolume: m.CavityVolume}
}

func checkMold(_ context.Context, _ Tx, m, _ *Mold) error {
	var c Check
	checkName(&c, "name", m.Name, true)
	if err := c.fold(m.calcMold().Validate(), moldField); err != nil {
		return err
	}
	within(&c, "count", m.Count, 1, maxMolds, "molds")
	within(&c, "min_fill_ppm", m.MinFill, 0, calc.Whole, "of a full mold")
	within(&c, "clean_minutes", m.CleanMinutes, 0, maxCleaning, "minutes")
	return c.Err()
}

// moldField is the JSON name of calc's mold field.
func moldField(f string) string {
	f = strings.TrimPrefix(f, "mold.")
	switch f {
	case "length", "width", "depth":
		return f + "_um"
	case "cavity_volume":
		return f + "_ul"
	}
	return f
}

func (b *Book) checkMoldOut(ctx context.Context, tx Tx, m, _ *MoldOut) error {
	var c Check
	mold, err := known(ctx, &c, tx.Molds(), "mold_id", m.MoldID, "mold")
	if err != nil {
		return err
	}
	within(&c, "units", m.Units, 1, max(1, mold.Count), "molds")
	checkNote(&c, "reason", m.Reason)
	return b.checkSpan(ctx, tx, &c, m.From, m.To)
}

func (b *Book) checkClosed(ctx context.Context, tx Tx, d, _ *ClosedDays) error {
	var c Check
	checkNote(&c, "reason", d.Reason)
	return b.checkSpan(ctx, tx, &c, d.From, d.To)
}

// checkSpan checks days From..To at the fields "from" and "to" and ends c.
func (b *Book) checkSpan(ctx context.Context, tx Tx, c *Check, from, to civil.Date) error {
	today, err := b.today(ctx, tx)
	if err != nil {
		return err
	}
	checkDay(c, "from", from)
	checkDay(c, "to", to)
	if c.Err() == nil {
		c.Want(!to.Before(from), "to", "is before the first day; swap them")
		c.Want(!to.Before(today), "to", fmt.Sprintf("%s is in the past; give days that are still ahead", to))
		c.Want(to.Sub(from) <= maxClosedSpan, "to", fmt.Sprintf("is more than %d days after the first; split it", maxClosedSpan))
	}
	return c.Err()
}

// checkDay checks that d is a day at all.
func checkDay(c *Check, field string, d civil.Date) {
	c.Want(!d.IsZero() && d.Valid() && d.Year >= 2000 && d.Year < 2200, field, "is not a day; write it as 2026-12-31")
}

func (b *Book) checkExtra(ctx context.Context, tx Tx, e, _ *ExtraWindow) error {
	var c Check
	today, err := b.today(ctx, tx)
	if err != nil {
		return err
	}
	checkDay(&c, "date", e.Date)
	c.Want(!e.Date.Before(today), "date", fmt.Sprintf("%s is in the past; give a day that is still ahead", e.Date))
	c.Want(e.Date.Year <= today.Year+maxYearsAhead, "date", "is too far ahead; give a nearer day")
	checkClock(&c, "", e.From, e.To)
	checkSteps(&c, "steps", e.Steps)
	checkNote(&c, "reason", e.Reason)
	return c.Err()
}

func checkClock(c *Check, prefix string, from, to civil.Minute) {
	c.Want(from.Valid() && to.Valid(), prefix+"from", "must be a time of day such as 18:00")
	c.Want(from < to, prefix+"to", "must be later than the start; work over midnight is two windows")
}

// checkSteps looks at no more steps than there are, so that a long list costs
// no more than a short one.
func checkSteps(c *Check, field string, steps []schedule.Step) {
	c.Want(len(steps) <= len(Steps), field, "has more steps than there are; name each once")
	for i, s := range steps[:min(len(steps), len(Steps))] {
		at := fmt.Sprintf("%s[%d]", field, i)
		c.Want(slices.Contains(Steps[:], s), at, "must be one of trial, make, cut, wrap")
		c.Want(!slices.Contains(steps[:i], s), at, "is there twice; take one away")
	}
}

func checkRack(_ context.Context, _ Tx, r, _ *Rack) error {
	var c Check
	checkName(&c, "name", r.Name, true)
	checkShelf(&c, "width_um", r.Width)
	checkShelf(&c, "depth_um", r.Depth)
	within(&c, "shelves", r.Shelves, 1, maxShelves, "shelves")
	return c.Err()
}

func checkShelf(c *Check, field string, side calc.Length) {
	c.Want(side >= 10*calc.Millimetre && side <= 20_000*calc.Millimetre, field, "must lie between 1 cm and 20 m")
}

// area is the rack's curing area in mm2.
func (r Rack) area() calc.Area {
	return calc.Area(int64(r.Width/calc.Millimetre) * int64(r.Depth/calc.Millimetre) * int64(r.Shelves))
}

// checkWorkshop checks what can be said of a workshop.
func checkWorkshop(w *Workshop) error {
	var c Check
	checkName(&c, "name", w.Name, true)
	if _, err := civil.LoadZone(w.Zone); err != nil {
		c.Add("zone", err.Error())
	}
	c.Want(w.Units == "metric" || w.Units == "imperial", "units", `must be "metric" or "imperial"`)
	c.Want(isCurrency(w.Currency), "currency", "must be a three-letter code such as EUR")
	c.Want(isLocale(w.Locale), "locale", "must be a language code such as en-GB")
	within(&c, "hands", w.Hands, 1, maxHands, "people")
	within(&c, "firm_days", w.FirmDays, 0, maxFirmDays, "days")
	within(&c, "hand_over_days", w.HandOver, 0, maxHandOver, "days")
	checkLabelSettings(&c, w)
	checkPrices(&c, w)
	c.Want(len(w.Hours) <= maxHours, "hours", fmt.Sprintf("has more than %d windows; leave some out", maxHours))
	checkHours(&c, w.Hours)
	return c.Err()
}

// checkHours compares each window with those before it, so it looks at no more
// than may be kept.
func checkHours(c *Check, hours []Window) {
	for i, h := range hours[:min(len(hours), maxHours)] {
		at := fmt.Sprintf("hours[%d].", i)
		c.Want(h.Weekday >= 0 && h.Weekday <= 6, at+"weekday", "must lie between 0 (Sunday) and 6 (Saturday)")
		checkClock(c, at, h.From, h.To)
		checkSteps(c, at+"steps", h.Steps)
		if j := slices.IndexFunc(hours[:i], h.overlaps); j >= 0 {
			c.Add(at+"from", fmt.Sprintf("overlaps window %d of the same day; join the two", j+1))
		}
	}
}

func (w Window) overlaps(other Window) bool {
	return w.Weekday == other.Weekday && w.From < other.To && other.From < w.To
}
