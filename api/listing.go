package api

import (
	"fmt"
	"net/url"

	"github.com/danielgtaylor/huma/v2"

	"ripeline/orders"
)

// Paging is how much of a list is asked for. It is exported only because the
// JSON layer does not see the fields of unexported embedded types.
type Paging struct {
	Limit  int    `query:"limit" minimum:"1" maximum:"200" default:"50" doc:"How many at most"`
	Cursor string `query:"cursor" maxLength:"1000" doc:"Where to go on: what the page before gave as next"`

	asked url.URL
}

// Resolve keeps the address that was asked, for the link to the next page.
func (p *Paging) Resolve(ctx huma.Context) []error {
	p.asked = ctx.URL()
	return nil
}

func (p Paging) query() orders.ListQuery {
	return orders.ListQuery{Limit: p.Limit, Cursor: p.Cursor}
}

// Ways to narrow a list.
type (
	named struct {
		Paging
		Text    string `query:"text" maxLength:"200" doc:"Only those whose name contains this"`
		Retired bool   `query:"retired" doc:"Retired ones too"`
	}
	ofMold struct {
		Paging
		MoldID string `query:"mold_id" doc:"Only those of this mold"`
	}
	ofBatch struct {
		Paging
		BatchID string `query:"batch_id" doc:"Only what came from this batch"`
	}
	ofPerson struct {
		Paging
		PersonID string `query:"person_id" doc:"Only those of this person"`
	}
	ofSubject struct {
		Paging
		Subject string `query:"subject" doc:"Only what was done to the record with this id"`
	}
	tokenList struct {
		Paging
		Revoked bool `query:"revoked" doc:"Revoked ones too"`
	}
	feedList struct {
		Paging
		OrderID string `query:"order_id" doc:"Only those of this order"`
		Revoked bool   `query:"revoked" doc:"Revoked ones too"`
	}
	orderList struct {
		Paging
		Status string `query:"status" enum:"enquiry,accepted,handed_over,declined,cancelled" doc:"Only those of this status"`
		Text   string `query:"text" maxLength:"200" doc:"Only those whose title contains this"`
	}
	batchList struct {
		Paging
		State string `query:"state" enum:"planned,poured,curing,wrapped,failed,cancelled" doc:"Only those in this state"`
	}
)

// lister is an input that asks for part of a list.
type lister interface{ query() orders.ListQuery }

func (l named) query() orders.ListQuery {
	q := l.Paging.query()
	q.Text, q.All = l.Text, l.Retired
	return q
}

func (l ofMold) query() orders.ListQuery    { return under(l.Paging, l.MoldID) }
func (l ofBatch) query() orders.ListQuery   { return under(l.Paging, l.BatchID) }
func (l ofPerson) query() orders.ListQuery  { return under(l.Paging, l.PersonID) }
func (l ofSubject) query() orders.ListQuery { return under(l.Paging, l.Subject) }

func (l tokenList) query() orders.ListQuery {
	q := l.Paging.query()
	q.All = l.Revoked
	return q
}

func (l feedList) query() orders.ListQuery {
	q := under(l.Paging, l.OrderID)
	q.All = l.Revoked
	return q
}

func (l orderList) query() orders.ListQuery {
	q := l.Paging.query()
	q.Status, q.Text = l.Status, l.Text
	return q
}

func (l batchList) query() orders.ListQuery {
	q := l.Paging.query()
	q.Status = l.State
	return q
}

func under(p Paging, parent string) orders.ListQuery {
	q := p.query()
	q.Parent = parent
	return q
}

// address is what was asked; it makes every lister able to link onwards.
func (p Paging) address() url.URL { return p.asked }

// listed is a page of a list.
type listed[T any] struct {
	Link string `header:"Link" doc:"The next page, as rel=next; absent on the last"`
	Body orders.Page[T]
}

// addressed is an input that knows the address it came by.
type addressed interface{ address() url.URL }

// listing answers a page with the link to the next.
func listing[T any](in addressed, page orders.Page[T], err error) (*listed[T], error) {
	if err != nil {
		return nil, err
	}
	out := &listed[T]{Body: page}
	if page.Next != "" {
		next := in.address()
		query := next.Query()
		query.Set("cursor", page.Next)
		out.Link = fmt.Sprintf(`<%s?%s>; rel="next"`, next.Path, query.Encode())
	}
	return out, nil
}
