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

// Search narrows a list by words. Exported for the same reason as Paging.
type Search struct {
	Paging
	Text string `query:"text" maxLength:"200" doc:"Only those whose name, title, note or reason contains this"`
}

func (l Search) query() orders.ListQuery {
	q := l.Paging.query()
	q.Text = l.Text
	return q
}

// Ways to narrow a list further.
type (
	named struct {
		Search
		Retired bool `query:"retired" doc:"Retired ones too"`
	}
	ingredientList struct {
		Search
		Kind    string `query:"kind" enum:"oil,lye,liquid,fragrance,colour,botanical,packaging,other" doc:"Only those of this kind"`
		Retired bool   `query:"retired" doc:"Retired ones too"`
	}
	designList struct {
		Search
		RecipeID string `query:"recipe_id" doc:"Only those of this recipe"`
		Retired  bool   `query:"retired" doc:"Retired ones too"`
	}
	trialList struct {
		Search
		RecipeID string `query:"recipe_id" doc:"Only those of this recipe"`
		Verdict  string `query:"verdict" enum:"fit,unfit,again" doc:"Only those judged like this"`
	}
	moldOutList struct {
		Search
		MoldID string `query:"mold_id" doc:"Only those of this mold"`
	}
	stockList struct {
		Search
		BatchID string `query:"batch_id" doc:"Only what came from this batch"`
	}
	ruleList struct {
		Search
		PersonID string `query:"person_id" doc:"Only those of this person"`
	}
	tokenList struct {
		Search
		PersonID string `query:"person_id" doc:"Only those of this person"`
		Revoked  bool   `query:"revoked" doc:"Revoked ones too"`
	}
	feedList struct {
		Search
		OrderID string `query:"order_id" doc:"Only those of this order"`
		Revoked bool   `query:"revoked" doc:"Revoked ones too"`
	}
	orderList struct {
		Search
		Status     string `query:"status" enum:"enquiry,accepted,handed_over,declined,cancelled" doc:"Only those of this status"`
		CustomerID string `query:"customer_id" doc:"Only those of this customer"`
	}
	batchList struct {
		Search
		State    string `query:"state" enum:"planned,poured,curing,wrapped,failed,cancelled" doc:"Only those in this state"`
		DesignID string `query:"design_id" doc:"Only those of this design"`
	}
	deliveryList struct {
		Search
		Status   string `query:"status" enum:"due,sent,shown,folded,empty,failed" doc:"Only those of this status"`
		PersonID string `query:"person_id" doc:"Only those to this person"`
	}
	journalList struct {
		Search
		Action  string `query:"action" maxLength:"100" doc:"Only what was done in this way, such as order.accept"`
		Subject string `query:"subject" doc:"Only what was done to the record with this id"`
	}
)

// lister is an input that asks for part of a list.
type lister interface{ query() orders.ListQuery }

func (l named) query() orders.ListQuery          { return l.narrowed("", "", l.Retired) }
func (l ingredientList) query() orders.ListQuery { return l.narrowed(l.Kind, "", l.Retired) }
func (l designList) query() orders.ListQuery     { return l.narrowed("", l.RecipeID, l.Retired) }
func (l trialList) query() orders.ListQuery      { return l.narrowed(l.Verdict, l.RecipeID, false) }
func (l moldOutList) query() orders.ListQuery    { return l.narrowed("", l.MoldID, false) }
func (l stockList) query() orders.ListQuery      { return l.narrowed("", l.BatchID, false) }
func (l ruleList) query() orders.ListQuery       { return l.narrowed("", l.PersonID, false) }
func (l tokenList) query() orders.ListQuery      { return l.narrowed("", l.PersonID, l.Revoked) }
func (l feedList) query() orders.ListQuery       { return l.narrowed("", l.OrderID, l.Revoked) }
func (l orderList) query() orders.ListQuery      { return l.narrowed(l.Status, l.CustomerID, false) }
func (l batchList) query() orders.ListQuery      { return l.narrowed(l.State, l.DesignID, false) }
func (l deliveryList) query() orders.ListQuery   { return l.narrowed(l.Status, l.PersonID, false) }
func (l journalList) query() orders.ListQuery    { return l.narrowed(l.Action, l.Subject, false) }

// narrowed adds what else a list can be asked for.
func (l Search) narrowed(status, parent string, everything bool) orders.ListQuery {
	q := l.query()
	q.Status, q.Parent, q.All = status, parent, everything
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
