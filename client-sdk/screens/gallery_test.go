package screens_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/web"
)

var gallery = flag.String("gallery", "", "write every screen as a page of its own into this directory")

// The gallery shows each screen inside the real page and style sheet, for people
// and for checks in a browser. A file photo.jpg in the directory stands for all
// photos.
func TestGallery(t *testing.T) {
	if *gallery == "" {
		t.Skip("no -gallery directory given")
	}
	page, err := web.Files.ReadFile("index.html")
	require.NoError(t, err)
	css, err := web.Files.ReadFile("app.css")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(*gallery, "app.css"), css, 0o644))
	for _, e := range examples(t0) {
		html := fillPage(string(page), "main", h.Render(e.node))
		html = fillPage(html, "bar", h.Render(screens.Bar(t0, screens.BarView{Current: e.spot, Due: 3})))
		html = fillPage(html, "status", "Saved on this phone")
		html = strings.ReplaceAll(html, "<img data-photo=", `<img src="photo.jpg" data-photo=`)
		html = strings.ReplaceAll(html, `="/`, `="`)
		require.NoError(t, os.WriteFile(filepath.Join(*gallery, e.name+".html"), []byte(html), 0o644))
	}
}

// fillPage puts html into the element of the page with this id, in place of what
// it held. The page is ours, so finding the tag's end is enough.
func fillPage(page, id, html string) string {
	at := strings.Index(page, `id="`+id+`"`)
	open := at + strings.Index(page[at:], ">") + 1
	end := open + strings.Index(page[open:], "<!-- /"+id+" -->")
	return page[:open] + html + page[end:]
}
