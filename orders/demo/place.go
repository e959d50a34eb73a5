package demo

import (
	"context"
	"time"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
)

const mm = calc.Millimetre

// place gives the workshop its hours, molds, racks and a day off ahead.
func (s *season) place(ctx context.Context) error {
	w, err := s.book.Workshop(ctx, s.actor)
	if err != nil {
		return err
	}
	rest := []schedule.Step{schedule.StepTrial, schedule.StepCut, schedule.StepWrap}
	w.Hours = []orders.Window{
		{Weekday: time.Tuesday, From: 18 * 60, To: 21 * 60},
		{Weekday: time.Thursday, From: 18 * 60, To: 21 * 60},
		{Weekday: time.Friday, From: 19 * 60, To: 20*60 + 30, Steps: rest},
		{Weekday: time.Saturday, From: 9 * 60, To: 13 * 60},
		{Weekday: time.Sunday, From: 17 * 60, To: 19 * 60, Steps: rest},
	}
	if _, err := s.book.ChangeWorkshop(ctx, s.actor, w); err != nil {
		return err
	}
	for _, m := range []orders.Mold{
		{Name: "Long loaf", Kind: calc.MoldLoaf, Length: 620 * mm, Width: 90 * mm, Depth: 65 * mm, Count: 2, MinFill: 40 * calc.Percent, CleanMinutes: 20},
		{Name: "Short loaf", Kind: calc.MoldLoaf, Length: 320 * mm, Width: 90 * mm, Depth: 65 * mm, Count: 2, MinFill: 50 * calc.Percent, CleanMinutes: 20},
		{Name: "Slab tray", Kind: calc.MoldSlab, Length: 500 * mm, Width: 360 * mm, Depth: 32 * mm, Count: 1, MinFill: 60 * calc.Percent, CleanMinutes: 20},
		{Name: "Shell tray", Kind: calc.MoldCavity, Length: 75 * mm, Width: 55 * mm, Cavities: 20, CavityVolume: 60 * calc.Millilitre, Count: 2, MinFill: 25 * calc.Percent, CleanMinutes: 15},
	} {
		made, err := s.book.Molds.Create(ctx, s.actor, m)
		if err != nil {
			return err
		}
		s.molds[m.Name] = made.ID
	}
	for _, r := range []orders.Rack{
		{Name: "Window rack", Width: 900 * mm, Depth: 400 * mm, Shelves: 6},
		{Name: "Stair rack", Width: 600 * mm, Depth: 300 * mm, Shelves: 4},
	} {
		if _, err := s.book.Racks.Create(ctx, s.actor, r); err != nil {
			return err
		}
	}
	_, err = s.book.Closed.Create(ctx, s.actor, orders.ClosedDays{From: s.day(16), To: s.day(18), Reason: "Away at the lighthouse"})
	return err
}
