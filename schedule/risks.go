package schedule

import "cmp"

// Risks is what may go wrong with a batch beside its design's FailRate and Spoil.
// A zero field means the default.
type Risks struct {
	BeforeCut    float64 `json:"before_cut,omitempty"`    // share of failures that show by the cut, 0..1; the others show on the rack
	SlowCure     float64 `json:"slow_cure,omitempty"`     // chance that a batch needs longer than its minimum cure, 0..1
	SlowDays     int     `json:"slow_days,omitempty"`     // days it then needs more at most, each number as likely
	LateSupplies float64 `json:"late_supplies,omitempty"` // chance that supplies which are still to come are late, 0..1
	LateDays     int     `json:"late_days,omitempty"`     // days they are then late at most
}

// The defaults are our own choice, a prior and no published figure: a failed
// batch mostly shows it by the cut, one in ten cures a few days longer, one
// delivery in ten is late.
const (
	DefaultBeforeCut    = 0.7
	DefaultSlowCure     = 0.1
	DefaultSlowDays     = 7
	DefaultLateSupplies = 0.1
	DefaultLateDays     = 7
)

func (r Risks) orDefault() Risks {
	return Risks{
		BeforeCut: cmp.Or(r.BeforeCut, DefaultBeforeCut), SlowCure: cmp.Or(r.SlowCure, DefaultSlowCure), SlowDays: cmp.Or(r.SlowDays, DefaultSlowDays),
		LateSupplies: cmp.Or(r.LateSupplies, DefaultLateSupplies), LateDays: cmp.Or(r.LateDays, DefaultLateDays),
	}
}

// checkRisks reports shares and days that make no sense.
func (p *Problem) checkRisks(f *faults) {
	shares := []struct {
		name string
		at   float64
	}{{"before_cut", p.Risks.BeforeCut}, {"slow_cure", p.Risks.SlowCure}, {"late_supplies", p.Risks.LateSupplies}}
	for _, s := range shares {
		f.need(s.at >= 0 && s.at <= 1, "risks."+s.name, "use a share from 0 to 1")
	}
	f.need(p.Risks.SlowDays >= 0 && p.Risks.SlowDays <= mostDays, "risks.slow_days", "use 0 to %d days", mostDays)
	f.need(p.Risks.LateDays >= 0 && p.Risks.LateDays <= mostDays, "risks.late_days", "use 0 to %d days", mostDays)
}
