package httpapi_test

import (
	"maps"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/gofiber/fiber/v2"
	"github.com/stretchr/testify/require"

	"leafturn/photo/upload"
	"leafturn/server/httpapi"
)

var (
	braces = regexp.MustCompile(`\{\w+\}`)
	holes  = regexp.MustCompile(`:\w+|\*`)
)

func description(t *testing.T) *openapi3.T {
	t.Helper()
	doc, err := openapi3.NewLoader().LoadFromFile("openapi.yaml")
	require.NoError(t, err)
	require.NoError(t, doc.Validate(t.Context()))
	return doc
}

func described(doc *openapi3.T) map[string]bool {
	routes := map[string]bool{}
	for path, item := range doc.Paths.Map() {
		for method := range item.Operations() {
			routes[method+" "+braces.ReplaceAllString(path, "{}")] = true
		}
	}
	return routes
}

func mounted(app *fiber.App) map[string]bool {
	routes := map[string]bool{}
	gets := map[string]bool{}
	for _, r := range app.GetRoutes(true) {
		path := holes.ReplaceAllString(r.Path, "{}")
		if len(path) > 1 {
			path = strings.TrimSuffix(path, "/") // both forms are answered
		}
		routes[r.Method+" "+path] = true
		gets[path] = gets[path] || r.Method == fiber.MethodGet
	}
	for path, get := range gets { // the framework answers HEAD wherever there is a GET
		if get {
			delete(routes, "HEAD "+path)
		}
	}
	return routes
}

// everything mounts the handlers that the program mounts. None of them is called.
func everything(t *testing.T) func(*httpapi.Config) {
	t.Helper()
	desk, err := upload.Open(t.TempDir(), nil, upload.DefaultLimits(), time.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, desk.Close()) })
	households := &httpapi.Households{}
	events := httpapi.NewEvents(nil, nil, nil, nil)
	reminders := &httpapi.Reminders{SenderKey: "BKey"}
	return func(c *httpapi.Config) {
		c.Public = []httpapi.Mount{households.Public, reminders.Public}
		c.Member = []httpapi.Mount{households.Member, events.Member, reminders.Member, httpapi.MemberPhotos(full{}, nil, desk)}
	}
}

func TestDescriptionAndRoutesAgree(t *testing.T) {
	w := newWorld(t, everything(t))
	have := mounted(w.app)
	delete(have, "POST /api/v1/households/{}/uploads{}") // the gate before two described routes
	require.Equal(t, slices.Sorted(maps.Keys(described(description(t)))), slices.Sorted(maps.Keys(have)))
}

// Answers are held against the description: status, content type and body.
func TestAnswersAreAsDescribed(t *testing.T) {
	doc := description(t)
	w := newWorld(t, everything(t))
	ids := `"household":"` + w.phone.household.String() + `","device":"` + w.phone.device.String() + `"`
	const auth, member = "/api/v1/auth/", "/api/v1/households/{hh}"
	cases := []struct {
		name, route string
		r           request
		status      int
	}{
		{"health", "/healthz", request{method: "GET", path: "/healthz"}, 200},
		{"zone", "/api/v1/zone/{name}", request{method: "GET", path: "/api/v1/zone/UTC"}, 200},
		{"unknown zone", "/api/v1/zone/{name}", request{method: "GET", path: "/api/v1/zone/Nowhere"}, 404},
		{"challenge", auth + "challenge", request{method: "POST", path: auth + "challenge", body: "{" + ids + "}"}, 200},
		{"challenge for nobody", auth + "challenge", request{method: "POST", path: auth + "challenge", body: "{}"}, 400},
		{"wrong proof", auth + "token", request{method: "POST", path: auth + "token",
			body: "{" + ids + `,"challenge":"AAAA","signature":"AAAA"}`}, 401},
		{"digest without a token", member + "/digest", request{method: "GET", path: memberPath(w.phone, "/digest")}, 401},
		{"events without a token", member + "/events", request{method: "GET", path: memberPath(w.phone, "/events")}, 401},
		{"exchange without a token", member + "/exchange", request{method: "POST", path: memberPath(w.phone, "/exchange")}, 401},
		{"push without a token", member + "/push", request{method: "POST", path: memberPath(w.phone, "/push")}, 401},
		{"feed without a token", member + "/feed", request{method: "POST", path: memberPath(w.phone, "/feed")}, 401},
		{"sender key", "/api/v1/push/key", request{method: "GET", path: "/api/v1/push/key"}, 200},
		{"no calendar", "/api/v1/feed/{file}", request{method: "GET", path: "/api/v1/feed/nothing"}, 404},
		{"app", "/{file}", request{method: "GET", path: "/app.js"}, 200},
		{"unknown file", "/{file}", request{method: "GET", path: "/nothing.js"}, 404},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			res := w.do(c.r)
			require.Equal(t, c.status, res.StatusCode)
			require.NoError(t, openapi3filter.ValidateResponse(t.Context(), answered(doc, c.route, c.r.method, res)))
		})
	}
}

func answered(doc *openapi3.T, route, method string, res *http.Response) *openapi3filter.ResponseValidationInput {
	item := doc.Paths.Value(route)
	return &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{
			Request: httptest.NewRequest(method, "/", nil),
			Route:   &routers.Route{Spec: doc, Path: route, PathItem: item, Method: method, Operation: item.GetOperation(method)},
		},
		Status:  res.StatusCode,
		Header:  res.Header,
		Body:    res.Body,
		Options: &openapi3filter.Options{IncludeResponseStatus: true},
	}
}
