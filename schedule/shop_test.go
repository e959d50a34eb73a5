package schedule_test

import (
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// eveningShop is a workshop open on two evenings and a Saturday morning, with
// two loaf molds, a rack and one design that cures for four to six weeks.
func eveningShop() *schedule.Problem {
	zone, err := civil.LoadZone("Europe/Lisbon")
	if err != nil {
		panic(err)
	}
	return &schedule.Problem{
		Now: time.Date(2026, 3, 2, 9, 0, 0, 0, zone), Zone: zone,
		Hours: []schedule.Window{
			{Weekday: time.Tuesday, From: 18 * 60, To: 21 * 60},
			{Weekday: time.Thursday, From: 18 * 60, To: 21 * 60},
			{Weekday: time.Saturday, From: 9 * 60, To: 13 * 60},
		},
		Hands: 1, Firm: 3, Rack: 200 * 4000,
		Molds: []schedule.Mold{{ID: "loaf", Name: "loaf mold", Count: 2, Clean: 15}},
		Designs: []schedule.Design{{
			ID: "oat", Name: "Oat and honey", Footprint: 4000,
			Fits:      []schedule.Fit{{MoldID: "loaf", Full: 24, Min: 12, Step: 1}},
			MakeFixed: 40, MakePer: 30, CutFixed: 10, CutPer: 20, WrapFixed: 10, WrapPer: 60,
			CutWindow: schedule.CutWindow{Min: 18, Max: 48}, CureMin: 28, CureTarget: 42, Spoil: 0.04,
		}},
	}
}
