package httpapi_test

import (
	"maps"
	"regexp"
	"slices"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/gofiber/fiber/v2"
	"github.com/stretchr/testify/require"

	"leafturn/server/httpapi"
)

// elsewhere are the described routes whose handlers other parts of the server mount.
var elsewhere = []string{
	"POST /api/v1/found",
	"POST /api/v1/join",
	"POST /api/v1/households/{}/exchange",
	"GET /api/v1/households/{}/digest",
	"OPTIONS /api/v1/households/{}/uploads",
	"POST /api/v1/households/{}/uploads",
	"HEAD /api/v1/households/{}/uploads/{}",
	"PATCH /api/v1/households/{}/uploads/{}",
	"DELETE /api/v1/households/{}/uploads/{}",
	"GET /api/v1/households/{}/photos/{}",
}

var (
	braces = regexp.MustCompile(`\{\w+\}`)
	holes  = regexp.MustCompile(`:\w+|\*`)
)

func described(t *testing.T) map[string]bool {
	t.Helper()
	doc, err := openapi3.NewLoader().LoadFromFile("openapi.yaml")
	require.NoError(t, err)
	require.NoError(t, doc.Validate(t.Context()))
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

func TestDescriptionAndRoutesAgree(t *testing.T) {
	w := newWorld(t, func(c *httpapi.Config) { c.Member = nil })
	want := described(t)
	for _, route := range elsewhere {
		require.True(t, want[route], "%s is not described", route)
		delete(want, route)
	}
	require.Equal(t, slices.Sorted(maps.Keys(want)), slices.Sorted(maps.Keys(mounted(w.app))))
}
