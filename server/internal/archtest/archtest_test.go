package archtest_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite the list of modules")

const root = "../../.."

type pkg struct {
	ImportPath, Name, Dir string
	Standard              bool
	Imports, Deps         []string
	GoFiles               []string
	Module                *struct{ Path string }
}

// list asks the go tool about packages, as built for a platform.
func list(t *testing.T, goos, goarch string, args ...string) []pkg {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list", "-e", "-json=ImportPath,Name,Dir,Standard,Imports,Deps,GoFiles,Module"}, args...)...)
	cmd.Dir = root
	cmd.Env = append(os.Environ(), "GOOS="+goos, "GOARCH="+goarch, "CGO_ENABLED=0")
	out, err := cmd.Output()
	require.NoError(t, err)
	var all []pkg
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p pkg
		if err := d.Decode(&p); err == io.EOF {
			return all
		} else {
			require.NoError(t, err)
		}
		all = append(all, p)
	}
}

// mayImport says, for each part of the tree, which parts of it may be imported.
// Imports point down; siblings do not know each other.
var mayImport = []struct {
	from    string // the longest prefix that fits counts
	to      []string
	because string
}{
	{"model", []string{"model"}, "the nouns know nothing of how they travel or rest"},
	{"model/fault", nil, "the error type is at the bottom of everything"},
	{"sync", []string{"model", "sync"}, "the log knows the nouns, and neither disks nor networks"},
	{"photo", []string{"model", "photo"}, "photos know the ids, and nothing of logs or servers"},
	{"client-sdk/replica", []string{"model", "sync", "photo/exif", "client-sdk/replica"}, "a phone's state knows no browser and no HTTP"},
	{"client-sdk/remote", []string{"client-sdk/replica", "model/fault"}, "a transport carries bytes and knows nothing else"},
	{"client-sdk/browser", []string{"client-sdk/replica", "model", "sync", "photo/exif"}, "the browser's disk, network and decoder"},
	{"client-sdk/sample", []string{"client-sdk/replica", "model", "sync", "photo/exif"}, "the sample household is written like a real one"},
	{"client-sdk/screens", []string{"client-sdk/screens", "model"}, "screens are pure functions of their views"},
	{"client-sdk/web", nil, "files only"},
	{"client-sdk/app", []string{"client-sdk/replica", "client-sdk/sample", "client-sdk/screens", "model", "sync", "photo/exif", "photo/leaf", "photo/card", "photo/align"}, "the app without a browser"},
	{"client-sdk/phone", []string{"client-sdk/app", "client-sdk/browser", "client-sdk/replica", "client-sdk/screens"}, "wiring only"},
	{"client-sdk/phone/e2e", []string{"client-sdk/replica", "client-sdk/remote", "model"}, "a phone without a browser, for comparing notes"},
	{"server", []string{"server", "model", "sync", "photo", "client-sdk/web"}, "the server has no phone in it"},
	{"server/auth", []string{"model", "server/datadir"}, "signing in knows nothing of HTTP or stores"},
	{"server/store", []string{"model", "sync", "server/store"}, "contracts only"},
	{"server/badgerdb", []string{"model", "sync", "server/store"}, "a driver knows the contract and nothing above it"},
	{"server/household", []string{"model", "sync", "server/store", "server/auth"}, "use cases know contracts, not drivers"},
	{"server/notify", []string{"model", "sync", "server/store", "server/household", "server/notify"}, "what to tell people comes from what the household knows, and goes out by contracts"},
	{"server/notify/webpush", []string{"server/notify/webpush"}, "messages and push services, whatever is said"},
	{"server/notify/calendar", []string{"model"}, "files of events, whatever they are about"},
	{"server/notify/load", []string{"model", "sync", "server"}, "the load generator is the whole of it against a stand-in"},
	{"server/verify", []string{"model", "sync", "photo"}, "reads by contracts what the others keep"},
	{"server/httpapi", []string{"model", "sync", "photo", "server/auth", "server/household", "server/notify", "server/store", "server/webapp", "server/datadir"}, "handlers"},
	{"server/webapp", []string{"client-sdk/web", "model/fault"}, "the app's files"},
	{"server/load", []string{"client-sdk/remote", "client-sdk/replica", "model", "sync", "server"}, "the load generator is phones of the SDK against the running server"},
	{"server/datadir", []string{"model"}, "the data directory"},
}

func TestImportsPointDown(t *testing.T) {
	for _, platform := range [][2]string{{"linux", "amd64"}, {"js", "wasm"}} {
		for _, p := range list(t, platform[0], platform[1], "./...") {
			from := strings.TrimPrefix(p.ImportPath, "leafturn/")
			i := -1
			for j, rule := range mayImport {
				if within(from, rule.from) && (i < 0 || len(rule.from) > len(mayImport[i].from)) {
					i = j
				}
			}
			require.GreaterOrEqual(t, i, 0, "no rule for package %s: add one with its reason", from)
			for _, imp := range p.Imports {
				to, ours := strings.CutPrefix(imp, "leafturn/")
				if ours && !slices.ContainsFunc(mayImport[i].to, func(allowed string) bool { return within(to, allowed) }) {
					t.Errorf("%s imports %s, but %s", from, to, mayImport[i].because)
				}
			}
		}
	}
}

func within(path, part string) bool { return path == part || strings.HasPrefix(path, part+"/") }

// only says which package alone may import a module, and why.
var only = []struct{ module, by, because string }{
	{"github.com/gofiber/fiber/v2", "server/httpapi", "handlers copy what Fiber recycles, in one place"},
	{"github.com/valyala/fasthttp", "server/httpapi", "the same"},
	{"github.com/golang-jwt/jwt/v5", "server/auth", "the accepted methods are fixed in one place"},
	{"github.com/dgraph-io/badger/v4", "server/badgerdb", "its pitfalls are met in one place"},
	{"syscall/js", "client-sdk", "nothing below the phone app knows JavaScript"},
	{"syscall/js", "sync/workload", "the measuring programs ask Node for its CPU time"},
}

func TestDriversHaveOneHome(t *testing.T) {
	for _, platform := range [][2]string{{"linux", "amd64"}, {"js", "wasm"}} {
		for _, p := range list(t, platform[0], platform[1], "./...") {
			from := strings.TrimPrefix(p.ImportPath, "leafturn/")
			for _, imp := range p.Imports {
				var homes []string
				home := false
				for _, rule := range only {
					if within(imp, rule.module) {
						homes = append(homes, rule.by+" ("+rule.because+")")
						home = home || within(from, rule.by)
					}
				}
				if len(homes) > 0 && !home {
					t.Errorf("%s imports %s, which only these may: %s", from, imp, strings.Join(homes, "; "))
				}
			}
		}
	}
}

// model is pure: what it says depends on what it is given.
func TestModelIsPure(t *testing.T) {
	for _, p := range list(t, "linux", "amd64", "./model/...") {
		for _, imp := range p.Imports {
			std := !strings.Contains(strings.SplitN(imp, "/", 2)[0], ".") && !strings.HasPrefix(imp, "leafturn/")
			for _, bad := range []string{"os", "net", "syscall", "math/rand", "crypto/rand"} {
				if std && within(imp, bad) {
					t.Errorf("%s imports %s: the model knows no disk, no network and no chance", p.ImportPath, imp)
				}
			}
			if !std && !strings.HasPrefix(imp, "leafturn/") && imp != "github.com/google/uuid" && !strings.HasPrefix(imp, "gonum.org/") {
				t.Errorf("%s imports %s: the model uses uuid and gonum only", p.ImportPath, imp)
			}
		}
		for _, file := range p.GoFiles {
			src, err := os.ReadFile(filepath.Join(p.Dir, file))
			require.NoError(t, err)
			require.NotContains(t, string(src), "time.Now(", "%s/%s: moments come in as arguments", p.Dir, file)
		}
	}
}

// What goes to phones is paid for by everybody who loads the app over a phone line.
func TestPhoneAppStaysSmall(t *testing.T) {
	heavy := map[string]string{
		"net/http": "1.6 MB compressed; the browser's own fetch does it", "crypto/tls": "the browser does it",
		"time/tzdata": "0.4 MB; the server gives the one zone that is needed", "testing": "tests only",
		"html/template": "0.1 MB; screens are made with package h, which escapes", "text/template": "the same", "regexp": "0.05 MB; patterns are for tests",
		"github.com/gofiber/fiber/v2": "server only", "github.com/dgraph-io/badger/v4": "server only", "github.com/golang-jwt/jwt/v5": "server only",
	}
	for _, p := range list(t, "js", "wasm", "./client-sdk/phone") {
		for _, dep := range p.Deps {
			if why, bad := heavy[dep]; bad {
				t.Errorf("the phone app links %s: %s", dep, why)
			}
		}
	}
}

func TestProductionDoesNotImportTesting(t *testing.T) {
	for _, p := range list(t, "linux", "amd64", "./...") {
		if strings.HasSuffix(p.Name, "test") { // conformance suites are for tests
			continue
		}
		for _, imp := range p.Imports {
			if imp == "testing" || strings.Contains(imp, "stretchr/testify") || strings.Contains(imp, "pgregory.net/rapid") {
				t.Errorf("%s imports %s outside a test", p.ImportPath, imp)
			}
		}
	}
}

func TestEveryPackageIntroducesItself(t *testing.T) {
	for _, p := range list(t, "linux", "amd64", "./...") {
		doc := false
		for _, file := range p.GoFiles {
			f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(p.Dir, file), nil, parser.ParseComments|parser.PackageClauseOnly)
			require.NoError(t, err)
			doc = doc || introduces(f)
		}
		require.True(t, doc || len(p.GoFiles) == 0, "package %s has no comment that introduces it", p.ImportPath)
	}
}

func introduces(f *ast.File) bool {
	text := f.Doc.Text()
	return strings.HasPrefix(text, "Package "+f.Name.Name+" ") || strings.HasPrefix(text, "Command ")
}

// The list of modules that end up in a program or a test is a file, so that a new
// one shows in review. Run with -update after a wanted change.
func TestModulesAreTheReviewedOnes(t *testing.T) {
	seen := map[string]bool{}
	for _, args := range [][]string{{"linux", "amd64"}, {"js", "wasm"}} {
		for _, p := range list(t, args[0], args[1], "-deps", "-test", "./...") {
			if p.Module != nil && p.Module.Path != "leafturn" {
				seen[p.Module.Path] = true
			}
		}
	}
	var lines []string
	for m := range seen {
		lines = append(lines, m)
	}
	slices.Sort(lines)
	got := strings.Join(lines, "\n") + "\n"
	const file = "modules.txt"
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(want), got)
}
