package api

import (
	"context"
	"net/http"
	"time"

	"ripeline/orders"
)

// feedAnswer is a feed with the addresses to subscribe to. They are absent
// when a repeated request is answered from memory, since the secret is not
// kept.
type feedAnswer struct {
	orders.Feed
	URL    string `json:"url,omitempty"`
	Webcal string `json:"webcal_url,omitempty"`
}

type timesRequest struct {
	Cron  string `query:"cron" required:"true" maxLength:"200" doc:"Five fields: minute, hour, day of month, month, day of week"`
	Count int    `query:"count" minimum:"1" maximum:"20" default:"3" doc:"How many times"`
}

// FeedPath is where the feed with the secret is served.
func FeedPath(secret string) string { return "/feeds/" + secret + "/plan.ics" }

func (s *server) addresses(f orders.NewFeed) feedAnswer {
	answer := feedAnswer{Feed: f.Feed}
	if f.Secret != "" {
		answer.URL = s.cfg.BaseURL + FeedPath(f.Secret)
		answer.Webcal = "webcal://" + s.base.Host + FeedPath(f.Secret)
	}
	return answer
}

// reminders adds feeds, reminders and the journal.
func (s *server) reminders() {
	b := s.cfg.Book
	s.feedRoutes()
	add(s, route{
		method: http.MethodGet, path: "/reminder-times", id: "list-reminder-times", tag: tagReminders,
		summary: "Say when a reminder rule fires next", doc: "By the workshop's wall clock.",
	},
		func(ctx context.Context, a orders.Actor, in *timesRequest) (*told[orders.Page[time.Time]], error) {
			return all(b.NextTimes(ctx, a, in.Cron, in.Count))
		})
	add(s, route{method: http.MethodGet, path: "/deliveries", id: "list-deliveries", tag: tagReminders, summary: "List reminders sent and due, newest first"},
		func(ctx context.Context, a orders.Actor, in *deliveryList) (*listed[orders.Delivery], error) {
			page, err := b.Deliveries(ctx, a, in.query())
			return listing(in, page, err)
		})
	add(s, route{method: http.MethodGet, path: "/journal", id: "list-journal", tag: tagReminders, summary: "List who did what, newest first"},
		func(ctx context.Context, a orders.Actor, in *journalList) (*listed[orders.JournalEntry], error) {
			page, err := b.Journal(ctx, a, in.query())
			return listing(in, page, err)
		})
}

func (s *server) feedRoutes() {
	b := s.cfg.Book
	add(s, route{method: http.MethodGet, path: "/feeds", id: "list-feeds", tag: tagFeeds, summary: "List calendar feeds"},
		func(ctx context.Context, a orders.Actor, in *feedList) (*listed[orders.Feed], error) {
			page, err := b.Feeds(ctx, a, in.query())
			return listing(in, page, err)
		})
	add(s, route{
		method: http.MethodPost, path: "/feeds", id: "create-feed", tag: tagFeeds, summary: "Make a calendar feed",
		doc: "Its addresses are shown this once: whoever has one can read the feed.", access: writes, status: http.StatusCreated, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *making[orders.FeedInput]) (*made[feedAnswer], error) {
			f, err := b.AddFeed(ctx, a, in.Body.Value)
			return created(s.addresses(f), f.Version, "/feeds", f.ID, err)
		})
	add(s, route{
		method: http.MethodPost, path: "/feeds/{id}/rotate", id: "rotate-feed", tag: tagFeeds, summary: "Give a feed new addresses",
		doc: "The old ones stop working at once.", access: writes,
	},
		func(ctx context.Context, a orders.Actor, in *byID) (*found[feedAnswer], error) {
			f, err := b.RotateFeed(ctx, a, in.ID)
			return versioned(s.addresses(f), f.Version, err)
		})
	add(s, route{method: http.MethodDelete, path: "/feeds/{id}", id: "revoke-feed", tag: tagFeeds, summary: "End a feed", access: writes},
		func(ctx context.Context, a orders.Actor, in *byID) (*done, error) {
			return &done{}, b.RevokeFeed(ctx, a, in.ID)
		})
}
