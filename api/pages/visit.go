package pages

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"ripeline/api"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// visit is one request by one signed-in person.
type visit struct {
	*site
	w      http.ResponseWriter
	r      *http.Request
	actor  orders.Actor
	person orders.Person
	shop   orders.Workshop
	words  words
	now    time.Time
	named  *shelf               // what shelf read for this request; nil before
	wraps  map[string]time.Time // when the batches that readWraps asked for were wrapped, by id
}

func (v *visit) ctx() context.Context { return v.r.Context() }

func (v *visit) today() civil.Date { return v.words.today }

// may tells a page which buttons to draw; the book decides in the end.
func (v *visit) may(least orders.Role) bool {
	rank := []orders.Role{orders.Viewer, orders.Helper, orders.Owner}
	return slices.Index(rank, v.actor.Role) >= slices.Index(rank, least)
}

// rights is what the person may do, for pages to leave out the other buttons.
type rights struct {
	Work bool // record what was done
	Own  bool // change everything else
}

func (v *visit) rights() rights {
	return rights{Work: v.may(orders.Helper), Own: v.may(orders.Owner)}
}

// signedIn adapts a page's handler: it sends strangers to sign in, finds the
// workshop, and renders the error that the handler returns.
func (s *site) signedIn(h func(*visit) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		visitor, ok := api.VisitorFrom(r.Context())
		if !ok || visitor.Person.ID == "" {
			s.toSignIn(w, r)
			return
		}
		v := &visit{site: s, w: w, r: r, actor: visitor.Actor, person: visitor.Person, now: s.Now()}
		if err := v.enter(h); err != nil {
			v.fault(err)
		}
	}
}

func (v *visit) enter(h func(*visit) error) error {
	shop, err := v.Book.Workshop(v.ctx(), v.actor)
	if err != nil {
		return fmt.Errorf("open the workshop: %w", err)
	}
	zone, err := civil.LoadZone(shop.Zone)
	if err != nil {
		return fmt.Errorf("open the workshop: %w", err)
	}
	v.shop, v.words = shop, newWords(shop, zone, v.now)
	return h(v)
}

// toSignIn remembers the page that was asked for, when it can be asked again.
func (s *site) toSignIn(w http.ResponseWriter, r *http.Request) {
	to := "/sign-in"
	if r.Method == http.MethodGet && r.URL.Path != "/" {
		to += "?" + url.Values{"next": {r.URL.RequestURI()}}.Encode()
	}
	w.Header().Set("Cache-Control", "no-store")
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// localPath is path when it leads to one of our own pages, else otherwise.
func localPath(path, otherwise string) string {
	u, err := url.Parse(path)
	if err != nil || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(path, "/") ||
		strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\r\n\t") {
		return otherwise
	}
	return path
}

// seeOther ends a POST that was done: it says what happened on the next page.
func (v *visit) seeOther(path, said string) error {
	v.say(flash{Text: said})
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}

// newOnce marks one rendering of a form, so that a second tap on its button
// does nothing more.
func newOnce() string { return uuid.NewString() }

// once makes the next use case that writes happen once for this rendering of a form,
// sent to this address with these values: a second tap gets the first answer. A changed
// form is another request.
func (v *visit) once(f *form) context.Context {
	if f.values.Get("once") == "" {
		return v.ctx()
	}
	sum := sha256.Sum256([]byte(v.r.URL.Path + "\n" + f.values.Encode()))
	return orders.WithOnce(v.ctx(), "page:"+hex.EncodeToString(sum[:]), sum[:])
}

// all reads every page of a list, up to a bound that no workshop of this size
// reaches.
func all[T any](list func(orders.ListQuery) (orders.Page[T], error), q orders.ListQuery) ([]T, error) {
	const mostPages = 50
	q.Limit = 200
	var out []T
	for range mostPages {
		page, err := list(q)
		if err != nil {
			return nil, err
		}
		out = append(out, page.Items...)
		if page.Next == "" {
			break
		}
		q.Cursor = page.Next
	}
	return out, nil
}

// every is all records of a kind, retired ones too.
func every[T any](v *visit, records orders.Records[T]) ([]T, error) {
	return all(func(q orders.ListQuery) (orders.Page[T], error) {
		return records.List(v.ctx(), v.actor, q)
	}, orders.ListQuery{All: true})
}
