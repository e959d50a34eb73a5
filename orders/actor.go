// Package orders is the order book of a workshop: its records, their rules,
// and the use cases that change them. Every use case takes the Actor who asks,
// runs in one transaction of the actor's workshop, and writes the journal.
package orders

// Role is what a person may do in a workshop.
type Role string

// The roles. A viewer reads; a helper also records work done (pour, cut,
// weigh, wrap, fail) and hands over; an owner does everything.
const (
	Owner  Role = "owner"
	Helper Role = "helper"
	Viewer Role = "viewer"
)

// Actor is who asks: a signed-in person or an API token, always within one
// workshop. The zero Actor may do nothing.
type Actor struct {
	WorkshopID string
	PersonID   string // empty for the system itself
	Name       string // for the journal
	Role       Role
	ReadOnly   bool // a token of scope read
}
