package server

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/report"
	"ropewalk.example/internal/store"
)

// programGym is where a program's gym stands in the context of its request.
type programGym struct{}

func gymOf(ctx context.Context) uuid.UUID {
	id, _ := ctx.Value(programGym{}).(uuid.UUID)
	return id
}

// api is what programs with a token may read: what reports show. It is described
// at /api/openapi.json.
func (s *Server) api(r chi.Router) {
	config := huma.DefaultConfig("Ropewalk", "1")
	config.Info.Description = "What reports show, to read by program. Days are days of the gym's calendar. Rates are rotations a minute (rpm)."
	config.OpenAPIPath, config.DocsPath, config.SchemasPath = "/api/openapi", "", ""
	config.CreateHooks = nil // no links to pages that are not there
	config.Components.SecuritySchemes = map[string]*huma.SecurityScheme{"token": {Type: "http", Scheme: "bearer", Description: "A token that an owner made."}}
	config.Security = []map[string][]string{{"token": {}}}
	a := humachi.New(r.With(tagged), config)
	a.UseMiddleware(s.needsToken(a))
	question(a, "gym", "/gym", "The gym.", s.apiGym)
	question(a, "terms", "/terms", "Its terms, the newest first.", s.apiTerms)
	question(a, "classes", "/classes", "Its classes.", s.apiClasses)
	question(a, "athletes", "/athletes", "Its athletes.", s.apiAthletes)
	for i, table := range report.Tables() {
		s.apiTable(a, i, table)
	}
}

// question registers a way to ask.
func question[In, Out any](a huma.API, id, path, summary string, answer func(context.Context, *In) (*Out, error)) {
	huma.Register(a, huma.Operation{OperationID: id, Method: http.MethodGet, Path: "/api/v1" + path, Summary: summary}, answer)
}

// needsToken lets only requests with a token of a gym through.
func (s *Server) needsToken(a huma.API) func(huma.Context, func(huma.Context)) {
	return func(ctx huma.Context, next func(huma.Context)) {
		scheme, token, _ := strings.Cut(ctx.Header("Authorization"), " ")
		gymID, ok := uuid.Nil, false
		var err error
		if strings.EqualFold(scheme, "Bearer") {
			gymID, ok, err = s.Reporting.Enter(ctx.Context(), strings.TrimSpace(token))
		}
		switch {
		case err != nil:
			answer := s.apiProblem(ctx.Context(), err)
			_ = huma.WriteErr(a, ctx, answer.GetStatus(), answer.Error()) // whoever asked is gone
		case !ok:
			ctx.SetHeader("WWW-Authenticate", `Bearer realm="Ropewalk"`)
			_ = huma.WriteErr(a, ctx, http.StatusUnauthorized, "Send a token that an owner of the gym made, as Authorization: Bearer.") // whoever asked is gone
		default:
			ctx.SetHeader("Content-Disposition", `attachment; filename="ropewalk.json"`) // never a page
			next(huma.WithValue(ctx, programGym{}, gymID))
		}
	}
}

// apiProblem says what went wrong, without what is nobody's business.
func (s *Server) apiProblem(ctx context.Context, err error) huma.StatusError {
	status := statusOf(problem.KindOf(err))
	if status >= http.StatusInternalServerError {
		s.Log.ErrorContext(ctx, "a program was not answered", "error", err)
	}
	return huma.NewError(status, problem.MessageOf(err))
}

// A list is an answer of several things.
type list[T any] struct {
	Body struct {
		Items []T    `json:"items" nullable:"false"`
		Next  string `json:"next,omitempty" doc:"Where the list goes on; not there at its end."`
	}
}

// How many athletes one answer is about at most: the programs of a gym of any
// size take no more memory than this.
const (
	mostNamed   = 1000 // of the list of athletes
	mostInTable = 100  // of a table of a term
)

// An apiPart is a part of a list of athletes.
type apiPart struct {
	After uuid.UUID `query:"after" format:"uuid" doc:"Only athletes after this one. An answer's next says it."`
}

// goesOn is where a list goes on after an athlete, with what else was asked.
func goesOn(path string, query url.Values, last uuid.UUID) string {
	query.Set("after", last.String())
	return path + "?" + query.Encode()
}

// listOf reads rows in the gym of the request and shows each.
func listOf[Row, Shown any](s *Server, ctx context.Context, reading func(*[]Row) store.Reading, show func(Row) Shown) (*list[Shown], error) {
	var rows []Row
	if err := s.Store.Read(ctx, gymOf(ctx), reading(&rows)); err != nil {
		return nil, s.apiProblem(ctx, err)
	}
	out := &list[Shown]{}
	out.Body.Items = make([]Shown, len(rows))
	for i, row := range rows {
		out.Body.Items[i] = show(row)
	}
	return out, nil
}

type apiGym struct {
	Body struct {
		Name     string `json:"name"`
		TimeZone string `json:"time_zone" doc:"IANA name, as Europe/London."`
	}
}

func (s *Server) apiGym(ctx context.Context, _ *struct{}) (*apiGym, error) {
	var g gym.Gym
	if err := s.Store.Read(ctx, gymOf(ctx), store.TheGym(&g)); err != nil {
		return nil, s.apiProblem(ctx, err)
	}
	out := &apiGym{}
	out.Body.Name, out.Body.TimeZone = g.Name, g.TimeZone
	return out, nil
}

type apiTerm struct {
	ID       uuid.UUID `json:"term_id" format:"uuid"`
	Name     string    `json:"name"`
	StartsOn string    `json:"starts_on" format:"date"`
	EndsOn   string    `json:"ends_on" format:"date"`
}

func (s *Server) apiTerms(ctx context.Context, _ *struct{}) (*list[apiTerm], error) {
	return listOf(s, ctx, store.Terms, func(t gym.Term) apiTerm {
		return apiTerm{t.TermID, t.Name, t.StartsOn.Format(dateOnly), t.EndsOn.Format(dateOnly)}
	})
}

type apiClass struct {
	ID   uuid.UUID `json:"class_id" format:"uuid"`
	Name string    `json:"name"`
}

func (s *Server) apiClasses(ctx context.Context, _ *struct{}) (*list[apiClass], error) {
	return listOf(s, ctx, store.Classes, func(c gym.Class) apiClass { return apiClass{c.ClassID, c.Name} })
}

type apiAthlete struct {
	ID   uuid.UUID `json:"athlete_id" format:"uuid"`
	Name string    `json:"name"`
}

func (s *Server) apiAthletes(ctx context.Context, p *apiPart) (*list[apiAthlete], error) {
	part := func(into *[]gym.Athlete) store.Reading {
		return store.AthletesPart(store.Everybody(), store.Page{After: p.After, Most: mostNamed + 1}, into)
	}
	out, err := listOf(s, ctx, part, func(a gym.Athlete) apiAthlete { return apiAthlete{a.AthleteID, a.Name} })
	if err == nil && len(out.Body.Items) > mostNamed {
		out.Body.Items = out.Body.Items[:mostNamed]
		out.Body.Next = goesOn("/api/v1/athletes", url.Values{}, out.Body.Items[mostNamed-1].ID)
	}
	return out, err
}

const dateOnly = "2006-01-02"

// An apiTermQuestion is about a term of everybody, of a class, or of one athlete.
type apiTermQuestion struct {
	Term    uuid.UUID `path:"term" format:"uuid"`
	Class   uuid.UUID `query:"class" format:"uuid" doc:"Only who was in this class in the term."`
	Athlete uuid.UUID `query:"athlete" format:"uuid" doc:"Only this athlete."`
	After   uuid.UUID `query:"after" format:"uuid" doc:"Only athletes after this one. An answer's next says it."`
}

// next is where a table goes on.
func (q apiTermQuestion) next(table string, last uuid.UUID) string {
	query := url.Values{}
	if q.Class != uuid.Nil {
		query.Set("class", q.Class.String())
	}
	return goesOn("/api/v1/terms/"+q.Term.String()+"/"+table, query, last)
}

func (q apiTermQuestion) whom(during store.During) store.Whom {
	switch {
	case q.Athlete != uuid.Nil:
		return store.Only(q.Athlete)
	case q.Class != uuid.Nil:
		return store.InClassDuring(q.Class, during)
	default:
		return store.Everybody()
	}
}

// apiTable lets programs read one table of a term's report. Its columns are those
// of the CSV file, from the same list.
func (s *Server) apiTable(a huma.API, at int, table report.Table) {
	operation := huma.Operation{OperationID: "term-" + table.Name, Method: http.MethodGet, Path: "/api/v1/terms/{term}/" + table.Name,
		Summary: table.Note, Responses: map[string]*huma.Response{"200": {Description: "OK", Content: map[string]*huma.MediaType{"application/json": {Schema: tableSchema(table)}}}}}
	huma.Register(a, operation, func(ctx context.Context, q *apiTermQuestion) (*list[map[string]any], error) {
		during := store.During{Term: q.Term}
		out := &list[map[string]any]{}
		out.Body.Items = []map[string]any{}
		view, last, err := s.Reporting.Part(ctx, gymOf(ctx), during, q.whom(during), store.Page{After: q.After, Most: mostInTable})
		if err != nil {
			return nil, s.apiProblem(ctx, err)
		}
		if last != uuid.Nil {
			out.Body.Next = q.next(table.Name, last)
		}
		for i, athlete := range view.Athletes {
			out.Body.Items = slices.AppendSeq(out.Body.Items, report.Objects(at, athlete, view.Facts[i]))
		}
		return out, nil
	})
}

// tableSchema describes the answer of a table.
func tableSchema(table report.Table) *huma.Schema {
	item := &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{}}
	for _, c := range table.Columns {
		property := &huma.Schema{Type: huma.TypeString, Description: c.Note, Nullable: true}
		switch c.Kind {
		case report.Whole:
			property.Type = huma.TypeInteger
		case report.Decimal:
			property.Type = huma.TypeNumber
		case report.YesNo:
			property.Type = huma.TypeBoolean
		case report.Day:
			property.Format = "date"
		}
		item.Properties[c.Key] = property
		item.Required = append(item.Required, c.Key)
	}
	items := &huma.Schema{Type: huma.TypeArray, Items: item}
	next := &huma.Schema{Type: huma.TypeString, Description: "Where the table goes on; not there at its end."}
	return &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{"items": items, "next": next}, Required: []string{"items"}}
}
