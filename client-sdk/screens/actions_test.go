package screens_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
)

// Every action that a screen offers is declared, and every declared one is
// offered by some screen, except undo, which the toast carries, and push, which the
// shell sends when the browser has answered.
func TestActions(t *testing.T) {
	offered := map[string]bool{screens.ActUndo: true, screens.ActPush: true}
	for _, e := range examples(t0) {
		parse(t, h.Render(e.node)).walk(func(n *element) {
			for _, a := range []string{"data-do", "data-change"} {
				if name, has := n.attrs[a]; has {
					require.Contains(t, screens.Actions, name, e.name)
					offered[name] = true
				}
			}
		})
	}
	for _, name := range screens.Actions {
		require.True(t, offered[name], "no screen offers %q", name)
	}
}

func TestActionsListIsWhole(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "actions.go", nil, 0)
	require.NoError(t, err)
	declared := map[string]bool{}
	ast.Inspect(file, func(n ast.Node) bool {
		if spec, ok := n.(*ast.ValueSpec); ok && strings.HasPrefix(spec.Names[0].Name, "Act") && len(spec.Values) == 1 {
			if lit, ok := spec.Values[0].(*ast.BasicLit); ok {
				name, err := strconv.Unquote(lit.Value)
				require.NoError(t, err)
				require.False(t, declared[name], "%q is declared twice", name)
				declared[name] = true
			}
		}
		return true
	})
	require.Len(t, screens.Actions, len(declared))
	for _, name := range screens.Actions {
		require.True(t, declared[name], name)
	}
}

// Words come from the catalogue or the view, and nothing is written unescaped.
func TestNoLiteralWords(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				checkCall(t, name, call)
			}
			return true
		})
	}
}

func checkCall(t *testing.T, file string, call *ast.CallExpr) {
	fun, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return
	}
	require.NotContains(t, []string{"Raw", "Rawf", "Textf"}, fun.Sel.Name, file)
	last := len(call.Args) - 1
	words := map[string]bool{"Text": true, "Alt": true, "Placeholder": true, "TitleAttr": true}[fun.Sel.Name]
	if fun.Sel.Name == "Aria" {
		key, isLit := call.Args[0].(*ast.BasicLit)
		words = isLit && key.Value == `"label"`
	}
	if words {
		_, literal := call.Args[last].(*ast.BasicLit)
		require.False(t, literal, "%s: %s takes its words from the catalogue", file, fun.Sel.Name)
	}
}
