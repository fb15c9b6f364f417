package screens_test

import (
	"testing"

	"leafturn/client-sdk/screens/h"
)

// All screens of the examples are made and written down once.
func BenchmarkScreens(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		for _, e := range examples(t0) {
			h.Render(e.node)
		}
	}
}
