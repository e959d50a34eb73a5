package postgres

import (
	"ripeline/orders"
)

// How people and their secrets are stored, the latter as hashes only.

var personKind = kind[orders.Person]{
	table: "people", noun: "person",
	meta: func(p *orders.Person) *orders.Meta { return &p.Meta },
	columns: func(p *orders.Person) []column {
		return []column{
			{"name", &p.Name},
			{"email", &p.Email},
			{"role", &p.Role},
			{"password_hash", &p.PasswordHash},
			{"digest_at", &p.DigestAt},
			{"digest_today_at", &p.DigestToday},
			{"quiet_from", &p.QuietFrom},
			{"quiet_to", &p.QuietTo},
			{"retired", &p.Retired},
		}
	},
	listing: listing{keys: byName(), status: "role", text: "name", live: "NOT retired"},
}

var tokenKind = kind[orders.APIToken]{
	table: "api_tokens", noun: "API token",
	meta: func(t *orders.APIToken) *orders.Meta { return &t.Meta },
	columns: func(t *orders.APIToken) []column {
		return []column{
			{"name", &t.Name},
			{"scope", &t.Scope},
			{"person_id", (*ref)(&t.PersonID)},
			{"hash", &t.Hash},
			{"used_at", (*instant)(&t.UsedAt)},
			{"expires_at", (*instant)(&t.ExpiresAt)},
			{"revoked_at", (*instant)(&t.RevokedAt)},
		}
	},
	listing: listing{keys: byName(), status: "scope", parent: "person_id::text", text: "name", live: "revoked_at IS NULL"},
}

var feedKind = kind[orders.Feed]{
	table: "feeds", noun: "calendar feed",
	meta: func(f *orders.Feed) *orders.Meta { return &f.Meta },
	columns: func(f *orders.Feed) []column {
		return []column{
			{"name", &f.Name},
			{"kind", &f.Kind},
			{"order_id", (*optionalRef)(&f.OrderID)},
			{"alarm_minutes", &f.Alarm},
			{"hash", &f.Hash},
			{"used_at", (*instant)(&f.UsedAt)},
			{"revoked_at", (*instant)(&f.RevokedAt)},
		}
	},
	listing: listing{keys: byName(), status: "kind", parent: "order_id::text", text: "name", live: "revoked_at IS NULL"},
}

var ruleKind = kind[orders.ReminderRule]{
	table: "reminder_rules", noun: "reminder rule",
	meta: func(r *orders.ReminderRule) *orders.Meta { return &r.Meta },
	columns: func(r *orders.ReminderRule) []column {
		return []column{
			{"person_id", (*ref)(&r.PersonID)},
			{"name", &r.Name},
			{"cron", &r.Cron},
			{"kind", &r.Kind},
			{"lead_days", &r.LeadDays},
			{"off", &r.Off},
		}
	},
	listing: listing{keys: byName(), status: "kind", parent: "person_id::text", text: "name"},
}
