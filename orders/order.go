package orders

import (
	"time"

	"ripeline/schedule/civil"
)

// Customer is who orders.
type Customer struct {
	Meta
	Name    string `json:"name"`
	Email   string `json:"email"`
	Phone   string `json:"phone"`
	Note    string `json:"note"`
	Retired bool   `json:"retired"`
}

// OrderStatus is how far an order has come.
type OrderStatus string

// The statuses of an order.
const (
	Enquiry    OrderStatus = "enquiry"     // asked about; binds nothing
	Accepted   OrderStatus = "accepted"    // promised; the planner works for it
	HandedOver OrderStatus = "handed_over" // its pieces have left
	Declined   OrderStatus = "declined"    // was never accepted
	Cancelled  OrderStatus = "cancelled"   // was accepted; its pieces are free again
)

// Order asks for pieces by a date.
type Order struct {
	Meta
	Number     int         `json:"number"` // counts up within the workshop
	CustomerID string      `json:"customer_id"`
	Title      string      `json:"title"` // "Naming day, 60 favours"
	NeededBy   civil.Date  `json:"needed_by"`
	HandOver   int         `json:"hand_over_days"` // days before NeededBy on which it must be ready
	Weight     int         `json:"weight"`         // 1 usual, up to 9 for one that must not fail
	Status     OrderStatus `json:"status"`
	Told       civil.Date  `json:"told"` // the ready date the customer was told
	Lines      []OrderLine `json:"lines"`
	Note       string      `json:"note"`
	AcceptedAt time.Time   `json:"accepted_at,omitzero"`
	EndedAt    time.Time   `json:"ended_at,omitzero"` // when that was recorded: handed over, declined or cancelled
	LeftOn     civil.Date  `json:"left_on"`           // the day its pieces were handed over; zero of one recorded when days were not, see EndedAt
}

// OrderLine is one design in an order.
type OrderLine struct {
	ID        string `json:"id"`
	DesignID  string `json:"design_id"`
	Pieces    int    `json:"pieces"`
	Spares    int    `json:"spares"`    // against spoilage at the customer's
	Keepsakes int    `json:"keepsakes"` // kept by the maker or given with the order
}

// Total is every piece the line asks for.
func (l OrderLine) Total() int { return l.Pieces + l.Spares + l.Keepsakes }

// OrderInput is what can be said of an order when it is taken or changed.
type OrderInput struct {
	CustomerID  string      `json:"customer_id"`
	NewCustomer string      `json:"-"` // name of one who is added with the order that is taken, in place of CustomerID
	Title       string      `json:"title"`
	NeededBy    civil.Date  `json:"needed_by"`
	HandOver    *int        `json:"hand_over_days,omitempty"` // the workshop's default when absent
	Weight      int         `json:"weight,omitempty"`         // 1 when absent
	Lines       []OrderLine `json:"lines"`
	Note        string      `json:"note,omitempty"`
}
