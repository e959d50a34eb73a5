package pages

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"

	"ripeline/api"
	"ripeline/orders"
)

type feedsView struct {
	rights
	formState
	Rows              []feedRow
	Name, Kind, Alarm field
	Local             bool // other devices can not reach the address
}

type feedRow struct {
	ID, Name, Kind, Used string
	OrderHref            string
	Alarm                string
}

// feedSecretView is the one page that ever shows a feed's address.
type feedSecretView struct {
	rights
	Title  string
	Name   string
	Secret bool // false when the form was sent twice: the address was shown before
	HTTPS  string
	Webcal string
	QR     qrPicture
	Local  bool
	Back   string
}

func (v *visit) feedsPage() error {
	if !v.may(orders.Owner) {
		return orders.ErrForbidden
	}
	return v.drawFeeds(v.blankForm())
}

func (v *visit) drawFeeds(f *form) error {
	view := feedsView{rights: v.rights(), Local: v.localOnly()}
	var err error
	if view.Rows, err = v.feedRows(orders.ListQuery{}); err != nil {
		return err
	}
	kinds := []option{{Value: string(orders.FeedAll), Label: "Everything"}}
	for _, k := range []orders.TaskKind{
		orders.TaskMake, orders.TaskCut, orders.TaskCure, orders.TaskWrap, orders.TaskHandOver, orders.TaskSupplies,
	} {
		kinds = append(kinds, option{Value: string(k), Label: "Only: " + lower(taskName(k))})
	}
	view.Name = f.textInput("name", "Name", "").must().hint("Such as “My phone”. It is the calendar's name there.")
	view.Kind = f.selectInput("kind", "What is in it", string(orders.FeedAll), kinds)
	view.Alarm = f.wholeInput("alarm_minutes", "Alarm before work, in minutes", 0).least("0").hint("0 for no alarm.")
	view.formState = f.state(0)
	return v.show(f.status(), "feeds", "Calendar feeds", view)
}

// localOnly reports whether the service's address works on this machine only.
func (v *visit) localOnly() bool {
	return strings.Contains(v.BaseURL, "//127.") || strings.Contains(v.BaseURL, "//localhost") || strings.Contains(v.BaseURL, "//[::1]")
}

func (v *visit) feedRows(q orders.ListQuery) ([]feedRow, error) {
	feeds, err := all(func(q orders.ListQuery) (orders.Page[orders.Feed], error) { return v.Book.Feeds(v.ctx(), v.actor, q) }, q)
	if err != nil {
		return nil, err
	}
	var out []feedRow
	for _, f := range feeds {
		row := feedRow{ID: f.ID, Name: f.Name, Kind: feedKind(f.Kind), Used: "not read by any calendar yet"}
		if !f.UsedAt.IsZero() {
			row.Used = "last read " + v.words.at(f.UsedAt)
		}
		if f.Alarm > 0 {
			row.Alarm = fmt.Sprintf("alarm %d minutes before", f.Alarm)
		}
		if f.OrderID != "" {
			row.OrderHref = "/orders/" + f.OrderID
		}
		out = append(out, row)
	}
	return out, nil
}

func feedKind(k orders.FeedKind) string {
	switch k {
	case orders.FeedAll:
		return "Everything"
	case orders.FeedOrder:
		return "One order's dates, for its customer"
	}
	return "Only: " + lower(taskName(orders.TaskKind(k)))
}

func (v *visit) addFeed() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	in := orders.FeedInput{
		Name: f.text("name"), Kind: orders.FeedKind(f.text("kind")), OrderID: f.text("order_id"), Alarm: f.whole("alarm_minutes", 0),
	}
	if f.ok() {
		feed, err := v.Book.AddFeed(v.once(f), v.actor, in)
		if err == nil {
			return v.showSecret(feed)
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.drawFeeds(f)
}

func (v *visit) rotateFeed() error {
	if _, err := v.sentForm(); err != nil {
		return err
	}
	feed, err := v.Book.RotateFeed(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	return v.showSecret(feed)
}

func (v *visit) revokeFeed() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	if err := v.Book.RevokeFeed(v.ctx(), v.actor, chi.URLParam(v.r, "id")); err != nil {
		return err
	}
	return v.seeOther(localPath(f.text("back"), "/calendars"), "The calendar's address no longer works.")
}

// showSecret answers the POST itself: the address is nowhere stored, so it
// can not be fetched by a page that follows.
func (v *visit) showSecret(feed orders.NewFeed) error {
	view := feedSecretView{
		rights: v.rights(), Title: "The calendar's address", Name: feed.Name, Secret: feed.Secret != "", Local: v.localOnly(), Back: "/calendars",
	}
	if feed.OrderID != "" {
		view.Back = "/orders/" + feed.OrderID
	}
	if view.Secret {
		view.HTTPS = v.BaseURL + api.FeedPath(feed.Secret)
		_, rest, _ := strings.Cut(view.HTTPS, "://")
		view.Webcal = "webcal://" + rest
		qr, err := drawQR(view.HTTPS)
		if err != nil {
			return err
		}
		view.QR = qr
	}
	return v.show(http.StatusOK, "feed-secret", view.Title, view)
}
