package api

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"reflect"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/go-chi/chi/v5"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

//go:embed docs.html docs.css
var docsFiles embed.FS

// Tags group the operations, in the order in which a reader needs them.
const (
	tagAccess    = "Access"
	tagWorkshop  = "Workshop"
	tagRecipes   = "Recipes and designs"
	tagOrders    = "Orders"
	tagBatches   = "Batches and stock"
	tagSupplies  = "Supplies and lots"
	tagPlan      = "Plan"
	tagFeeds     = "Calendar feeds"
	tagReminders = "Reminders and journal"
)

var tags = [...]string{tagAccess, tagWorkshop, tagRecipes, tagOrders, tagBatches, tagSupplies, tagPlan, tagFeeds, tagReminders}

const schemaPrefix = "#/components/schemas/"

const overview = `The order book, the plan and the calendar feeds of a small soap workshop.

Send a token as "Authorization: Bearer ..."; a token of the scope read may not change anything. Lengths are in micrometres,
masses in milligrams, volumes in microlitres, shares in parts per million; days are like 2026-12-03, times of day like 18:30,
instants in UTC. A change of a record sends the ETag it saw as If-Match: none is 428, an old one 409. Creating requests may
carry an Idempotency-Key. Lists come in pages: follow the Link header, or send next back as cursor. Errors are
application/problem+json (RFC 9457) and name the fields. Unknown fields and parameters are refused. A field left out of a body is empty.`

// description is the API without its operations.
func (s *server) description() huma.Config {
	cfg := huma.Config{
		OpenAPI: &huma.OpenAPI{
			OpenAPI: "3.1.0",
			Info:    &huma.Info{Title: "ripeline", Version: s.cfg.Version, Description: overview},
			Servers: []*huma.Server{{URL: s.cfg.BaseURL + prefix}},
			Components: &huma.Components{
				Schemas: huma.NewMapRegistry(schemaPrefix, schemaName),
				SecuritySchemes: map[string]*huma.SecurityScheme{
					"token":   {Type: "http", Scheme: "bearer", Description: "An API token"},
					"session": {Type: "apiKey", In: "cookie", Name: s.cookieName(), Description: "The pages' own session"},
				},
			},
		},
		Formats:                      map[string]huma.Format{"application/json": jsonFormat, "json": jsonFormat},
		DefaultFormat:                "application/json",
		RejectUnknownQueryParameters: true,
		Transformers:                 []huma.Transformer{ownProblem, filled},
	}
	for _, name := range tags {
		cfg.Tags = append(cfg.Tags, &huma.Tag{Name: name})
	}
	// What a record needs is for the order book to say, at the field and in
	// words; the schema would only say that a field is missing.
	cfg.FieldsOptionalByDefault = true
	return cfg
}

func (s *server) cookieName() string {
	if s.cfg.Sessions == nil {
		return "session"
	}
	return s.cfg.Sessions.Cookie.Name
}

// schemaName keeps apart the types of the same name in orders and schedule.
func schemaName(t reflect.Type, hint string) string {
	name := huma.DefaultSchemaNamer(t, hint)
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t.PkgPath() == reflect.TypeFor[schedule.Plan]().PkgPath() {
		return "Schedule" + name
	}
	return name
}

// describeProblem registers the shape of an error.
func (s *server) describeProblem() {
	s.problemSchema = s.json.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[Problem](), true, "")
}

// words are the values a named text type may have.
var words = map[reflect.Type][]any{
	reflect.TypeFor[orders.Role]():           texts(orders.Owner, orders.Helper, orders.Viewer),
	reflect.TypeFor[orders.OrderStatus]():    texts(orders.Enquiry, orders.Accepted, orders.HandedOver, orders.Declined, orders.Cancelled),
	reflect.TypeFor[orders.IngredientKind](): texts(orders.KindOil, orders.KindLye, orders.KindLiquid, orders.KindFragrance, orders.KindColour, orders.KindBotanical, orders.KindPackaging, orders.KindOther),
	reflect.TypeFor[orders.TaskKind]():       texts(orders.TaskTrial, orders.TaskMake, orders.TaskCut, orders.TaskCure, orders.TaskWrap, orders.TaskHandOver, orders.TaskSupplies),
	reflect.TypeFor[orders.TaskStatus]():     texts(orders.TaskOpen, orders.TaskDone, orders.TaskCancelled),
	reflect.TypeFor[orders.Alkali]():         texts(orders.AlkaliNaOH, orders.AlkaliKOH),
	reflect.TypeFor[calc.WaterBasis]():       texts(calc.WaterByConcentration, calc.WaterByRatio, calc.WaterByOils),
	reflect.TypeFor[orders.BatchState]():     texts(orders.BatchPlanned, orders.BatchPoured, orders.BatchCuring, orders.BatchWrapped, orders.BatchFailed, orders.BatchCancelled),
	reflect.TypeFor[orders.ProposalStatus](): texts(orders.ProposalOpen, orders.ProposalTaken, orders.ProposalDismissed, orders.ProposalSuperseded),
	reflect.TypeFor[orders.DeliveryStatus](): texts(orders.DeliveryDue, orders.DeliverySent, orders.DeliveryShown, orders.DeliveryFolded, orders.DeliveryEmpty, orders.DeliveryFailed),
	reflect.TypeFor[orders.FeedKind]():       texts(orders.FeedKinds[:]...),
	reflect.TypeFor[orders.Verdict]():        texts(orders.Fit, orders.Unfit, orders.Again),
	reflect.TypeFor[orders.Behaviour]():      texts(orders.Steady, orders.Thickens, orders.BehaviourUnknown),
	reflect.TypeFor[orders.MendAt]():         texts(orders.MendRecipe, orders.MendDesign),
	reflect.TypeFor[orders.LabelNames]():     texts(orders.AsAdded, orders.AsSaponified),
	reflect.TypeFor[calc.LimitKind]():        texts(calc.LimitMax, calc.NotPermitted, calc.NoLimit, calc.NoCertificate),
	reflect.TypeFor[schedule.Step]():         texts(orders.Steps[:]...),
	reflect.TypeFor[schedule.Verdict]():      texts(schedule.Yes, schedule.YesIf, schedule.No),
	reflect.TypeFor[calc.MoldKind]():         texts(calc.MoldLoaf, calc.MoldSlab, calc.MoldCavity),
}

func texts[T ~string](values ...T) []any {
	all := make([]any, len(values))
	for i, v := range values {
		all[i] = string(v)
	}
	return all
}

// written says how values that are texts in JSON are written.
var written = map[reflect.Type]string{
	reflect.TypeFor[civil.Date]():   `A day such as "2026-12-03"; "" for none`,
	reflect.TypeFor[civil.Minute](): `A time of day such as "18:30"`,
}

// ownedFields are set by the service; what a request says of them is ignored.
var ownedFields = [...]string{"id", "version", "created_at", "changed_at"}

// enrich adds to the schemas what the types' names say: the words a text may
// be, how days are written, and which fields are the service's.
func (s *server) enrich() {
	registry := s.json.OpenAPI().Components.Schemas
	for name, schema := range registry.Map() {
		t := registry.TypeFromRef(schemaPrefix + name)
		if t == nil || t.Kind() != reflect.Struct {
			continue
		}
		_, isRecord := t.FieldByName("Meta")
		for _, f := range reflect.VisibleFields(t) {
			property := schema.Properties[jsonName(f)]
			if property == nil {
				continue
			}
			property.ReadOnly = isRecord && slices.Contains(ownedFields[:], jsonName(f))
			describe(property, f.Type)
		}
	}
	delete(registry.Map(), "ErrorModel") // the JSON layer's own errors, which ownProblem replaces
	delete(registry.Map(), "ErrorDetail")
}

func describe(property *huma.Schema, t reflect.Type) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t.Kind() == reflect.Slice && property.Items != nil {
		property.Nullable = false // see filled
		describe(property.Items, t.Elem())
	}
	if how, ok := written[t]; ok {
		property.Description = how
	}
	property.Enum = words[t]
	property.PrecomputeMessages()
}

// publish serves the finished description, and a page that lists the
// operations.
func (s *server) publish(r chi.Router) error {
	s.enrich()
	for _, item := range s.json.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Put, item.Post, item.Delete} {
			requireIfMatch(op)
		}
	}
	spec, err := json.Marshal(s.json.OpenAPI())
	if err != nil {
		return fmt.Errorf("write the OpenAPI document: %w", err)
	}
	page, err := s.docsPage()
	if err != nil {
		return err
	}
	style, err := docsFiles.ReadFile("docs.css")
	if err != nil {
		return err
	}
	r.Get("/openapi.json", fixed("application/json", spec))
	r.Get("/", fixed("text/html; charset=utf-8", page))
	r.Get("/docs.css", fixed("text/css; charset=utf-8", style))
	return nil
}

// requireIfMatch says in the document what seenVersion enforces.
func requireIfMatch(op *huma.Operation) {
	if op == nil {
		return
	}
	for _, p := range op.Parameters {
		if p.Name == "If-Match" {
			p.Required = true
			op.Responses["428"] = &huma.Response{Description: http.StatusText(http.StatusPreconditionRequired), Content: op.Responses["422"].Content}
		}
	}
}

func fixed(contentType string, content []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", contentType)
		w.Header().Set("Cache-Control", "no-cache")
		_, _ = w.Write(content) // the visitor may be gone
	}
}

// docsGroup is the operations under one tag.
type docsGroup struct {
	Name       string
	Operations []*huma.Operation
}

func (s *server) docsPage() ([]byte, error) {
	page, err := template.ParseFS(docsFiles, "docs.html")
	if err != nil {
		return nil, fmt.Errorf("read the API page: %w", err)
	}
	var out bytes.Buffer
	view := struct {
		Overview []string
		Prefix   string
		Groups   []docsGroup
	}{strings.Split(overview, "\n\n"), prefix, s.docsGroups()}
	if err := page.Execute(&out, view); err != nil {
		return nil, fmt.Errorf("write the API page: %w", err)
	}
	return out.Bytes(), nil
}

func (s *server) docsGroups() []docsGroup {
	var groups []docsGroup
	for _, name := range tags {
		group := docsGroup{Name: name}
		for _, item := range s.json.OpenAPI().Paths {
			for _, op := range []*huma.Operation{item.Get, item.Post, item.Put, item.Delete} {
				if op != nil && slices.Contains(op.Tags, name) {
					group.Operations = append(group.Operations, op)
				}
			}
		}
		slices.SortFunc(group.Operations, func(a, b *huma.Operation) int {
			return strings.Compare(a.Path+" "+a.Method, b.Path+" "+b.Method)
		})
		groups = append(groups, group)
	}
	return groups
}
