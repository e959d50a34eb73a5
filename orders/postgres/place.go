package postgres

import (
	"ripeline/orders"
)

// How the workshop's place is stored: closed days, extra windows, molds, racks.

var closedKind = kind[orders.ClosedDays]{
	table: "closed_days", noun: "closed time",
	meta: func(d *orders.ClosedDays) *orders.Meta { return &d.Meta },
	columns: func(d *orders.ClosedDays) []column {
		return []column{{"from_day", &d.From}, {"to_day", &d.To}, {"reason", &d.Reason}}
	},
	listing: listing{keys: by("from_day", "date"), text: "reason"},
}

var extraKind = kind[orders.ExtraWindow]{
	table: "extra_windows", noun: "extra window",
	meta: func(e *orders.ExtraWindow) *orders.Meta { return &e.Meta },
	columns: func(e *orders.ExtraWindow) []column {
		return []column{
			{"on_day", &e.Date},
			{"from_minute", &e.From},
			{"to_minute", &e.To},
			{"steps", &e.Steps},
			{"reason", &e.Reason},
		}
	},
	listing: listing{keys: []sortKey{{"on_day", "date"}, {"from_minute", "bigint"}, {"id", "uuid"}}, text: "reason"},
}

var moldKind = kind[orders.Mold]{
	table: "molds", noun: "mold",
	meta: func(m *orders.Mold) *orders.Meta { return &m.Meta },
	columns: func(m *orders.Mold) []column {
		return []column{
			{"name", &m.Name},
			{"kind", &m.Kind},
			{"length_um", &m.Length},
			{"width_um", &m.Width},
			{"depth_um", &m.Depth},
			{"cavities", &m.Cavities},
			{"cavity_volume_ul", &m.CavityVolume},
			{"count", &m.Count},
			{"min_fill_ppm", &m.MinFill},
			{"clean_minutes", &m.CleanMinutes},
			{"retired", &m.Retired},
		}
	},
	listing: listing{keys: byName(), text: "name", live: "NOT retired"},
}

var moldOutKind = kind[orders.MoldOut]{
	table: "mold_outs", noun: "mold's absence",
	meta: func(m *orders.MoldOut) *orders.Meta { return &m.Meta },
	columns: func(m *orders.MoldOut) []column {
		return []column{
			{"mold_id", (*ref)(&m.MoldID)},
			{"from_day", &m.From},
			{"to_day", &m.To},
			{"units", &m.Units},
			{"reason", &m.Reason},
		}
	},
	listing: listing{keys: by("from_day", "date"), parent: "mold_id::text", text: "reason"},
}

var rackKind = kind[orders.Rack]{
	table: "racks", noun: "rack",
	meta: func(r *orders.Rack) *orders.Meta { return &r.Meta },
	columns: func(r *orders.Rack) []column {
		return []column{
			{"name", &r.Name},
			{"width_um", &r.Width},
			{"depth_um", &r.Depth},
			{"shelves", &r.Shelves},
			{"retired", &r.Retired},
		}
	},
	listing: listing{keys: byName(), text: "name", live: "NOT retired"},
}
