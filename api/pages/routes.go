package pages

import (
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
)

func (s *site) routes() http.Handler {
	r := chi.NewRouter()
	r.Use(middleware.GetHead)
	r.NotFound(s.notFound)
	r.MethodNotAllowed(s.notAllowed)
	r.Get("/assets/*", s.assets.serve)

	r.Get("/setup", s.showSetup)
	r.Post("/setup", s.firstRun)
	r.Get("/sign-in", s.showSignIn)
	r.Post("/sign-in", s.signIn)
	r.Post("/sign-out", s.signOut)

	r.Get("/", s.signedIn(func(v *visit) error { http.Redirect(v.w, v.r, "/today", http.StatusSeeOther); return nil }))
	r.Get("/start", s.signedIn((*visit).start))
	r.Get("/today", s.signedIn((*visit).todayPage))
	r.Get("/promise", s.signedIn((*visit).promisePage))
	r.Post("/promise/take", s.signedIn((*visit).takeOrder))
	r.Post("/promise/extra-hours", s.signedIn((*visit).addPromisedHours))
	r.Get("/plan", s.signedIn((*visit).planPage))
	r.Post("/plan/again", s.signedIn((*visit).planAgain))
	s.orderRoutes(r)
	s.batchRoutes(r)
	s.supplyRoutes(r)
	r.Get("/proposals", s.signedIn((*visit).proposalsPage))
	r.Post("/proposals/dismiss", s.signedIn((*visit).dismissProposals))
	r.Post("/proposals/{id}/take", s.signedIn((*visit).takeProposal))
	s.workshopRoutes(r)
	return r
}

func (s *site) orderRoutes(r chi.Router) {
	r.Get("/orders", s.signedIn((*visit).ordersPage))
	r.Get("/orders/{id}", s.signedIn((*visit).orderPage))
	r.Get("/orders/{id}/edit", s.signedIn((*visit).editOrder))
	r.Post("/orders/{id}/edit", s.signedIn((*visit).changeOrder))
	r.Post("/orders/{id}/accept", s.signedIn((*visit).acceptOrder))
	r.Post("/orders/{id}/end", s.signedIn((*visit).endOrder))
	r.Post("/orders/{id}/hand-over", s.signedIn((*visit).handOver))
}

func (s *site) batchRoutes(r chi.Router) {
	r.Get("/batches", s.signedIn((*visit).batchesPage))
	r.Get("/batches/{id}", s.signedIn((*visit).batchPage))
	r.Post("/batches/{id}/pour", s.signedIn((*visit).pour))
	r.Post("/batches/{id}/cut", s.signedIn((*visit).cut))
	r.Post("/batches/{id}/wrap", s.signedIn((*visit).wrap))
	r.Post("/batches/{id}/weigh", s.signedIn((*visit).weigh))
	r.Post("/batches/{id}/unweigh", s.signedIn((*visit).unweigh))
	r.Get("/batches/{id}/sheet", s.signedIn((*visit).workSheet))
	r.Post("/batches/{id}/ticks", s.signedIn((*visit).tickSheet))
	r.Post("/batches/{id}/readings", s.signedIn((*visit).noteReadings))
	r.Post("/designs/{id}/less-waste", s.signedIn((*visit).takeLessWaste))
	r.Get("/recipes/{id}/fill", s.signedIn((*visit).fillPage))
	r.Post("/batches/{id}/pin", s.signedIn((*visit).pin))
	r.Get("/batches/{id}/wrong", s.signedIn((*visit).wrongPage))
	r.Post("/batches/{id}/wrong", s.signedIn((*visit).wentWrong))
	r.Post("/batches/{id}/lots", s.signedIn((*visit).correctLots))
	r.Post("/designs/{id}/trial", s.signedIn((*visit).judgeTrial))
	r.Get("/batches/{id}/label", s.signedIn((*visit).batchLabel))
	r.Post("/batches/{id}/weights", s.signedIn((*visit).keepWeights))
	r.Get("/batches/{id}/cost", s.signedIn((*visit).batchCost))
	r.Get("/designs/{id}/label", s.signedIn((*visit).designLabel))
	r.Get("/designs/{id}/cost", s.signedIn((*visit).designCost))
	r.Get("/orders/{id}/cost", s.signedIn((*visit).orderCost))
}

func (s *site) supplyRoutes(r chi.Router) {
	r.Get("/supplies", s.signedIn((*visit).suppliesPage))
	r.Get("/trace", s.signedIn((*visit).tracePage))
	lots().routes(s, r)
	purchases().routes(s, r)
	r.Get("/purchases/{id}/receive", s.signedIn((*visit).receivePage))
	r.Post("/purchases/{id}/receive", s.signedIn((*visit).receive))
}

func (s *site) workshopRoutes(r chi.Router) {
	r.Get("/more", s.signedIn((*visit).morePage))
	r.Get("/workshop", s.signedIn((*visit).settingsPage))
	r.Post("/workshop", s.signedIn((*visit).changeSettings))
	r.Post("/workshop/demo/remove", s.signedIn((*visit).removeDemo))
	r.Get("/hours", s.signedIn((*visit).hoursPage))
	r.Post("/hours", s.signedIn((*visit).changeHours))

	molds().routes(s, r)
	moldOuts().routes(s, r)
	racks().routes(s, r)
	closedDays().routes(s, r)
	extraHours().routes(s, r)
	ingredients().routes(s, r)
	recipes().routes(s, r)
	designs().routes(s, r)
	trials().routes(s, r)
	customers().routes(s, r)
	stock().routes(s, r)

	r.Get("/people", s.signedIn((*visit).peoplePage))
	r.Get("/people/new", s.signedIn((*visit).newPersonPage))
	r.Post("/people/new", s.signedIn((*visit).addPerson))
	r.Get("/people/{id}", s.signedIn((*visit).personPage))
	r.Post("/people/{id}", s.signedIn((*visit).changePerson))

	r.Get("/reminders", s.signedIn((*visit).remindersPage))
	rules().routes(s, r)
	r.Get("/calendars", s.signedIn((*visit).feedsPage))
	r.Post("/calendars", s.signedIn((*visit).addFeed))
	r.Post("/calendars/{id}/rotate", s.signedIn((*visit).rotateFeed))
	r.Post("/calendars/{id}/revoke", s.signedIn((*visit).revokeFeed))
	r.Get("/tokens", s.signedIn((*visit).tokensPage))
	r.Post("/tokens", s.signedIn((*visit).addToken))
	r.Post("/tokens/{id}/revoke", s.signedIn((*visit).revokeToken))
	r.Get("/journal", s.signedIn((*visit).journalPage))
}

// sectionOf is the entry of the navigation that a path belongs to.
func sectionOf(path string) string {
	first, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	switch first {
	case "today", "start":
		return "today"
	case "promise", "orders", "plan":
		return first
	case "batches", "proposals":
		return "plan"
	}
	return "more"
}

// pageViews lists every page with the type of its view.
func pageViews() []pageView {
	return []pageView{
		{"fault", faultView{}},
		{"setup", setupView{}},
		{"sign-in", signInView{}},
		{"start", startView{}},
		{"today", todayView{}},
		{"promise", promiseView{}},
		{"plan", planView{}},
		{"orders", ordersView{}},
		{"order", orderView{}},
		{"order-form", orderFormView{}},
		{"batches", batchesView{}},
		{"batch", batchView{}},
		{"label", labelView{}},
		{"cost", costView{}},
		{"quote", quoteView{}},
		{"worksheet", workView{}},
		{"fill", fillView{}},
		{"wrong", wrongView{}},
		{"proposals", proposalsView{}},
		{"supplies", suppliesView{}},
		{"receive", receiveView{}},
		{"trace", traceView{}},
		{"records", recordsView{}},
		{"record", recordView{}},
		{"more", moreView{}},
		{"settings", settingsView{}},
		{"hours", hoursView{}},
		{"people", peopleView{}},
		{"person", personView{}},
		{"reminders", remindersView{}},
		{"feeds", feedsView{}},
		{"feed-secret", feedSecretView{}},
		{"tokens", tokensView{}},
		{"token-secret", tokenSecretView{}},
		{"journal", journalView{}},
	}
}
